"""The page of an SVG drawing: how its numbers become millimeters."""

from __future__ import annotations

from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

import numpy as np
from shapely import box
from shapely.geometry.base import BaseGeometry

from moldgen.errors import OutlineError
from moldgen.finding import Finding, Severity
from moldgen.outline.drawing import SIZE_GUESSED, Scale
from moldgen.outline.sizing import UNCHANGED, Growth
from moldgen.outline.svg.value import (
    IDENTITY,
    Matrix,
    Ruler,
    ViewBox,
    Viewport,
    affine,
    chained,
    fit,
    view_box,
)

_OUTSIDE_MM = 0.01
"""Farther than chords stray; less outside the page is rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Page:
    """What the root element says about size.

    Attributes
    ----------
    matrix : ndarray, shape (2, 3)
        From the root's user units to millimeters, y up from the foot of the page.
    viewport : Viewport
        What percentages of the page refer to. [user units]
    scale : Scale
        Length of a user unit, and how it is known.
    sides_mm : tuple of two floats, or None
        Width and height, where the drawing says them. [mm]
    physical : bool
        Whether the drawing states its size in a unit of length.
    growth : Growth
        What brought it to the size asked for, if one was.
    """

    matrix: Matrix
    viewport: Viewport
    scale: Scale
    sides_mm: tuple[float, float] | None
    physical: bool
    growth: Growth = UNCHANGED

    def grown(self, growth: Growth) -> Page:
        """Return the page stretched to a size that was asked for."""
        return replace(
            self,
            matrix=chained(affine(*growth.steps), self.matrix),
            scale=self.scale.at_size(growth.across),
            growth=growth,
        )

    def findings(self, region: BaseGeometry) -> list[Finding]:
        """Return what a person should know about the page and where the region lies on it."""
        notes = []
        if not (self.physical or self.scale.asked):
            notes.append(_size_guessed(region, self.scale))
        page = self.growth.of(box(0, 0, *self.sides_mm)) if self.sides_mm else None
        if page is not None and not page.buffer(_OUTSIDE_MM).covers(region):
            notes.append(_OUTSIDE)
        return notes


def _size_guessed(region: BaseGeometry, scale: Scale) -> Finding:
    left, _, right, _ = region.bounds
    return Finding(
        code=SIZE_GUESSED,
        severity=Severity.CAUTION,
        says=f"the drawing states no size in mm or inches, so {scale.note}; its width as read",
        measured=right - left,
        unit="mm",
        basis="CSS Values and Units Module Level 3, section 6.2",
        advice="If that is not its width, say the width (--width, or width in a job file), or "
        'state the unit in the drawing, such as width="100mm" beside its viewBox.',
    )


_OUTSIDE = Finding(
    code="drawing-outside-page",
    severity=Severity.NOTE,
    says="some of the drawing lies outside its page and is read all the same",
)


def page_of(root: Element, ruler: Ruler) -> Page:
    """Return the page of a drawing.

    Raises
    ------
    OutlineError
        If the width, height or viewBox of the root cannot be read or is not positive.
    """
    views = view_box(root.get("viewBox", ""), what="viewBox of the svg element")
    sides = _sides(root, ruler, views)
    width, height = sides
    px_mm = 25.4 / ruler.dpi_px
    inside = IDENTITY
    if views is not None and width is not None and height is not None:
        inside = fit(views, width, height, root.get("preserveAspectRatio", ""))
    matrix = chained(affine(px_mm, 0, 0, -px_mm, 0, (height or 0.0) * px_mm), inside)
    return Page(
        matrix=matrix,
        viewport=Viewport(*views[2:]) if views is not None else Viewport(width, height),
        scale=_scale(matrix, ruler, physical=_is_physical(root)),
        sides_mm=(width * px_mm, height * px_mm) if width and height else None,
        physical=_is_physical(root),
    )


def _sides(root: Element, ruler: Ruler, views: ViewBox | None) -> tuple[float | None, float | None]:
    """Return width and height in pixels; one that is missing follows from the viewBox."""
    width, height = (_side(root, name, ruler) for name in ("width", "height"))
    if views is None:
        return width, height
    if width is None and height is None:
        return views[2], views[3]
    if width is None:
        return (height or 0.0) * views[2] / views[3], height
    return width, width * views[3] / views[2] if height is None else height


def _side(root: Element, name: str, ruler: Ruler) -> float | None:
    text = root.get(name, "auto").strip()
    if text in {"", "auto"} or text.endswith("%"):
        return None
    what = f"{name} of the svg element"
    side = ruler.length(text, what=what, along="x", viewport=Viewport(None, None))
    if side <= 0:
        raise OutlineError(f"{what} must be more than 0 (got {text}); set the size of the page.")
    return side


def _is_physical(root: Element) -> bool:
    sides = (root.get(name, "").strip().lower() for name in ("width", "height"))
    return any(side.endswith(("mm", "cm", "in", "pt", "pc", "q")) for side in sides)


def _scale(matrix: Matrix, ruler: Ruler, *, physical: bool) -> Scale:
    across, up = abs(float(matrix[0, 0])), abs(float(matrix[1, 1]))
    basis = "by the size of its page" if physical else f"{ruler.dpi_px:g} pixels to the inch"
    unit = f"{across:.6g}" if np.isclose(across, up) else f"{across:.6g} by {up:.6g}"
    return Scale(unit_mm=across, note=f"one unit of it was read as {unit} mm ({basis})")
