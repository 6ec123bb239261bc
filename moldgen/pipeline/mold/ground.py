"""What an outline is laid on, and an outline in its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from shapely import MultiPolygon

from moldgen.finding import Finding

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing

Place = tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What an outline is laid on.

    Attributes
    ----------
    flat : MultiPolygon or None
        The parent's flat; None on the table. [mm]
    middle_mm : tuple of two floats
        Where the outline's own origin comes to lie. [mm]
    folder : Path
        Where paths in the job start.
    scale : float
        Factor for the plastic's shrinkage.
    drawings : mapping
        Drawings in hand, by the name of the SVG file that the job gives for them.
    """

    flat: MultiPolygon | None
    middle_mm: Place
    folder: Path
    scale: float = 1.0
    drawings: Mapping[str, Drawing] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class PlacedOutline:
    """An outline in its place.

    Attributes
    ----------
    region : MultiPolygon
        All of it. [mm]
    parts : tuple of (str, MultiPolygon)
        Its letters or parts with their names. [mm]
    findings : tuple of Finding
        What was mended, ignored or changed on the way in.
    """

    region: MultiPolygon
    parts: tuple[tuple[str, MultiPolygon], ...]
    findings: tuple[Finding, ...] = field(default=())
