"""A forming run of a mold of any size begins, with as few triangles as its fineness says."""

import numpy as np
import pytest
from shapely import box
from support.hostile import ended_after

from moldgen.mold.choices import FormingLook
from moldgen.mold.sheet.setup import WIDEST_MM, build_setup, run_setup, sizes_round
from moldgen.solid.prism import body, prism
from moldgen.stock import Sheet, load_shop

SHOP = load_shop()
MOST = {FormingLook.PREVIEW: 15_000, FormingLook.FINE: 60_000}


def plate(side_mm):
    """Return a square plate of 12 mm as a mesh."""
    return body("plate", prism(box(0, 0, side_mm, side_mm), 0.0, 12.0), doing="a test").mesh


@pytest.mark.parametrize(
    ("look", "side_mm"),
    [
        (FormingLook.PREVIEW, 300), (FormingLook.PREVIEW, 500), (FormingLook.PREVIEW, 1200),
        (FormingLook.FINE, 960), (FormingLook.FINE, 1500),
    ],
)  # fmt: skip
def test_sizes_are_found_for_a_mold_of_any_size(look, side_mm):
    """Triangles are enlarged until they are few enough, and are smallest at the edges."""
    with ended_after(60):
        sizes = sizes_round(plate(side_mm), fineness=look).wanted_mm

    assert sizes.min() < 0.5 * sizes.max()
    # Two right triangles of such sides fill a square.
    assert float((2 / sizes**2).sum()) < MOST[look]


@pytest.mark.parametrize(("side_mm", "coarser"), [(300, False), (520, True)])
def test_only_a_mold_too_large_for_it_gets_coarser_cells(side_mm, coarser):
    """The sheet over a mold of usual size has the cells that it always had."""
    setup = build_setup(
        plate(side_mm),
        sheet=Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.0),
        machine=SHOP.machine("workshop-600x600"),
        fineness=FormingLook.PREVIEW,
    )
    corners = setup.mesh.points_mm[setup.mesh.triangles]
    longest = float(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max())

    assert (longest > 1.5 * WIDEST_MM) is coarser


def test_a_deep_sag_takes_no_more_steps_than_one_like_it():
    """The sheet settles at 6.2 mm as it does at 6 mm, rather than going on and on."""
    steps = {}
    for sag_mm in (6.0, 6.2):
        setup = build_setup(
            body("plate", prism(box(0, 0, 120, 80), 0.0, 12.0), doing="a test").mesh,
            sheet=Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.5),
            machine=SHOP.machine("classroom-450x300"),
            fineness=FormingLook.PREVIEW,
            sag_mm=sag_mm,
        )
        with ended_after(60):
            run = run_setup(setup)
        assert run.converged
        steps[sag_mm] = run.steps

    assert steps[6.2] < 1.5 * steps[6.0]
