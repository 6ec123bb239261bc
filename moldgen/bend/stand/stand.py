"""Stand: where a bent strip touches the table, when it tips, and how it is seen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, degrees, radians, sin, tan
from typing import Annotated

import numpy as np
import shapely

from moldgen.arrays import Floats
from moldgen.bend.stand.balance import middle_of, middle_of_strip_mm, tip_deg, volume_mm3
from moldgen.bend.stand.load import StripLoad
from moldgen.bend.stand.rest import lying_leg
from moldgen.bend.strip.leg import Arc
from moldgen.bend.strip.shape import StripShape
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.quantity import Quantity, Spec

LEAST_TIP_DEG = 10.0
"""A table display should lean this far in every direction before it falls. [°]."""
TIP_BASIS = "common practice, no source; IEC 60598-1 asks 6° of portable luminaires (from memory)"
SQUARE_ON_DEG = 30.0
"""Further off square than this, a face is hard to read; common practice, no source. [°]."""
_CONTACT_MM = 0.06
"""What is less than this above the table touches it: chords stray by a third of it. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Eye(Spec):
    """Where a person who sits at the table looks from; usual values, no source."""

    height_mm: Annotated[float, Quantity("mm", "eye above the table", at_least=0, at_most=2000)] = (
        450.0
    )
    distance_mm: Annotated[
        float, Quantity("mm", "eye in front of what is looked at", above=0, at_most=5000)
    ] = 500.0


@dataclass(frozen=True, kw_only=True, eq=False)
class StripBalance:
    """A bent strip as it stands.

    Attributes
    ----------
    shape : StripShape
        The strip, moved so that it rests on z = 0. [mm]
    mass_kg : float
        The strip alone. [kg]
    strip_middle_mm : tuple of two floats
        Center of mass of the strip alone, x and height. [mm]
    middle_mm : tuple of two floats
        Center of mass with all loads. [mm]
    contact_mm : tuple of two floats
        Outermost x at which it touches the table: tangent points, not outer faces. [mm]
    loads : tuple of StripLoad
        What it carries.
    """

    shape: StripShape
    mass_kg: float
    strip_middle_mm: tuple[float, float]
    middle_mm: tuple[float, float]
    contact_mm: tuple[float, float]
    loads: tuple[StripLoad, ...]

    @property
    def tip_left_deg(self) -> float:
        """How far it leans to the left before it falls; negative if it falls by itself. [°]."""
        return tip_deg(self.middle_mm[0] - self.contact_mm[0], self.middle_mm[1])

    @property
    def tip_right_deg(self) -> float:
        """How far it leans to the right before it falls; negative if it falls by itself. [°]."""
        return tip_deg(self.contact_mm[1] - self.middle_mm[0], self.middle_mm[1])

    @property
    def tip_sideways_deg(self) -> float:
        """How far it leans across its width before it falls. [°]."""
        return tip_deg(self.shape.strip.width_mm / 2, self.middle_mm[1])

    def view_deg(self, leg: int, eye: Eye, *, marks: bool = True) -> float:
        """Return how far off square a seated person sees a leg; 0 is straight on. [°].

        Parameters
        ----------
        leg : int
            Leg that is looked at, 1 for the leftmost.
        marks : bool
            Whether its face with the marks is looked at. The person sits on that side.
        """
        legs = self.shape.legs
        if not 1 <= leg <= len(legs):
            raise SpecError("leg", f"a leg, 1 to {len(legs)}", str(leg), "")
        seen = legs[leg - 1]
        side = 1.0 if marks else -1.0
        heading = radians(seen.heading_deg)
        normal = side * np.array([-sin(heading), cos(heading)])
        middle = (np.array(seen.start_mm) + np.array(seen.end_mm)) / 2
        way = -1.0 if normal[0] < 0 else 1.0
        sight = np.array([way * eye.distance_mm, eye.height_mm - middle[1]])
        return degrees(float(np.arccos(np.clip(normal @ sight / np.linalg.norm(sight), -1, 1))))


def build_standing(
    shape: StripShape,
    *,
    density_kg_m3: float,
    loads: Sequence[StripLoad] = (),
    lying: int | None = None,
    marks_down: bool = False,
    suits: Callable[[StripShape], bool] | None = None,
) -> StripBalance:
    """Put a bent strip on the table.

    Parameters
    ----------
    density_kg_m3 : float
        Of the plastic. [kg/m³]
    loads : sequence of StripLoad
        What it carries, placed in the side view as it stands; see `load.load_on_leg`.
    lying : int, optional
        Leg that lies on the table, 1 for the leftmost; left out, the strip is put down as it
        stands best.
    marks_down : bool
        Whether that leg lies with its marks on the table.
    suits : callable, optional
        Whether a strip that is put down so is of use, where no leg is named.

    Raises
    ------
    SpecError
        If there is no such leg, the density is out of range, or a part would be below the table.
    """
    Quantity("kg/m³", "density", at_least=100, at_most=20000).check("density_kg_m3", density_kg_m3)
    put = rested(shape, suits) if lying is None else _lying(shape, lying, marks_down)
    mass = density_kg_m3 * volume_mm3(put) * 1e-9
    middle = middle_of_strip_mm(put)
    masses = np.array([mass, *(load.mass_kg for load in loads)])
    places = np.array([middle, *((load.x_mm, load.height_mm) for load in loads)])
    both = middle_of(masses, places)
    touching = _contact(put)
    return StripBalance(
        shape=put,
        mass_kg=mass,
        strip_middle_mm=middle,
        middle_mm=(float(both[0]), float(both[1])),
        contact_mm=touching,
        loads=tuple(loads),
    )


