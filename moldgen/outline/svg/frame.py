"""What an SVG element takes over from those around it, and what is met in the end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from moldgen.finding import Finding
from moldgen.outline.curves import Points
from moldgen.outline.svg.path import Trace
from moldgen.outline.svg.style import Style
from moldgen.outline.svg.value import Matrix, Viewport, chained


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One shape that was met, in millimeters.

    ``area`` is what is painted of it, ``lines`` its subpaths where only its line is, with the
    width ``width_mm`` if the drawing states it; ``paints`` is what its fill and line are painted
    with, ``is_paper`` whether that is white, and ``opacity`` how much of it covers; ``findings``
    tell where it crosses itself.
    """

    id: str
    label: str
    group: str
    names: frozenset[str]
    says: str
    text: str = ""
    area: BaseGeometry = field(default_factory=MultiPolygon)
    lines: tuple[Trace, ...] = ()
    width_mm: float = 0.0
    paints: tuple[str, ...] = ()
    is_paper: bool = False
    opacity: float = 1.0
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementFrame:
    """Everything that an element takes over from those around it."""

    matrix: Matrix
    viewport: Viewport
    style: Style
    group: str = ""
    used_as: str = ""
    names: frozenset[str] = frozenset()
    clip: BaseGeometry | None = None
    clipping: bool = False
    masking: bool = False
    boxing: bool = False
    opacity: float = 1.0
    depth: int = 0
    replaced: tuple[tuple[str, str], ...] = ()

    def moved(self, matrix: Matrix) -> ElementFrame:
        """Return the frame inside one more map."""
        return replace(self, matrix=chained(self.matrix, matrix))


def within(area: BaseGeometry, clip: BaseGeometry | None) -> BaseGeometry:
    """Return what a clip leaves of an area."""
    return area if clip is None else shapely.intersection(area, clip)


def placed(matrix: Matrix, points: Points) -> Points:
    """Return points, shape (n, 2), where a map sends them."""
    return np.asarray(points @ matrix[:, :2].T + matrix[:, 2])


def mapped(matrix: Matrix) -> Callable[[Points], Points]:
    """Return the map as a function of points."""
    return partial(placed, matrix)
