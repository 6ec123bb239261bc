"""The picture of a comparison."""

from __future__ import annotations

from collections.abc import Sequence

from moldgen.errors import GeometryError
from moldgen.export.picture.forming_scales import thickness_scale
from moldgen.export.picture.sheet_map import SheetMap
from moldgen.export.picture.side_by_side import (
    HeatingWindow,
    SheetRow,
    heating_windows_png,
    sheet_row_png,
)
from moldgen.export.picture.value_scale import ValueScale
from moldgen.pipeline.mold.figures import MoldFigures, SeenSheet
from moldgen.pipeline.mold.forming_pictures import base_map, thickness_map

_ABOUT = "thickness of the formed sheets, from above, in mm; within red less than a quarter is left"


def comparison_png(title: str, molds: Sequence[tuple[str, MoldFigures]]) -> bytes:
    """Return the formed sheets in a row, or if any was not followed when each can be formed."""
    if any(figures.seen is None for _, figures in molds):
        return heating_windows_png(title, tuple(_window(*one) for one in molds))
    return sheet_row_png(sheet_row(title, molds))


def sheet_row(title: str, molds: Sequence[tuple[str, MoldFigures]]) -> SheetRow:
    """Return the maps of thickness of several molds, on the scale of the thickest sheet."""
    seen = [figures.seen for _, figures in molds if figures.seen is not None]
    if len(seen) < len(molds):
        raise GeometryError("the sheet was not followed. Ask for a forming run.")
    scale = thickness_scale(max(one.thickness.gauge_mm for one in seen))
    return SheetRow(
        title=title,
        about=_ABOUT,
        labels=tuple(label for label, _ in molds),
        maps=tuple(_map(title, one, scale) for one in seen),
    )


def _map(title: str, seen: SeenSheet, scale: ValueScale) -> SheetMap:
    plain = base_map(seen.thickness, seen.trim, title, outlines=seen.outlines)
    return thickness_map(seen.thickness, plain, scale=scale)


def _window(label: str, figures: MoldFigures) -> HeatingWindow:
    opens_s, forms_s, closes_s = figures.window_s
    return HeatingWindow(label=label, opens_s=opens_s, forms_s=forms_s, closes_s=closes_s)
