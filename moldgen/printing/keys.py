"""Keys: pins that register two pieces across their joint, and the holes for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import ceil, cos, pi
from typing import Annotated

import numpy as np
import shapely
from manifold3d import CrossSection, Manifold
from shapely import MultiPolygon

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.printing.choices import KeyKind
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.solid.arcs import segments_for
from moldgen.solid.polygons import polygons_of
from moldgen.solid.slices import within_all
from moldgen.solid.sound import sound
from moldgen.stock import Printer
from moldgen.stock.dowel import Dowel, DowelKind, dowel_named, load_dowels

WALL_MM = 1.2
"""Least plastic around a hole: three lines of 0.4 mm (common practice, no source). [mm]."""
SPARE_MM = 0.5
"""How much deeper than half the pin each hole is. [mm]."""
BODY_SHARE = 4.0
"""Length of a pin over its diameter: two diameters into either piece (common practice)."""
THICKEST_MM, THINNEST_MM = 8.0, 2.0
FLAT_SHARE = 0.15
"""Share of a printed pin's diameter cut off as a flat to lie on. [-]."""
CHORD_MM = 0.01
_MOST_TRIES = 40
_NEAR_MM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class KeySpec(Spec):
    """How pieces are registered."""

    kind: Annotated[KeyKind, Meaning("dowel (bought pins), printed (printed pins) or none")] = (
        KeyKind.DOWEL
    )
    dowel: Annotated[str, Meaning("pin, such as steel 5; the thickest that fits if left out")] = ""
    play_mm: Annotated[
        float,
        Quantity("mm", "play of a pin in its printed hole, on the diameter", at_least=0, at_most=1),
    ] = 0.1

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        if self.dowel:
            dowel_named(self.dowel)


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One pin across a joint.

    Attributes
    ----------
    axis : int
        Axis it lies along.
    middle_mm : tuple of three floats
        Its middle, in the joint. [mm]
    diameter_mm, length_mm, hole_mm : float
        The pin, and the diameter its hole is drawn at. [mm]
    name : str
        Such as ``steel 5 x 20``.
    """

    axis: int
    middle_mm: tuple[float, float, float]
    diameter_mm: float
    length_mm: float
    hole_mm: float
    name: str


def place_keys(
    below: Manifold, above: Manifold, *, axis: int, at_mm: float, spec: KeySpec, printer: Printer
) -> tuple[Key, ...]:
    """Find room for two keys across a joint, as thick and as far apart as the pieces allow.

    Parameters
    ----------
    below, above : Manifold
        The pieces on either side of the plane, before any key. [mm]
    axis, at_mm
        The plane.

    Returns
    -------
    tuple of Key
        Two, or one where only one fits, or none.
    """
    if spec.kind is KeyKind.NONE:
        return ()
    low, high = (_stood(piece, axis) for piece in (below, above))
    single: tuple[Key, ...] = ()
    for dowel in _sizes(spec):
        length = dowel.longest_within(BODY_SHARE * dowel.diameter_mm) or dowel.lengths_mm[0]
        hole = dowel.diameter_mm + spec.play_mm + printer.hole_undersize_mm
        room = _room(low, high, at_mm, hole, length / 2 + SPARE_MM)
        keys = tuple(
            _key(axis, at_mm, spot, dowel=dowel, length=length, hole=hole, spec=spec)
            for spot in _apart(low, high, room, at=at_mm, hole=hole, depth=length / 2 + SPARE_MM)
        )
        if len(keys) == 2:
            return keys
        single = single or keys
    return single


def key_hole(key: Key) -> Manifold:
    """Return the cutter of a key's holes in both pieces."""
    return _lying(_rod(key.hole_mm / 2, key.length_mm / 2 + SPARE_MM), key)


def build_pin(key: Key) -> Manifold:
    """Return a printed pin, lying on its flat at z = 0, its edges chamfered."""
    radius, half = key.diameter_mm / 2, key.length_mm / 2
    tip = min(0.6, 0.2 * radius)
    outline = [(0, -half), (radius - tip, -half), (radius, -half + tip), (radius, half - tip),
               (radius - tip, half), (0, half)]  # fmt: skip
    sides = segments_for(radius, CHORD_MM, at_least=16)
    pin = Manifold.revolve(CrossSection([np.array(outline)]), sides)
    lying = pin.rotate((0.0, 90.0, 0.0)).translate((0.0, 0.0, radius - FLAT_SHARE * 2 * radius))
    return sound(lying.trim_by_plane((0.0, 0.0, 1.0), 0.0), doing="making a pin")


def _sizes(spec: KeySpec) -> Iterator[Dowel]:
    if spec.dowel:
        yield dowel_named(spec.dowel)
        return
    for dowel in reversed(load_dowels()):
        right = dowel.kind is DowelKind.STEEL
        if right and THINNEST_MM <= dowel.diameter_mm <= THICKEST_MM:
            yield dowel


def _room(low: Manifold, high: Manifold, at: float, hole: float, depth: float) -> MultiPolygon:
    """Where the middle of a hole may be: plastic all round it, on both sides of the joint."""
    steps = np.linspace(_NEAR_MM, depth + WALL_MM, max(4, ceil(depth / 2)))
    keep = hole / 2 + WALL_MM
    under = within_all(low, [at - step for step in steps], keep)
    if under.is_empty:
        return under
    return polygons_of(shapely.intersection(under, within_all(high, [at + s for s in steps], keep)))


