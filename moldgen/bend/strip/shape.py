"""Shape: the bent strip as exact lines and arcs in the side view, and as a solid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import degrees, pi

import numpy as np
import shapely
from shapely import Polygon

from moldgen.arrays import Floats, Indices
from moldgen.bend.strip.clash import clashing, overlaps_mm
from moldgen.bend.strip.layout import Layout
from moldgen.bend.strip.leg import Arc, Leg, extremes_mm
from moldgen.bend.strip.part import StripSpec
from moldgen.bend.strip.path import LegPath, flat_of, path_of, turned_path
from moldgen.errors import SpecError
from moldgen.solid.arcs import chords_for

CHORD_MM = 0.02
"""How far chords may stray from arcs. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Two parts of a strip that would be in the same place.

    Attributes
    ----------
    parts : tuple of str
        Their names, such as ``leg 1`` and ``bend 3``.
    depth_mm : float
        How far they overlap. [mm]
    where_mm : tuple of two floats
        Place in the side view. [mm]
    """

    parts: tuple[str, str]
    depth_mm: float
    where_mm: tuple[float, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class StripShape:
    """A strip as bent, in the side view: x to the right, z up.

    Attributes
    ----------
    strip : StripSpec
        As asked for.
    path : LegPath
        Its middle line, with one set of angles.
    chord_mm : float
        How far chords may stray from arcs. [mm]
    """

    strip: StripSpec
    path: LegPath
    chord_mm: float = CHORD_MM

    @property
    def angles_deg(self) -> tuple[float, ...]:
        """Angle of every bend as it is, positive up. [°]."""
        return tuple(float(angle) for angle in np.degrees(self.path.angles_rad))

    @property
    def legs(self) -> tuple[Leg, ...]:
        """The straight parts, left to right."""
        path = self.path
        ends = path.ends_mm
        return tuple(
            Leg(
                number=k + 1,
                start_mm=_pair(path.starts_mm[k]),
                end_mm=_pair(ends[k]),
                heading_deg=degrees(float(path.headings_rad[k])),
                length_mm=float(path.flat.flats_mm[k]),
            )
            for k in range(len(path.headings_rad))
        )

    @property
    def arcs(self) -> tuple[Arc, ...]:
        """The bends, left to right; those that are still flat are left out."""
        return tuple(
            self._arc(k) for k in range(len(self.path.angles_rad)) if self.path.angles_rad[k] != 0
        )

    def _arc(self, k: int) -> Arc:
        path, half = self.path, self.strip.thickness_mm / 2
        angle, radius = float(path.angles_rad[k]), float(path.radii_mm[k])
        sign = 1.0 if angle > 0 else -1.0
        heading = float(path.headings_rad[k])
        left = np.array([-np.sin(heading), np.cos(heading)])
        return Arc(
            number=k + 1,
            center_mm=_pair(path.ends_mm[k] + sign * radius * left),
            inner_mm=radius - half,
            middle_mm=radius,
            outer_mm=radius + half,
            from_deg=degrees(heading - sign * pi / 2),
            sweep_deg=degrees(angle),
        )

    @cached_property
    def stations(self) -> tuple[Indices, Floats]:
        """Part and place along the flat strip of every corner of the side view. [mm].

        Parts are 2 k for leg k + 1 and 2 k + 1 for bend k + 1.
        """
        flat = self.path.flat
        parts: list[int] = []
        along: list[float] = []
        for k, (begin, length) in enumerate(zip(flat.starts_mm, flat.flats_mm, strict=True)):
            parts += [2 * k, 2 * k]
            along += [float(begin), float(begin + length)]
            if k < len(flat.allowances_mm):
                steps = self._chords(k)
                inside = np.arange(1, steps) / steps * flat.allowances_mm[k]
                parts += [2 * k + 1] * len(inside)
                along += [float(begin + length + step) for step in inside]
        return np.array(parts), np.array(along)

    def _chords(self, k: int) -> int:
        angle = abs(float(self.path.angles_rad[k]))
        outer = float(self.path.radii_mm[k]) + self.strip.thickness_mm / 2
        return chords_for(outer, angle, chord_mm=self.chord_mm)

    def line_mm(self, over_mm: float = 0.0) -> Floats:
        """Return a line of the strip in the side view, shape (n, 2). [mm].

        Parameters
        ----------
        over_mm : float
            Above the middle of the thickness, toward the face with the marks. [mm]
        """
        parts, along = self.stations
        return self.path.placed(parts, along, np.full(len(along), over_mm))

    @property
    def top_mm(self) -> Floats:
        """The face with the marks, shape (n, 2). [mm]."""
        return self.line_mm(self.strip.thickness_mm / 2)

    @property
    def bottom_mm(self) -> Floats:
        """The face without marks, shape (n, 2). [mm]."""
        return self.line_mm(-self.strip.thickness_mm / 2)

    @cached_property
    def quads_mm(self) -> Floats:
        """The side view in convex pieces, shape (n, 4, 2). [mm]."""
        top, bottom = self.top_mm, self.bottom_mm
        return np.stack([bottom[:-1], bottom[1:], top[1:], top[:-1]], axis=1)

    @cached_property
    def outline(self) -> shapely.Geometry:
        """The side view as one region. [mm]."""
        ring = np.concatenate([self.bottom_mm, self.top_mm[::-1]])
        whole = Polygon(ring)
        if whole.is_valid:
            return whole
        return shapely.union_all([Polygon(quad).buffer(0) for quad in self.quads_mm])

    @property
    def bounds_mm(self) -> Floats:
        """Least and greatest x and z of the side view, exact, shape (2, 2). [mm]."""
        points = [self.top_mm, self.bottom_mm, *(extremes_mm(arc) for arc in self.arcs)]
        every = np.concatenate(points)
        return np.array([every.min(axis=0), every.max(axis=0)])

    def clashes(self) -> tuple[Clash, ...]:
        """Return which parts of the strip would be in the same place, seen from the side."""
        quads, names = self.quads_mm, self._names()
        overlapping = clashing(quads[None], quads[None])[0]
        pairs: dict[tuple[str, str], Clash] = {}
        for i, j in np.argwhere(np.triu(overlapping, 2)):
            depth = float(overlaps_mm(quads[i : i + 1], quads[j : j + 1])[0])
            parts = (names[i], names[j])
            middle = (quads[i].mean(axis=0) + quads[j].mean(axis=0)) / 2
            if parts[0] != parts[1] and depth > pairs.get(parts, _NOTHING).depth_mm:
                pairs[parts] = Clash(parts=parts, depth_mm=depth, where_mm=_pair(middle))
        return tuple(pairs.values())

    def _names(self) -> list[str]:
        parts, _ = self.stations
        names = []
        for before, after in pairwise(parts):
            straight = before == after and before % 2 == 0
            bend = before // 2 + 1
            names.append(f"leg {before // 2 + 1}" if straight else f"bend {bend}")
        return names

    def gap_mm(self, number: int) -> float:
        """Return the least distance between the inside faces beside a bend. [mm].

        Parameters
        ----------
        number : int
            1 for the leftmost bend.
        """
        k = number - 1
        if not 0 <= k < len(self.strip.bends):
            raise SpecError(
                "number", f"that of a bend, 1 to {len(self.strip.bends)}", str(number), ""
            )
        over = np.copysign(self.strip.thickness_mm / 2, self.path.angles_rad[k])
        flat = self.path.flat
        sides = []
        for leg in (k, k + 1):
            begin = flat.starts_mm[leg]
            ends = [begin, begin + flat.flats_mm[leg]]
            sides.append(shapely.LineString(self.path.placed([2 * leg] * 2, ends, [over] * 2)))
        return float(shapely.distance(*sides))

    def lying_on(self, number: int, *, marks_down: bool = False) -> StripShape:
        """Return the same strip moved so that a leg lies on the table, z = 0, from x = 0.

        Parameters
        ----------
        number : int
            Leg, 1 for the leftmost.
        marks_down : bool
            Whether the face with the marks is below; the strip is then turned end for end.
        """
        if not 1 <= number <= len(self.path.headings_rad):
            raise SpecError("lying", f"a leg, 1 to {len(self.path.headings_rad)}", str(number), "")
        k = number - 1
        turn = (pi if marks_down else 0.0) - float(self.path.headings_rad[k])
        turned = turned_path(self.path, turn, (0.0, 0.0))
        left = min(float(turned.starts_mm[k, 0]), float(turned.ends_mm[k, 0]))
        low = float(turned.starts_mm[k, 1]) - self.strip.thickness_mm / 2
        return self.moved(turn, (-left, -low))

    def moved(self, turn_rad: float, shift_mm: tuple[float, float]) -> StripShape:
        """Return the same strip turned about the origin, then moved."""
        path = turned_path(self.path, turn_rad, shift_mm)
        return StripShape(strip=self.strip, path=path, chord_mm=self.chord_mm)


_NOTHING = Clash(parts=("", ""), depth_mm=0.0, where_mm=(0.0, 0.0))


def formed(
    strip: StripSpec,
    layout: Layout,
    *,
    bent: Mapping[int, float] | None = None,
    chord_mm: float = CHORD_MM,
) -> StripShape:
    """Return the side view of a strip, its first leg along x with its middle at z = 0.

    Parameters
    ----------
    bent : mapping of int to float, optional
        Angle each bend has reached, by its number from 1; one that is missing is still flat.
        Left out, all bends are as asked. [°]
    chord_mm : float
        How far chords may stray from arcs. [mm]

    Raises
    ------
    SpecError
        If an angle is not between 0 and 180 degrees, or there is no such bend.
    """
    flat = flat_of(strip, layout)
    angles = flat.angles_deg
    if not 1e-4 <= chord_mm <= 5:
        raise SpecError("chord_mm", "0.0001 to 5 mm", f"{chord_mm:g} mm", "0.02 mm is usual.")
    if bent is not None:
        _check_bent(bent, len(angles))
        angles = np.array(
            [np.copysign(bent.get(k + 1, 0.0), angle) for k, angle in enumerate(angles)]
        )
    return StripShape(strip=strip, path=path_of(flat, angles), chord_mm=chord_mm)


def _check_bent(bent: Mapping[int, float], n_bends: int) -> None:
    for number, angle in bent.items():
        if not 1 <= number <= n_bends:
            raise SpecError("bent", f"numbers of bends, 1 to {n_bends}", str(number), "")
        if not 0 <= angle <= 180:
            raise SpecError("bent", "angles of 0 to 180°", f"{angle:g}° at bend {number}", "")


def _pair(point: Floats) -> tuple[float, float]:
    return float(point[0]), float(point[1])