def rested(shape: StripShape, suits: Callable[[StripShape], bool] | None = None) -> StripShape:
    """Return a strip put down on the table as it stands best.

    It can stand on any side of its convex hull over which its center of mass lies: where nothing
    is asked of it on a leg, if it does so safely; else as it leans furthest before it falls.

    Parameters
    ----------
    suits : callable, optional
        Whether a strip that is put down so is of use; left out, every way is.

    Raises
    ------
    SpecError
        If it is of use in no way in which it can stand.
    """
    hull = np.asarray(shapely.convex_hull(shape.outline).exterior.coords)
    best, best_tip = shape, (False, -np.inf)
    middle = np.array(middle_of_strip_mm(shape))
    for a, b in pairwise(hull):
        along = b - a
        if np.linalg.norm(along) < 2.0:
            continue
        turn = -float(np.arctan2(along[1], along[0]))
        low, at, foot = (_turn(turn) @ point for point in (a, middle, b))
        ends = sorted((low[0], foot[0]))
        height = abs(at[1] - low[1])
        # Counter-clockwise or not, the strip must be above the side it stands on.
        upside = _half_turn_if(at[1] < low[1])
        tip = min(at[0] - ends[0], ends[1] - at[0]) / height
        put = shape.moved(turn + upside, (0.0, 0.0))
        put = put.moved(0.0, (-float(put.bounds_mm[0, 0]), -float(put.bounds_mm[0, 1])))
        safe = suits is None and tip > tan(radians(LEAST_TIP_DEG)) and lying_leg(put) is not None
        better = (safe, round(tip, 9))
        if better > best_tip and (suits is None or suits(put)):
            best, best_tip = put, better
    if suits is not None and not best_tip[1] > 0:
        raise SpecError(
            "lying",
            "given for this strip",
            "nothing, and no side it stands on that has what is read or carried above",
            "Say which leg lies on the table, or choose the other faces.",
        )
    return best


def check_standing(standing: StripBalance) -> tuple[Finding, ...]:
    """Return a finding for every way in which a strip tips too easily."""
    ways = {
        "to the left": standing.tip_left_deg,
        "to the right": standing.tip_right_deg,
        "sideways": standing.tip_sideways_deg,
    }
    carrying = " and ".join(load.name for load in standing.loads)
    return tuple(
        _tips(standing, way, tip, carrying) for way, tip in ways.items() if tip < LEAST_TIP_DEG
    )


def check_view(
    standing: StripBalance, leg: int, eye: Eye | None = None, *, marks: bool = True
) -> tuple[Finding, ...]:
    """Return a note on how a leg is seen from a chair; a caution if it is hard to read."""
    angle = standing.view_deg(leg, eye or Eye(), marks=marks)
    poor = angle > SQUARE_ON_DEG
    return (
        Finding(
            code="view-angle",
            severity=Severity.CAUTION if poor else Severity.NOTE,
            says=f"a seated person sees leg {leg} this far off square",
            measured=angle,
            limit=SQUARE_ON_DEG,
            unit="°",
            subject=standing.shape.strip.name,
            basis="usual seat and table, no source",
            advice="Lean it back more." if poor else "",
        ),
    )


def _tips(standing: StripBalance, way: str, tip: float, carrying: str) -> Finding:
    falls = tip <= 0
    with_load = f" with {carrying}" if carrying else ""
    return Finding(
        code="stand-tips",
        severity=Severity.STOP if falls else Severity.CAUTION,
        says=f"{'falls over' if falls else 'tips easily'} {way}{with_load}; it tips at",
        measured=tip,
        limit=LEAST_TIP_DEG,
        unit="°",
        where_mm=(standing.middle_mm[0], 0.0, standing.middle_mm[1]),
        subject=standing.shape.strip.name,
        basis=TIP_BASIS,
        advice="Make the strip wider."
        if way == "sideways"
        else "Make the leg that lies on the table longer on that side, or lean the back less.",
    )


def _lying(shape: StripShape, leg: int, marks_down: bool) -> StripShape:
    put = shape.lying_on(leg, marks_down=marks_down)
    below = -float(put.bounds_mm[0, 1])
    if below > 0.01:
        raise SpecError(
            "lying",
            f"a leg with nothing below it (leg {leg})",
            f"a part {below:.1f} mm below the table",
            "Choose another leg, turn the marks to the other side, or leave it out.",
        )
    return put


def _contact(put: StripShape) -> tuple[float, float]:
    """Return the outermost places that touch: ends of straight faces, and rounds."""
    parts, along = put.stations
    straight = parts % 2 == 0
    half = put.strip.thickness_mm / 2
    n = int(straight.sum())
    corners = np.concatenate(
        [
            put.path.placed(parts[straight], along[straight], np.full(n, over))
            for over in (-half, half)
        ]
    )
    rounds = [point for arc in put.arcs for point in _lowest(arc)]
    every = np.concatenate([corners, np.array(rounds).reshape(-1, 2)])
    touching = every[every[:, 1] < every[:, 1].min() + _CONTACT_MM, 0]
    return float(touching.min()), float(touching.max())


def _lowest(arc: Arc) -> list[tuple[float, float]]:
    """Return the place where a bend would touch the table with its round, if it has one."""
    low, high = sorted((arc.from_deg, arc.from_deg + arc.sweep_deg))
    down = -90 + 360 * np.ceil((low + 90) / 360)
    return [(arc.center_mm[0], arc.center_mm[1] - arc.outer_mm)] if down <= high else []


def _turn(angle: float) -> Floats:
    return np.array([[cos(angle), -sin(angle)], [sin(angle), cos(angle)]])


def _half_turn_if(yes: bool) -> float:
    """Return half a turn or none. [rad]."""
    return np.pi if yes else 0.0
