"""A place of a mold in words, for screen, report and programs alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Protocol

import shapely
from shapely import MultiPolygon, Point, Polygon

from moldgen.finding import Finding
from moldgen.mold.place.letter import PlacedLetter, place_in_letters
from moldgen.mold.place.position import ninth_of, ordinal, side_of

_UNDER_MM = 0.5
"""Height up to which what lies well within the foot is told as the underside. [mm]."""

_BALANCED = 0.5
"""How alike the distances to two recesses or bodies are where one is between them. [-]."""

_AT_WALL = 0.25
"""Share of a recess's half width within which a place is told by the wall. [-]."""


class NamedOutline(Protocol):
    """What has a name, an outline and a wall: a planned feature, or an outline cut from a mesh."""

    @property
    def name(self) -> str:
        """What findings call it."""

    @property
    def parent(self) -> str:
        """What it stands on; empty on the table."""

    @property
    def region(self) -> MultiPolygon:
        """Its outline. [mm]."""

    @property
    def outer(self) -> MultiPolygon:
        """All within the line where its wall leaves the parent's flat. [mm]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaceNames:
    """What places of one mold are called.

    Attributes
    ----------
    raised, sunk : sequence of NamedOutline
        What stands out and what is sunk, parents before children.
    letters : sequence of PlacedLetter
        Its letters, if it has any.
    """

    raised: Sequence[NamedOutline]
    sunk: Sequence[NamedOutline] = ()
    letters: Sequence[PlacedLetter] = ()

    def place(self, where_mm: tuple[float, float, float]) -> str:
        """Return what a place is called, such as ``the counter of the A in HARBOR``.

        Parameters
        ----------
        where_mm : tuple of three floats
            The place. [mm]
        """
        at = Point(where_mm[:2])
        if where_mm[2] < _UNDER_MM and self._foot.buffer(-1.0).contains(at):
            return f"the underside, below {self._seen(at)}"
        return self._seen(at)

    def _seen(self, at: Point) -> str:
        """Return what a place is called as seen from above."""
        by_letter = place_in_letters(at, self.letters)
        return by_letter or self._between(at) or self._in_outline(at)

    @cached_property
    def _foot(self) -> MultiPolygon:
        roots = [one.outer for one in self.raised if not one.parent]
        return MultiPolygon([piece for outer in roots for piece in outer.geoms])

    def _between(self, at: Point) -> str:
        """Return between which recesses or bodies a place lies; nothing if between none."""
        roots = [one for one in self.raised if not one.parent]
        for what, outlines in (("rib", self.sunk), ("gap", roots)):
            if len(outlines) < 2 or any(one.outer.contains(at) for one in outlines):
                continue
            near = sorted(outlines, key=lambda one: one.outer.distance(at))[:2]
            a_mm, b_mm = (one.outer.distance(at) for one in near)
            apart_mm = near[0].outer.distance(near[1].outer)
            if a_mm > _BALANCED * b_mm and a_mm + b_mm < 1.05 * apart_mm + 0.2:
                first, second = sorted(near, key=outlines.index)
                return f"the {what} between {_the(first.name)} and {_the(second.name)}"
        return ""

    def _in_outline(self, at: Point) -> str:
        """Return where a place lies in the innermost outline that it is in or near."""
        sunk = [one for one in self.sunk if one.outer.distance(at) < 1e-6]
        if sunk:
            return _in_recess(at, sunk[-1])
        around = [one for one in self.raised if one.outer.distance(at) < 1e-6]
        if around:
            return _on_raised(at, around[-1])
        if not self.raised:
            return ""
        nearest = min(
            (one for one in self.raised if not one.parent), key=lambda one: one.outer.distance(at)
        )
        return _edge(at, nearest)


def with_places(findings: Iterable[Finding], names: PlaceNames) -> tuple[Finding, ...]:
    """Return findings with their places in words."""
    return tuple(
        one if one.where_mm is None else replace(one, place=names.place(one.where_mm))
        for one in findings
    )


def _in_recess(at: Point, recess: NamedOutline) -> str:
    piece, which = _piece(at, recess)
    half_mm = min(piece.bounds[2] - piece.bounds[0], piece.bounds[3] - piece.bounds[1]) / 2
    if piece.boundary.distance(at) > _AT_WALL * half_mm:
        return f"the floor of {which}, {ninth_of(at, piece.bounds)}"
    x0, y0, x1, y1 = piece.bounds
    gaps = {"left": at.x - x0, "right": x1 - at.x, "lower": at.y - y0, "upper": y1 - at.y}
    near = sorted((word for word in gaps if gaps[word] < _AT_WALL * half_mm * 1.5), key=_sideways)
    if len(near) == 2:
        return f"the {' '.join(near)} corner of {which}"
    wall = min(gaps, key=lambda word: gaps[word])
    return f"the {wall} wall of {which}" if near else f"the {ninth_of(at, piece.bounds)} of {which}"


def _sideways(word: str) -> int:
    return word in ("left", "right")


def _on_raised(at: Point, outline: NamedOutline) -> str:
    piece, which = _piece(at, outline)
    ninth = ninth_of(at, piece.bounds)
    if piece.distance(at) > 1e-6 and piece.convex_hull.buffer(-0.5).contains(at):
        return f"the hollow at the {ninth} of {which}"
    return f"the {ninth} of {which}"


def _edge(at: Point, outline: NamedOutline) -> str:
    """Return the edge of an outline that a place outside it is at."""
    piece, which = _piece(at, outline)
    if piece.convex_hull.contains(at):
        return f"the hollow at the {ninth_of(at, piece.bounds)} of {which}"
    side = side_of(at, piece.bounds)
    return f"the {side} {'corner' if ' ' in side else 'edge'} of {which}"


def _piece(at: Point, outline: NamedOutline) -> tuple[Polygon, str]:
    """Return the piece of an outline that a place is in or near, and what it is called."""
    pieces = sorted(shapely.get_parts(outline.region), key=_reading_order)
    nearest = min(range(len(pieces)), key=lambda k: pieces[k].distance(at))
    name = _the(outline.name)
    if len(pieces) == 1:
        return pieces[nearest], name
    return pieces[nearest], f"the {ordinal(nearest + 1)} piece of {name}"


def _reading_order(piece: Polygon) -> tuple[float, float]:
    x0, _, _, y1 = piece.bounds
    return -round(y1), x0


def _the(name: str) -> str:
    """Return a name as it stands in a sentence: ``the plaque``, ``compartment 2``."""
    plain = name.islower() and not any(letter.isdigit() for letter in name)
    return f"the {name}" if plain else name
