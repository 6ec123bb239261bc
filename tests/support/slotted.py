"""Two blocks with a gap between them, and a sheet formed over them."""

from dataclasses import replace
from functools import cache

import shapely
from shapely import MultiPolygon

from moldgen.mold.build import build_raw_mold
from moldgen.mold.choices import FormingLook
from moldgen.mold.features import Feature, Wall
from moldgen.mold.sheet.formed import FormedSheet, read_run
from moldgen.mold.sheet.setup import build_setup, run_setup
from moldgen.physics.membrane.run import FormingRun
from moldgen.solid.height.relief import Relief, relief_of
from moldgen.solid.mesh import joined
from moldgen.stock import Sheet, load_shop

TALL_MM = 6.0
WALL = Wall(height_mm=TALL_MM, draft_deg=4.0, top_radius_mm=0.5, base_radius_mm=0.0)
SHOP = load_shop(user_file=None)


def blocks(gap_mm: float) -> MultiPolygon:
    """Return two blocks of 24 x 36 mm with rounded corners, so far apart at the foot."""
    half = gap_mm / 2
    sides = [(-half - 24, -half), (half, half + 24)]
    boxes = [shapely.box(x0 + 6, -12, x1 - 6, 12).buffer(6) for x0, x1 in sides]
    return MultiPolygon(boxes)


def sheet(*, relaxes: bool = True) -> Sheet:
    """Return a millimeter of styrene, or one of which nobody says how it relaxes."""
    plastic = SHOP.plastic("HIPS")
    return Sheet(plastic=plastic if relaxes else replace(plastic, relaxation_s=None), gauge_mm=1.0)


@cache
def over_blocks(gap_mm: float, *, relaxes: bool = True) -> tuple[FormedSheet, FormingRun, Relief]:
    """Return what is read off a fine run over the blocks, the run, and the blocks from above."""
    raw = build_raw_mold([Feature(name="blocks", region=blocks(gap_mm), wall=WALL)])
    mesh, own = joined(raw.meshes), sheet(relaxes=relaxes)
    machine = SHOP.machine("bench-250x250")
    run = run_setup(build_setup(mesh, sheet=own, machine=machine, fineness=FormingLook.FINE))
    relief = relief_of(mesh, cell_mm=0.5, margin_mm=16.0)
    trim = MultiPolygon([shapely.box(-40, -30, 40, 30)])
    return read_run(run, sheet=own, relief=relief, trim=trim, plans=raw.plans), run, relief
