"""The size a drawing is wanted in, known before its curves are cut into chords and judged."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import isfinite

import shapely
from shapely import MultiPolygon, Point
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from moldgen.errors import SpecError
from moldgen.finding import Finding
from moldgen.outline.drawing import SIZE_GUESSED, SIZE_ODD, Drawing, DrawingPart
from moldgen.outline.region import as_region

Bounds = tuple[float, float, float, float]

_NEAR = 0.02
"""Share by which a drawing may miss its size and still be flattened finely enough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """A drawing stretched along x and y, and moved.

    Attributes
    ----------
    across, up : float
        Factors along x and y. [-]
    x_mm, y_mm : float
        Where the origin goes. [mm]
    """

    across: float = 1.0
    up: float = 1.0
    x_mm: float = 0.0
    y_mm: float = 0.0

    @property
    def most(self) -> float:
        """The larger factor. [-]."""
        return max(self.across, self.up)

    @property
    def steps(self) -> tuple[float, float, float, float, float, float]:
        """The map as SVG writes it: ``matrix(a b c d e f)``."""
        return self.across, 0.0, 0.0, self.up, self.x_mm, self.y_mm

    def of(self, geometry: BaseGeometry) -> BaseGeometry:
        """Return a geometry stretched. [mm]."""
        a, b, c, d, e, f = self.steps
        return affine_transform(geometry, [a, c, b, d, e, f])

    def then(self, other: Growth) -> Growth:
        """Return both one after the other."""
        return Growth(
            across=other.across * self.across,
            up=other.up * self.up,
            x_mm=other.across * self.x_mm + other.x_mm,
            y_mm=other.up * self.y_mm + other.y_mm,
        )


UNCHANGED = Growth()


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedSize:
    """The width, the height or both that a drawing is scaled to; neither: as it is drawn.

    Attributes
    ----------
    width_mm, height_mm : float or None
        With one of the two, the proportions stay. [mm]

    Raises
    ------
    SpecError
        If one is not a positive number.
    """

    width_mm: float | None = None
    height_mm: float | None = None

    def __post_init__(self) -> None:
        for field, wanted_mm in (("width_mm", self.width_mm), ("height_mm", self.height_mm)):
            if wanted_mm is not None and not (isfinite(wanted_mm) and wanted_mm > 0):
                raise SpecError(field, "more than 0 mm", f"{wanted_mm:g} mm")

    @property
    def is_given(self) -> bool:
        """Whether a size is asked for."""
        return self.width_mm is not None or self.height_mm is not None

    def growth(self, bounds: Bounds, *, so_far: Growth = UNCHANGED) -> Growth:
        """Return what brings a box to this size; its lower left corner goes where it is drawn.

        Parameters
        ----------
        bounds : tuple of four floats
            Left, bottom, right and top. [mm]
        so_far : Growth, optional
            What the box was stretched by before.
        """
        x0, y0, x1, y1 = bounds
        width, height = x1 - x0, y1 - y0
        if not self.is_given or min(width, height) <= 0:
            return UNCHANGED
        across = self.width_mm / width if self.width_mm else (self.height_mm or 0.0) / height
        up = self.height_mm / height if self.height_mm else across
        drawn = (x0 - so_far.x_mm) / so_far.across, (y0 - so_far.y_mm) / so_far.up
        return Growth(across=across, up=up, x_mm=drawn[0] - across * x0, y_mm=drawn[1] - up * y0)

    def read(self, bounds: Bounds, at: Callable[[Growth], Drawing]) -> Drawing:
        """Return a drawing read at this size.

        Parameters
        ----------
        bounds : tuple of four floats
            Box round it as it is drawn: left, bottom, right, top. [mm]
        at : callable
            Reads it, stretched.
        """
        growth = self.growth(bounds)
        drawing = at(growth)
        # What was left out, or flattened too coarsely when it was tiny, made the box another one.
        rest = self.growth(drawing.region.bounds, so_far=growth)
        if max(abs(rest.across - 1), abs(rest.up - 1)) > _NEAR:
            growth = growth.then(rest)
            drawing = at(growth)
            rest = self.growth(drawing.region.bounds, so_far=growth)
        return _grown(drawing, rest)


AS_DRAWN = WantedSize()

_OF_SIZE = {SIZE_GUESSED, SIZE_ODD}
"""Codes of what no longer matters where the size is asked for."""


def drawing_at_size(drawing: Drawing, size: WantedSize) -> Drawing:
    """Return a drawing in hand, stretched to a size about its lower left corner."""
    if not size.is_given:
        return drawing
    return _grown(drawing, size.growth(drawing.region.bounds))


def _grown(drawing: Drawing, growth: Growth) -> Drawing:
    def part(one: DrawingPart) -> DrawingPart:
        return replace(one, region=_stretched(one.region, growth))

    return replace(
        drawing,
        region=_stretched(drawing.region, growth),
        parts=tuple(part(one) for one in drawing.parts),
        findings=tuple(
            _told_at(finding, growth)
            for finding in drawing.findings
            if finding.code not in _OF_SIZE
        ),
    )


def _stretched(region: MultiPolygon, growth: Growth) -> MultiPolygon:
    return as_region(growth.of(region))


def _told_at(finding: Finding, growth: Growth) -> Finding:
    if finding.where_mm is None:
        return finding
    x, y, z = finding.where_mm
    at = shapely.get_coordinates(growth.of(Point(x, y)))[0]
    return replace(finding, where_mm=(float(at[0]), float(at[1]), z))
