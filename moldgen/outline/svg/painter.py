"""Paint one shape of an SVG drawing: its fill and the width of its line, cut by its clip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from moldgen.finding import Finding, Severity
from moldgen.outline.choices import StrokeUse
from moldgen.outline.crossing import crossing_findings
from moldgen.outline.drawing import Remarks
from moldgen.outline.region import FillRule, filled, united
from moldgen.outline.svg.dash import dash_pattern, dashed
from moldgen.outline.svg.frame import ElementFrame, Piece, mapped, placed, within
from moldgen.outline.svg.path import Trace
from moldgen.outline.svg.pen import is_round, pen_of, stroke_area
from moldgen.outline.svg.shape import ElementMeasures, shape_traces
from moldgen.outline.svg.style import (
    Style,
    is_filled,
    is_paper,
    is_stroked,
    opacity_of,
    paints_of,
)
from moldgen.outline.svg.tally import Tally
from moldgen.outline.svg.tree import label_of, spoken
from moldgen.outline.svg.value import Ruler, largest_stretch
from moldgen.outline.tangle import refuse_tangled


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapePainter:
    """Paints the shapes of one drawing.

    ``states_width`` tells whether the drawing states a width for any of its lines; what is met
    is counted in ``tally``, and what is left out is told in ``remarks``.
    """

    strokes: StrokeUse
    chord_mm: float
    ruler: Ruler
    remarks: Remarks
    tally: Tally
    states_width: bool

    def piece(self, element: Element, frame: ElementFrame, style: Style) -> Piece:
        """Return a shape as it is painted; ``frame`` and ``style`` are its own.

        Raises
        ------
        OutlineError
            If the drawing has more shapes or corners than it may, or a value cannot be read.
        """
        self.tally.shape()
        sizes = measures_of(element, frame, self.ruler)
        stretch = largest_stretch(frame.matrix)
        if stretch == 0 or abs(np.linalg.det(frame.matrix[:, :2])) < 1e-12 * stretch**2:
            self.remarks.add("drawing-flattened", "shapes squeezed to nothing are left out")
            return piece_of(element, frame)
        chord = self.chord_mm / stretch
        traces = shape_traces(sizes, chord=chord, beside=self._beside(style, frame, sizes))
        # A clip costs as much as if its corners were drawn once more.
        clipped = 0 if frame.clip is None else int(shapely.get_num_coordinates(frame.clip))
        self.tally.points(sum(len(trace.points) for trace in traces) + clipped)
        area, findings = self._painted(traces, style, frame, sizes, chord)
        if not (frame.clipping or frame.masking):
            self._remark_paint(style, flat=area.is_empty)
        only_line = is_stroked(style) and area.is_empty and not frame.clipping
        if only_line and frame.clip is not None:
            not_followed(
                self.remarks,
                "drawing-clip-ignored",
                "lines without a fill are not cut by a clip",
            )
        lines = tuple(Trace(placed(frame.matrix, t.points), t.closed) for t in traces)
        drawn = lines if only_line else ()
        width_mm = self._width_mm(style, frame, sizes) if drawn else 0.0
        piece = piece_of(element, frame, area=area, lines=drawn, findings=findings)
        return replace(
            piece, width_mm=width_mm, paints=paints_of(style), is_paper=is_paper(style),
            opacity=frame.opacity * opacity_of(style),
        )  # fmt: skip

    def _width(self, style: Style, frame: ElementFrame, sizes: ElementMeasures) -> float:
        """Return the width of a line, in user units."""
        what = f"stroke-width of {sizes.what}"
        return self.ruler.length(
            style["stroke-width"], what=what, along="r", viewport=frame.viewport
        )

    def _has_width(self, style: Style, frame: ElementFrame) -> bool:
        """Tell whether the line of a shape counts with its width."""
        counts = self.strokes is StrokeUse.OUTLINE or frame.masking
        return counts and is_stroked(style) and not frame.clipping

    def _beside(self, style: Style, frame: ElementFrame, sizes: ElementMeasures) -> float:
        """Return how far the edges of a line are from its middle, in user units; 0 if they follow.

        Round joins and ends follow a curve as its chords do; others stray from tight curves.
        """
        if is_round(style) or not self._has_width(style, frame):
            return 0.0
        return max(0.0, self._width(style, frame, sizes) / 2)

    def _width_mm(self, style: Style, frame: ElementFrame, sizes: ElementMeasures) -> float:
        """Return the width that is drawn; 0 where the drawing states none. [mm]."""
        if not self.states_width:
            return 0.0
        stretch = sqrt(abs(float(np.linalg.det(frame.matrix[:, :2]))))
        return self._width(style, frame, sizes) * stretch

    def _painted(
        self,
        traces: Sequence[Trace],
        style: Style,
        frame: ElementFrame,
        sizes: ElementMeasures,
        chord: float,
    ) -> tuple[BaseGeometry, tuple[Finding, ...]]:
        parts: list[BaseGeometry] = []
        findings: tuple[Finding, ...] = ()
        if is_filled(style) or frame.clipping:
            rule = style["clip-rule" if frame.clipping else "fill-rule"]
            rings = [placed(frame.matrix, trace.points) for trace in traces]
            fill = FillRule.EVEN_ODD if rule == "evenodd" else FillRule.NONZERO
            parts.append(filled(rings, rule=fill, what=sizes.what))
            if not frame.clipping:
                findings = crossing_findings(rings, parts[0], rule=fill, what=sizes.what)
        if self._has_width(style, frame):
            width = self._width(style, frame, sizes)
            if width > 0:
                drawn = self._dashed(traces, style, sizes, width)
                for trace in drawn:
                    refuse_tangled([trace.points], what=sizes.what, closed=trace.closed)
                area = stroke_area(drawn, pen_of(style, width=width, chord=chord))
                parts.append(shapely.transform(area, mapped(frame.matrix)))
        whole = united(parts, what=sizes.what)
        area = within(whole, frame.clip)
        if area.area < whole.area * (1 - 1e-9):
            self.remarks.add("drawing-clipped", "shapes are cut by a clip, as they are shown")
        return area, findings

    def _dashed(
        self, traces: Sequence[Trace], style: Style, sizes: ElementMeasures, width: float
    ) -> Sequence[Trace]:
        pattern = dash_pattern(style, sizes, traces)
        self.tally.points(2 * pattern.count(traces))
        return dashed(traces, pattern, width=width)

    def _remark_paint(self, style: Style, *, flat: bool) -> None:
        if is_stroked(style) and not flat and self.strokes is StrokeUse.IGNORE:
            self.remarks.add(
                "drawing-stroke-width",
                "filled shapes also have a stroke, whose width is not counted",
                advice="Ask for strokes to be outlined if the width belongs to the shape.",
            )
        if not is_filled(style) and not is_stroked(style):
            self.remarks.add("drawing-unpainted", "shapes without fill and stroke are left out")
        is_dashed = is_stroked(style) and style["stroke-dasharray"] not in {"none", "", "0"}
        if is_dashed and self.strokes is StrokeUse.IGNORE:
            self.remarks.add("drawing-dashes", "dashed lines are read as whole lines")
        if any(style[f"marker-{end}"] != "none" for end in ("start", "mid", "end")):
            self.remarks.add("drawing-marker", "arrow heads and other markers are left out")


def measures_of(element: Element, frame: ElementFrame, ruler: Ruler) -> ElementMeasures:
    """Return the lengths that an element states, in user units."""
    return ElementMeasures(element, spoken(element), ruler, frame.viewport)


def not_followed(remarks: Remarks, code: str, says: str) -> None:
    """Tell that something that shapes what is seen is not followed."""
    advice = "Draw the shape as it should be cut."
    remarks.add(code, says, severity=Severity.CAUTION, advice=advice)


def piece_of(
    element: Element,
    frame: ElementFrame,
    *,
    text: str = "",
    area: BaseGeometry | None = None,
    lines: tuple[Trace, ...] = (),
    findings: tuple[Finding, ...] = (),
) -> Piece:
    """Return what was met of an element, under its names."""
    return Piece(
        id=frame.used_as or element.get("id", ""),
        label=label_of(element),
        group=frame.group,
        names=frame.names,
        says=spoken(element),
        text=text,
        area=area if area is not None else MultiPolygon(),
        lines=lines,
        findings=findings,
    )
