"""Molds of a harbor-town boat shed for the tests of vents, undersides and finishing."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import MultiPolygon, Point
from shapely.affinity import rotate, translate
from support.outlines import as_multi, rectangle

from moldgen.mold.air.bores import settle_bores
from moldgen.mold.air.way_out import check_airways
from moldgen.mold.build import RawMold, build_raw_mold
from moldgen.mold.features import Direction, Feature, Wall
from moldgen.mold.underside.cut import BoreSpec, FinishedBody, finish_body
from moldgen.mold.underside.marking import Marking, build_marking
from moldgen.mold.underside.underside import Underside, UndersideSpec, build_underside
from moldgen.mold.vents.by_ball import place_vents
from moldgen.mold.vents.vent import VentPlan, VentSpec
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.solid.height.relief import Relief, relief_of
from moldgen.solid.mesh import Mesh
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
MACHINE = SHOP.machine("bench-250x250")
PRINTER = SHOP.printer("bed-220")
VENTS = VentSpec(diameter_mm=1.0)
SUNK = Direction.SUNK


def wall(height_mm, draft_deg=4.0, top_radius_mm=1.0, base_radius_mm=0.0):
    """Return a wall's section."""
    return Wall(
        height_mm=height_mm,
        draft_deg=draft_deg,
        top_radius_mm=top_radius_mm,
        base_radius_mm=base_radius_mm,
    )


def plate(width_mm, depth_mm, radius_mm=4.0):
    """Return a rectangle with rounded corners, its middle over the origin."""
    inner = rectangle(width_mm - 2 * radius_mm, depth_mm - 2 * radius_mm)
    return as_multi(shapely.buffer(inner, radius_mm))


def disc(radius_mm, x=0.0, y=0.0):
    """Return a disc."""
    return as_multi(Point(x, y).buffer(radius_mm))


def ring(outer_mm, inner_mm):
    """Return a ring."""
    return as_multi(Point(0, 0).buffer(outer_mm).difference(Point(0, 0).buffer(inner_mm)))


def word(text, height_mm, x=0.0, y=0.0):
    """Return a word, its middle over a place."""
    region = outline_from_text(TextSpec(text=text, height_mm=height_mm)).region
    x0, y0, x1, y1 = region.bounds
    return as_multi(translate(region, x - (x0 + x1) / 2, y - (y0 + y1) / 2))


def at(region, x, y):
    """Return a region moved."""
    return as_multi(translate(region, x, y))


def tide_sign(turn_deg=0.0):
    """Return a plaque with raised letters."""
    text = Feature(
        name="text",
        region=as_multi(rotate(word("BAIT", 22, 3.0, 1.5), turn_deg, origin=(0, 0))),
        wall=wall(5, top_radius_mm=0.8, base_radius_mm=0.8),
    )
    region = as_multi(rotate(plate(110, 44), turn_deg, origin=(0, 0)))
    return Feature(name="sign", region=region, wall=wall(6, top_radius_mm=1.5), children=(text,))


def screw_tray():
    """Return a tray with two compartments of different depth."""
    return Feature(
        name="tray",
        region=plate(110, 70, 8),
        wall=wall(20, top_radius_mm=2),
        children=(
            sunk("deep", at(plate(44, 50, 6), -24, 0), 15),
            sunk("shallow", at(plate(36, 26, 6), 30, 14), 9),
        ),
    )


def sunk(name, region, depth_mm, children=()):
    """Return a compartment."""
    section = wall(depth_mm, top_radius_mm=1.5, base_radius_mm=2)
    return Feature(name=name, region=region, direction=SUNK, wall=section, children=children)


@dataclass(frozen=True, kw_only=True)
class Whole:
    """One body all the way."""

    raw: RawMold
    relief: Relief
    vents: VentPlan
    marking: Marking
    underside: Underside
    bore: BoreSpec
    findings: tuple
    finished: FinishedBody

    @property
    def root(self):
        """The body's own plan."""
        return self.raw.plans[0]


def whole(body, *, vents=VENTS, bore=None, under=None, cell_mm=0.5, machine=MACHINE, **marks):
    """Build, vent, relieve, mark, cut and prove one body."""
    bore = bore or BoreSpec()
    under = under or UndersideSpec()
    raw = build_raw_mold([body])
    relief = relief_of(raw.meshes[0], cell_mm=cell_mm, margin_mm=2 * vents.ball_mm)
    placed = place_vents(relief, raw.plans, vents)
    settled, of_bores = settle_bores(placed, raw.plans, relief, bore)
    foot = raw.plans[0].outer
    chosen: dict[str, Any] = {"lines": (), "arrow": False, "insert": None} | marks
    marking = build_marking(body.name, foot, relief, settled.vents, rim_mm=under.rim_mm, **chosen)
    underside = build_underside(foot, settled.vents, under, reserved=marking.reserved)
    finished = finish_body(
        raw.plans[0], raw.meshes[0], underside, vents=settled.vents, bore=bore, marking=marking
    )
    air = check_airways(
        settled, [underside], raw.plans,
        relief=relief, machine=machine, printer=PRINTER, bore=bore,
    )  # fmt: skip
    return Whole(
        raw=raw, relief=relief, vents=settled, marking=marking, underside=underside, bore=bore,
        findings=(*of_bores, *marking.findings, *air), finished=finished,
    )  # fmt: skip


def places(vents):
    """Return where vents are, shape (n, 2)."""
    return np.array([(vent.x_mm, vent.y_mm) for vent in vents]).reshape(-1, 2)


def plain(region, height_mm=10.0, **section):
    """Return a body without anything on it."""
    return Feature(name="body", region=MultiPolygon(region), wall=wall(height_mm, **section))


def joined(*meshes):
    """Return several meshes as one."""
    first = np.cumsum([0, *(len(mesh.points_mm) for mesh in meshes)])
    faces = [mesh.triangles + np.int32(n) for mesh, n in zip(meshes, first, strict=False)]
    return Mesh(np.concatenate([m.points_mm for m in meshes]), np.concatenate(faces))