def _apart(
    low: Manifold, high: Manifold, room: MultiPolygon, *, at: float, hole: float, depth: float
) -> tuple[Floats, ...]:
    """Return the two places farthest apart at which a hole really has plastic all round it."""
    spots = _spots(room)
    # Level cuts may miss a narrow bore between them; the modeler does not.
    fit: dict[int, bool] = {}

    def fits(number: int) -> bool:
        if number not in fit:
            fit[number] = _within(low, high, spots[number], at=at, hole=hole, depth=depth)
        return fit[number]

    pairs = sorted(
        combinations(range(len(spots)), 2),
        key=lambda pair: -round(float(np.hypot(*(spots[pair[0]] - spots[pair[1]]))), 6),
    )
    for a, b in pairs:
        if len(fit) > _MOST_TRIES or np.hypot(*(spots[a] - spots[b])) < hole + 2 * WALL_MM:
            break
        if fits(a) and fits(b):
            return spots[a], spots[b]
    single = next((k for k in range(min(len(spots), _MOST_TRIES)) if fits(k)), None)
    return () if single is None else (spots[single],)


def _spots(room: MultiPolygon) -> Floats:
    """Return places to try: the corners of the room, and the heart of each part."""
    if room.is_empty:
        return np.empty((0, 2))
    circles = shapely.maximum_inscribed_circle(np.array(room.geoms), tolerance=0.05)
    hearts = shapely.get_coordinates(shapely.get_point(circles, 0))
    corners = shapely.get_coordinates(shapely.simplify(room, 0.2))
    if len(corners) > 60:
        corners = corners[:: ceil(len(corners) / 60)]
    return np.unique(np.round(np.concatenate([hearts, corners]), 3), axis=0)


def _within(
    low: Manifold, high: Manifold, spot: Floats, *, at: float, hole: float, depth: float
) -> bool:
    rod = _rod(hole / 2 + 0.9 * WALL_MM, depth + 0.9 * WALL_MM).translate((*spot, at))
    inside = (rod ^ low).volume() + (rod ^ high).volume()
    return bool(abs(inside - rod.volume()) < 1e-4 * rod.volume())


def _rod(radius_mm: float, half_mm: float) -> Manifold:
    """Return an upright rod about the origin that holds the true circle."""
    sides = segments_for(radius_mm, CHORD_MM, at_least=16)
    outer = radius_mm / cos(pi / sides)
    return Manifold.cylinder(2 * half_mm, outer, outer, sides, True)


def _stood(piece: Manifold, axis: int) -> Manifold:
    """Turn a piece so that an axis points up: the other two follow in their order."""
    if axis == 2:
        return piece
    return piece.transform(np.array(_STAND[axis]))


# Rows: new x, y, z from the old ones.
_STAND = {
    0: [[0.0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0]],
    1: [[0.0, 0, 1, 0], [1, 0, 0, 0], [0, 1, 0, 0]],
}
_BACK = {
    0: [[0.0, 0, 1, 0], [1, 0, 0, 0], [0, 1, 0, 0]],
    1: [[0.0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0]],
}


def _lying(tool: Manifold, key: Key) -> Manifold:
    laid = tool if key.axis == 2 else tool.transform(np.array(_BACK[key.axis]))
    return laid.translate(key.middle_mm)


def _key(
    axis: int, at: float, spot: Floats, *, dowel: Dowel, length: float, hole: float, spec: KeySpec
) -> Key:
    a, b = (float(value) for value in spot)
    middle = {0: (at, a, b), 1: (b, at, a), 2: (a, b, at)}[axis]
    word = dowel.name if spec.kind is KeyKind.DOWEL else f"printed {dowel.printed}"
    return Key(
        axis=axis, middle_mm=middle, diameter_mm=dowel.diameter_mm, length_mm=length,
        hole_mm=hole, name=f"{word} x {length:g}",
    )  # fmt: skip


def check_key_fits_bed(spec: KeySpec, printer: Printer) -> None:
    """Raise `SpecError` if the bed is smaller than the pieces a key could hold together."""
    dowel = min(_sizes(spec), key=lambda one: one.diameter_mm, default=None)
    if dowel is None or spec.kind is KeyKind.NONE:
        return
    least = dowel.longest_within(BODY_SHARE * dowel.diameter_mm) or dowel.lengths_mm[0]
    room = min(printer.bed_width_mm, printer.bed_depth_mm, printer.bed_height_mm)
    if least + 2 * WALL_MM + 2 * SPARE_MM > room:
        raise SpecError(
            "dowel",
            f"at most {room - 2 * WALL_MM - 2 * SPARE_MM:.0f} mm long for this printer",
            f"{least:g} mm",
            "Take a thinner dowel, or none.",
        )


def keys_bill(keys: Sequence[Key]) -> tuple[tuple[str, int], ...]:
    """Return how many pins of each size are needed, by name."""
    names = sorted(key.name for key in keys)
    return tuple((name, names.count(name)) for name in dict.fromkeys(names))
