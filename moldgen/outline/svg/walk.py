"""Walk through an SVG tree: what is drawn, where, under which names."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from shapely import MultiPolygon, box
from shapely.geometry.base import BaseGeometry

from moldgen.errors import OutlineError
from moldgen.execution import limits_now
from moldgen.finding import Severity
from moldgen.outline.choices import StrokeUse
from moldgen.outline.drawing import Remarks
from moldgen.outline.region import united
from moldgen.outline.sizing import Bounds
from moldgen.outline.svg.frame import ElementFrame, Piece, mapped, within
from moldgen.outline.svg.mask import (
    is_half_clear,
    is_of_alpha,
    is_plain,
    seen_through,
    window_of,
)
from moldgen.outline.svg.painter import ShapePainter, measures_of, not_followed, piece_of
from moldgen.outline.svg.shape import SHAPES
from moldgen.outline.svg.style import (
    INITIAL,
    Style,
    StyleSheet,
    hidden_reason,
    inherited_by_children,
    number_or,
    states,
    style_of,
)
from moldgen.outline.svg.tally import Tally
from moldgen.outline.svg.tree import (
    label_of,
    local_name,
    named_in,
    other_file,
    spoken,
    target_id,
    text_in,
)
from moldgen.outline.svg.value import (
    Matrix,
    Ruler,
    Viewport,
    affine,
    fit,
    largest_stretch,
    transform,
    view_box,
)


class Walker:
    """Meets every shape of a drawing in order."""

    def __init__(
        self,
        root: Element,
        *,
        sheet: StyleSheet,
        strokes: StrokeUse,
        chord_mm: float,
        ruler: Ruler,
        shown: Element,
    ) -> None:
        self.shown, self.sheet, self.ruler = shown, sheet, ruler
        self.remarks = Remarks()
        self.hidden: set[str] = set()
        self.tally = Tally(limits_now())
        self.by_id: dict[str, Element] = {}
        for element in root.iter():
            if element.get("id"):
                self.by_id.setdefault(element.get("id", ""), element)
        self.painter = ShapePainter(
            strokes=strokes, chord_mm=chord_mm, ruler=ruler, remarks=self.remarks,
            tally=self.tally, states_width=states(root, self.sheet, "stroke-width"),
        )  # fmt: skip
        if self.sheet.skipped:
            self.remarks.add(
                "drawing-style-skipped",
                f"style rules are not followed: {', '.join(self.sheet.skipped[:3])}",
                advice="Set fill and display on the shapes themselves.",
                severity=Severity.CAUTION if self.sheet.hides else Severity.NOTE,
            )

    def pieces(self, matrix: Matrix, viewport: Viewport) -> list[Piece]:
        """Return what is drawn; ``matrix`` maps user units of what is shown to millimeters."""
        frame = ElementFrame(matrix=matrix, viewport=viewport, style=INITIAL)
        style = style_of(self.shown, INITIAL, self.sheet)
        inside = self._framed(self.shown, frame, style)
        return list(self._children(self.shown, inside, style))

    def _children(self, element: Element, frame: ElementFrame, style: Style) -> Iterator[Piece]:
        inner = replace(frame, style=inherited_by_children(style), depth=frame.depth + 1)
        for child in _shown_children(element):
            yield from self._visit(child, inner)

    def _visit(self, element: Element, frame: ElementFrame) -> Iterator[Piece]:
        self.tally.visit(element, frame.depth)
        name = local_name(element)
        if name not in _DRAWN:
            self._pass_over(element, name)
            return
        style = style_of(element, frame.style, self.sheet)
        reason = hidden_reason(style)
        if reason:
            self.hidden.update(named_in(element))
            self.remarks.add("drawing-hidden", f"{spoken(element)} is {reason} and left out")
            return
        yield from self._drawn(name, element, self._framed(element, frame, style), style)

    def _drawn(
        self, name: str, element: Element, frame: ElementFrame, style: Style
    ) -> Iterator[Piece]:
        if name in {"g", "a", "switch"}:
            yield from self._children(element, _in_group(element, frame), style)
        elif name in {"svg", "symbol"}:
            inside = _in_group(element, frame) if name == "svg" else frame
            yield from self._viewport(element, inside, style)
        elif name == "use":
            yield from self._used(element, frame, style)
        elif name == "text":
            yield from self._text(element, frame)
        elif style["visibility"] in {"hidden", "collapse"}:
            self.hidden.update(named_in(element))
            self.remarks.add("drawing-hidden", f"{spoken(element)} is hidden and left out")
        else:
            yield self.painter.piece(element, frame, style)

    def _pass_over(self, element: Element, name: str) -> None:
        if name == "image":
            self.remarks.add(
                "drawing-image",
                "pictures in the drawing are left out",
                severity=Severity.CAUTION,
                advice="Trace a picture to an outline first.",
            )
        elif name == "foreignObject":
            self.remarks.add("drawing-foreign", "content that is not SVG is left out")

    def _framed(self, element: Element, frame: ElementFrame, style: Style) -> ElementFrame:
        """Return the frame inside an element: its transform, names and clip."""
        what = f"transform of {spoken(element)}"
        text = style["transform"]
        inner = frame.moved(transform(text, what=what)) if text.strip() else frame
        names = frame.names | {name for name in (element.get("id"), label_of(element)) if name}
        opacity = frame.opacity * number_or(style["opacity"], 1.0)
        inner = replace(inner, names=names, opacity=opacity)
        return inner if frame.boxing else replace(inner, clip=self._clip(element, inner, style))

    def _clip(self, element: Element, frame: ElementFrame, style: Style) -> BaseGeometry | None:
        if style["filter"] != "none":
            not_followed(self.remarks, "drawing-filter", "a filter is not followed")
        clip = frame.clip
        if style["mask"] != "none":
            seen = self._mask_region(element, self._target(style["mask"]), frame)
            if seen is None:
                not_followed(self.remarks, "drawing-mask", "a mask is not followed")
            else:
                clip = within(seen, clip)
        if style["clip-path"] in {"none", ""}:
            return clip
        target = self._target(style["clip-path"])
        if target is None:
            not_followed(
                self.remarks,
                "drawing-clip-ignored",
                f"the clip of {spoken(element)} is not followed",
            )
            return clip
        inner = self._measured(element, frame, target.get("clipPathUnits", ""))
        return within(MultiPolygon() if inner is None else self._clip_region(target, inner), clip)

    def _target(self, url: str) -> Element | None:
        return self.by_id.get(url.strip().removeprefix("url(").strip("'\")#"))

    def _mask_region(
        self, element: Element, target: Element | None, frame: ElementFrame
    ) -> BaseGeometry | None:
        """Return what a mask leaves, None if it cannot be told."""
        if target is None or local_name(target) != "mask" or not is_plain(target):
            return None
        within_it = self._measured(element, frame, target.get("maskContentUnits", ""))
        window = self._mask_window(element, target, frame)
        if within_it is None or (window is not None and window.is_empty):
            return MultiPolygon()
        style = style_of(target, frame.style, self.sheet)
        inner = replace(within_it, masking=True, clip=None, opacity=1.0, depth=frame.depth + 1)
        self.tally.visit(target, inner.depth)
        pieces = list(self._children(target, inner, style))
        seen = seen_through(pieces, alpha=is_of_alpha(target))
        if seen is not None and is_half_clear(pieces):
            if seen.is_empty:
                return None
            not_followed(
                self.remarks,
                "drawing-mask-half",
                "a mask is half clear: what it shows by half or more is kept whole, the rest is "
                "left out",
            )
        return None if seen is None else within(seen, window)

    def _mask_window(
        self, element: Element, target: Element, frame: ElementFrame
    ) -> BaseGeometry | None:
        """Return the box that a mask states; None if it states none."""
        stated = window_of(target)
        if stated is None:
            return None
        inner = self._measured(element, frame, target.get("maskUnits", _OF_BOX))
        if inner is None:
            return MultiPolygon()
        x, y, w, h = (
            self.ruler.length(
                text, what=f"{name} of {spoken(target)}", viewport=inner.viewport,
                along="x" if name in {"x", "width"} else "y",
            )
            for name, text in stated.items()
        )  # fmt: skip
        return shapely.transform(box(x, y, x + w, y + h), mapped(inner.matrix))

    def _measured(self, element: Element, frame: ElementFrame, units: str) -> ElementFrame | None:
        """Return the frame in which units count, those of a shape's own box from 0 to 1.

        None where the shape has no box.
        """
        if units != _OF_BOX:
            return frame
        bounds = self._box(element, frame)
        if bounds is None:
            return None
        x0, y0, x1, y1 = bounds
        inner = frame.moved(affine(x1 - x0, 0, 0, y1 - y0, x0, y0))
        return replace(inner, viewport=Viewport(1.0, 1.0))

    def _box(self, element: Element, frame: ElementFrame) -> Bounds | None:
        """Return the box round what an element fills, in its user units; None if it has none."""
        if local_name(element) not in _DRAWN:
            return None
        stretch = largest_stretch(frame.matrix)
        inner = replace(
            frame, matrix=affine(stretch, 0, 0, stretch, 0, 0), clip=None, clipping=True,
            boxing=True, depth=frame.depth + 1,
        )  # fmt: skip
        style = style_of(element, frame.style, self.sheet)
        with self.remarks.silent():
            if element is self.shown:
                pieces = list(self._children(element, inner, style))
            else:
                pieces = list(self._drawn(local_name(element), element, inner, style))
        areas = [piece.area for piece in pieces if not piece.area.is_empty]
        if stretch == 0 or not areas:
            return None
        left, bottom, right, top = (np.array(shapely.total_bounds(areas)) / stretch).tolist()
        return left, bottom, right, top

    def _clip_region(self, target: Element, frame: ElementFrame) -> BaseGeometry:
        style = style_of(target, frame.style, self.sheet)
        inner = self._framed(target, replace(frame, clipping=True, clip=None), style)
        inner = replace(inner, depth=frame.depth + 1)
        self.tally.visit(target, inner.depth)
        areas = [piece.area for piece in self._children(target, inner, style)]
        return united(areas, what=f"the clip {spoken(target)}")

    def _viewport(self, element: Element, frame: ElementFrame, style: Style) -> Iterator[Piece]:
        """Meet what is inside a nested svg, or a symbol that is used."""
        sizes = measures_of(element, frame, self.ruler)
        replaced = dict(frame.replaced)
        symbol = local_name(element) == "symbol"
        x, y = (0.0, 0.0) if symbol else (sizes.of("x", "x"), sizes.of("y", "y"))
        w, h = (
            self.ruler.length(
                replaced.get(name) or element.get(name, "").replace("auto", "") or "100%",
                what=f"{name} of {sizes.what}", along=along, viewport=frame.viewport,
            )
            for name, along in (("width", "x"), ("height", "y"))
        )  # fmt: skip
        if w <= 0 or h <= 0:
            self.remarks.add("drawing-hidden", f"{sizes.what} has no extent and is left out")
            return
        views = view_box(element.get("viewBox", ""), what=f"viewBox of {sizes.what}")
        inner = replace(frame.moved(affine(1, 0, 0, 1, x, y)), replaced=())
        if style["overflow"] not in {"visible", "auto"}:
            window = shapely.transform(box(0, 0, w, h), mapped(inner.matrix))
            inner = replace(inner, clip=within(window, inner.clip))
        if views is not None:
            aspect = element.get("preserveAspectRatio", "")
            inner = replace(inner.moved(fit(views, w, h, aspect)), viewport=Viewport(*views[2:]))
        else:
            inner = replace(inner, viewport=Viewport(w, h))
        yield from self._children(element, inner, style)

    def _used(self, element: Element, frame: ElementFrame, style: Style) -> Iterator[Piece]:
        if elsewhere := other_file(element):
            raise OutlineError(
                f"{spoken(element)} points to another file, {elsewhere}, which is not read; "
                "put its content into this drawing."
            )
        target = self.by_id.get(target_id(element))
        if target is None:
            raise OutlineError(
                f"{spoken(element)} points to something that is not in the drawing; "
                "unlink it or export the drawing again."
            )
        sizes = measures_of(element, frame, self.ruler)
        shift = affine(1, 0, 0, 1, sizes.of("x", "x"), sizes.of("y", "y"))
        lengths = tuple((k, element.get(k, "")) for k in ("width", "height") if sizes.given(k))
        inner = replace(
            frame.moved(shift),
            used_as=element.get("id", "") or frame.used_as,
            style=inherited_by_children(style), replaced=lengths, depth=frame.depth + 1,
        )  # fmt: skip
        if local_name(target) == "symbol":
            self.tally.visit(target, inner.depth)
            inner_style = style_of(target, inner.style, self.sheet)
            yield from self._drawn(
                "symbol", target, self._framed(target, inner, inner_style), inner_style
            )
        else:
            yield from self._visit(target, inner)

    def _text(self, element: Element, frame: ElementFrame) -> Iterator[Piece]:
        words = text_in(element)
        if words:
            yield piece_of(element, frame, text=words)


_OF_BOX = "objectBoundingBox"

_DRAWN = {*SHAPES, "g", "a", "switch", "svg", "use", "text"}


def _shown_children(element: Element) -> list[Element]:
    """Return the children to draw; of a switch only the first that is SVG."""
    if local_name(element) != "switch":
        return list(element)
    return [child for child in element if local_name(child) in _DRAWN][:1]


def _in_group(element: Element, frame: ElementFrame) -> ElementFrame:
    return replace(frame, group=label_of(element) or element.get("id", "") or frame.group)
