"""Truth of the forming run: domes, cones, troughs and corners."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np
from conftest import published
from support.check_solids import block, case, cut, cylinder
from support.draw_shapes import box_areal_ratio
from support.membrane_blown import thickness_at
from support.membrane_bubble import corner, trough_wall
from support.membrane_hollow import HALF, in_a_cone, in_a_trough, on_wall
from support.membrane_ode import dome_so_high
from support.membrane_wall import covered_wall

from moldgen import trust
from moldgen.mold.checks.draw import measure_draws
from moldgen.mold.checks.sight import sight
from moldgen.physics.draw import mean_thickness_mm
from truth.comparison import Comparison

RUBBER = "Adkins and Rivlin 1952, equations integrated"
N_RINGS = 20


def comparisons() -> Iterator[Comparison]:
    """Return the rows, cheap ones first."""
    yield from _draws()
    yield from _domes()
    yield _trough()
    yield from _corners()
    yield from _cones()


def _draws() -> Iterator[Comparison]:
    (row,) = published("draw_ratios")
    yield Comparison(
        trust=trust.DRAW, quantity="areal draw ratio of a cup as deep as wide", unit="",
        program=partial(_cup_ratio, 50.0), wrong=partial(_cup_ratio, 48.0),
        known=float(row["areal"]), within=0.005,
        source="SPE Thermoforming Division, Thermoforming 101, 24(4) 2005",
    )  # fmt: skip
    box = published("box_mean_wall")[0]
    length, width, depth, gauge = (
        float(box[f"{name}_mm"]) for name in ("length", "width", "depth", "gauge")
    )
    yield Comparison(
        trust=trust.DRAW, quantity="mean wall of a box 150 x 100 x 60", unit="mm",
        program=lambda: mean_thickness_mm(gauge, box_areal_ratio(length, width, depth)),
        wrong=lambda: mean_thickness_mm(gauge, box_areal_ratio(length, width, depth - 2)),
        known=float(box["mean_wall_mm"]), within=0.01,
        source="Crawford, Plastics Engineering, Example 4.7a",
    )  # fmt: skip


def _cup_ratio(depth_mm: float) -> float:
    """Return the areal draw ratio that is measured on the mesh of a cup 50 mm wide."""
    made = case(
        cut(block(80, 80, depth_mm + 5), cylinder(25, 5, depth_mm + 9, n=96)),
        side="female", gauge_mm=2.0,
    )  # fmt: skip
    return float(measure_draws(made, sight(made))[1].areal)


def _domes() -> Iterator[Comparison]:
    for place, name in ((0.0, "pole"), (1.0, "rim")):
        (row,) = [
            row for row in published("membrane_dome")
            if row["what"] == "thickness" and float(row["place"]) == place
            and float(row["height"]) == 1
        ]  # fmt: skip
        yield Comparison(
            trust=trust.FACE_THICKNESS,
            quantity=f"thickness at the {name} of a dome as high as its radius",
            unit="of gauge",
            program=partial(_dome, 1.0, place), wrong=partial(_dome, 1.05, place),
            known=float(row["value"]), within=0.004, source=RUBBER,
        )  # fmt: skip


def _dome(height: float, place: float) -> float:
    stretch, _ = dome_so_high(height)
    return thickness_at(stretch, place, n_rings=N_RINGS)


def _trough() -> Comparison:
    return Comparison(
        trust=trust.FACE_THICKNESS, quantity="wall of a long trough of 60°, halfway down",
        unit="of gauge", program=partial(_trough_wall, 8.0), wrong=partial(_trough_wall, 5.0),
        known=trough_wall(np.radians(60), 8.0 / HALF), within=0.01,
        source="Crawford, Plastics Engineering, section 4.4 (from memory); follows from volume",
    )  # fmt: skip


def _trough_wall(down_mm: float) -> float:
    along, thickness = on_wall(in_a_trough(60, 16), 60)
    return float(np.interp(down_mm, along, thickness))


def _corners() -> Iterator[Comparison]:
    for fillet_mm in (6.0, 3.0):
        yield Comparison(
            trust=trust.CORNER_THICKNESS,
            quantity=f"floor of a square channel, {fillet_mm:g} mm from its corner",
            unit="of gauge", program=partial(_corner, fillet_mm),
            wrong=partial(_corner, 1.25 * fillet_mm),
            known=2 / np.pi * corner(np.pi / 2, fillet_mm / HALF), within=0.02,
            source="Williams, J. Strain Anal. 5 (1970) 49, form from memory; follows from volume",
        )  # fmt: skip


def _corner(fillet_mm: float) -> float:
    table = in_a_trough(90, HALF)
    lies = np.abs(table[:, 2] + HALF) < 0.01
    away = table[lies, 1] + HALF
    order = np.argsort(away)
    return float(np.interp(fillet_mm, away[order], table[lies, 3][order]))


def _cones() -> Iterator[Comparison]:
    for angle_deg in (60, 90):
        solved = covered_wall(np.radians(angle_deg))
        yield Comparison(
            trust=trust.FACE_THICKNESS,
            quantity=f"wall of a round hollow of {angle_deg}°, 0.7 radii down", unit="of gauge",
            program=partial(_cone, angle_deg, 0.7), wrong=partial(_cone, angle_deg, 0.6),
            known=float(np.interp(0.7, solved.along, solved.thickness)), within=0.01,
            source=f"{RUBBER}, marched down the wall", slow=True,
        )  # fmt: skip


def _cone(angle_deg: int, along: float) -> float:
    return float(np.interp(along, *in_a_cone(angle_deg)))
