"""Letters that must stay whole: none of their strokes parted, none of their counters filled."""

from __future__ import annotations

import re
from collections.abc import Sequence

import shapely
from shapely import MultiPolygon, Polygon
from shapely.affinity import scale

from moldgen.finding import Finding, Severity
from moldgen.solid.polygons import polygons_of

Letters = Sequence[tuple[str, MultiPolygon]]
"""Letters with their names. [mm]."""

_LARGER = (1.25, 1.5, 2.0, 2.5, 3.0, 4.0)
"""Factors at which a text is tried for letters that stay whole."""


def n_rings(region: MultiPolygon) -> tuple[int, int]:
    """Return the pieces of a region and the holes in them."""
    return len(region.geoms), sum(len(part.interiors) for part in region.geoms)


def names_at(letters: Letters, pieces: Sequence[Polygon]) -> list[str]:
    """Return the letters that pieces are of, each once, in the order of the text."""
    points = [piece.representative_point() for piece in pieces]
    return list(
        dict.fromkeys(
            name for name, region in letters if any(region.intersects(point) for point in points)
        )
    )


def rounded_by_less(names: Sequence[str], *, subject: str, asked_mm: float) -> list[Finding]:
    """Return the note about letters whose corners are rounded by less than was asked."""
    if not names:
        return []
    return [
        Finding(
            code="letters-rounded-less",
            severity=Severity.NOTE,
            says=f"the corners of {_spoken(names)} are rounded by less than was asked, so that "
            "no stroke is lost and no counter filled; asked",
            measured=asked_mm,
            unit="mm",
            subject=subject,
            basis="derived: pieces and holes of each letter before and after",
            advice="Make the letters larger, or choose a bolder font, for rounder corners.",
        )
    ]


def letters_apart(
    letters: Letters, *, subject: str, by_mm: float, most_mm: float, height_mm: float | None
) -> list[Finding]:
    """Return the stop for letters that an offset parts or fills.

    Parameters
    ----------
    letters : sequence of (str, MultiPolygon)
        As they are read, with their names. [mm]
    subject : str
        Feature they are of.
    by_mm : float
        How far their outline moves, outward if positive. [mm]
    most_mm : float
        How far that of larger letters can move: the sheet thins less over them. [mm]
    height_mm : float or None
        Height of the capitals. [mm]
    """
    broken = [name for name, region in letters if not _stays_whole(region, by_mm)]
    if not broken:
        return []
    larger = next(
        (k for k in _LARGER if all(_stays_whole(_times(one, k), most_mm) for _, one in letters)),
        None,
    )
    way = "Choose a bolder font."
    if larger is not None and height_mm is not None:
        way = f"Make the letters {height_mm * larger:.0f} mm high, or choose a bolder font."
    return [
        Finding(
            code="letters-apart",
            severity=Severity.STOP,
            says=f"{_spoken(broken)} cannot stay whole: the sheet on the outline parts strokes or "
            "fills counters; it moves by",
            measured=abs(by_mm),
            unit="mm",
            subject=subject,
            basis="derived: pieces and holes of each letter before and after",
            advice=way,
        )
    ]


def _stays_whole(region: MultiPolygon, by_mm: float) -> bool:
    return n_rings(polygons_of(shapely.buffer(region, by_mm))) == n_rings(region)


def _times(region: MultiPolygon, factor: float) -> MultiPolygon:
    grown: MultiPolygon = scale(region, factor, factor, origin=(0, 0))
    return grown


def _spoken(names: Sequence[str]) -> str:
    # A letter that comes again is told once.
    letters = list(dict.fromkeys(re.sub(r"(?<=.)-\d+\Z", "", name) for name in names))
    return ("the letter " if len(letters) == 1 else "the letters ") + ", ".join(letters)
