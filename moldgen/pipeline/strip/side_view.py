"""What the picture of a bent strip from the side tells."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from moldgen.bend.stand.load import Thing
from moldgen.bend.stand.stand import StripBalance
from moldgen.bend.strip.choices import LegsBy
from moldgen.bend.strip.part import StripSpec
from moldgen.bend.strip.shape import StripShape
from moldgen.export.picture.free_place import Label
from moldgen.export.picture.side_view import Balance, SideView


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaningThing:
    """A thing that leans on the strip: which leg, on which face, what."""

    leg: int
    marks: bool
    thing: Thing


def side_view_of(
    shape: StripShape,
    *,
    standing: StripBalance | None = None,
    laid: Sequence[LeaningThing] = (),
    title: str = "",
) -> SideView:
    """Return a bent strip from the side: legs, bends, overall size.

    Parameters
    ----------
    shape : StripShape
        The strip, as it lies or stands.
    standing : StripBalance, optional
        How it stands: the table, the center of mass and the edges it tips over are drawn.
    laid : sequence of LeaningThing
        What leans on it.
    title : str
        What stands on top.
    """
    return SideView(
        title=title,
        strip=shape.outline,
        start_mm=_start_mm(shape),
        things=tuple((one.thing.name, Polygon(_corners_mm(shape, one))) for one in laid),
        labels=(*_bend_labels(shape), *_leg_labels(shape)),
        balance=None if standing is None else _balance(standing),
    )


def _balance(standing: StripBalance) -> Balance:
    left, right = standing.tip_left_deg, standing.tip_right_deg
    return Balance(
        middle_mm=standing.middle_mm,
        contact_mm=standing.contact_mm,
        words=f"tips to the left at {left:.0f}°, to the right at {right:.0f}°",
    )


def _corners_mm(shape: StripShape, one: LeaningThing) -> NDArray[np.float64]:
    leg = shape.legs[one.leg - 1]
    ends = sorted((leg.start_mm, leg.end_mm), key=lambda end: (round(end[1], 6), end[0]))
    low, high = np.array(ends[0]), np.array(ends[1])
    up = (high - low) / max(float(np.linalg.norm(high - low)), 1e-9)
    out = (1.0 if one.marks else -1.0) * _left_of(leg.heading_deg)
    near = shape.strip.thickness_mm / 2
    far = near + one.thing.thick_mm
    top = up * one.thing.tall_mm
    return np.array(
        [low + out * near, low + out * far, low + out * far + top, low + out * near + top]
    )


def _left_of(heading_deg: float) -> NDArray[np.float64]:
    """Return the unit vector to the left of a heading: out of the face with the marks."""
    heading = np.radians(heading_deg)
    return np.array([-np.sin(heading), np.cos(heading)])


def _start_mm(shape: StripShape) -> tuple[float, float]:
    """Return a spot on the face with the marks, where the strip begins. [mm]."""
    leg = shape.legs[0]
    heading = np.radians(leg.heading_deg)
    along = np.array([np.cos(heading), np.sin(heading)])
    half = shape.strip.thickness_mm / 2
    spot = np.array(leg.start_mm) + _left_of(leg.heading_deg) * half
    return _pair(spot + along * min(6.0, leg.length_mm / 2))


def _bend_labels(shape: StripShape) -> Iterator[Label]:
    for arc in shape.arcs:
        turn = np.radians(arc.from_deg + arc.sweep_deg / 2)
        out = np.array([np.cos(turn), np.sin(turn)])
        bend = shape.strip.bends[arc.number - 1]
        size = (
            f"fold, gap {2 * arc.inner_mm:g} mm"
            if bend.is_fold
            else f"{bend.angle_deg:g}°, R {arc.inner_mm:g} mm"
        )
        spot = np.array(arc.center_mm) + out * arc.outer_mm
        yield Label(spot_mm=_pair(spot), out=_pair(out), words=f"bend {arc.number}: {size}",
                    is_bend=True)  # fmt: skip


def _leg_labels(shape: StripShape) -> Iterator[Label]:
    half = shape.strip.thickness_mm / 2
    middle = shape.bounds_mm.mean(axis=0)
    for leg, asked in zip(shape.legs, _asked(shape.strip), strict=True):
        out = _left_of(leg.heading_deg)
        target = (np.array(leg.start_mm) + np.array(leg.end_mm)) / 2
        if (target - middle) @ out < 0:
            out = -out
        yield Label(spot_mm=_pair(target + out * half), out=_pair(out), words=asked)


def _asked(strip: StripSpec) -> tuple[str, ...]:
    by = "" if strip.legs_by is LegsBy.OUTSIDE else f" {strip.legs_by}"
    return tuple(f"leg {k}: {leg:g} mm{by}" for k, leg in enumerate(strip.legs_mm, start=1))


def _pair(vector: NDArray[np.float64]) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])
