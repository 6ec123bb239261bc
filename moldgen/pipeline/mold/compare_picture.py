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
from moldgen.pipeline.mold.forming_pictures import base_map, thickness_map
from moldgen.pipeline.mold.make import MoldWork
from moldgen.pipeline.mold.trim_region import trim_plan_of

_ABOUT = "thickness of the formed sheets, from above, in mm; within red less than a quarter is left"


def comparison_png(title: str, molds: Sequence[tuple[str, MoldWork]]) -> bytes:
    """Return the formed sheets in a row, or if any was not followed when each can be formed."""
    if any(work.mold.formed is None for _, work in molds):
        return heating_windows_png(title, tuple(_window(label, work) for label, work in molds))
    return sheet_row_png(sheet_row(title, molds))


def sheet_row(title: str, molds: Sequence[tuple[str, MoldWork]]) -> SheetRow:
    """Return the maps of thickness of several molds, on the scale of the thickest sheet."""
    scale = thickness_scale(max(work.design.setting.sheet.gauge_mm for _, work in molds))
    return SheetRow(
        title=title,
        about=_ABOUT,
        labels=tuple(label for label, _ in molds),
        maps=tuple(_map(work, scale=scale) for _, work in molds),
    )


def _map(work: MoldWork, scale: ValueScale) -> SheetMap:
    mold, formed = work.mold, work.mold.formed
    if formed is None:
        raise GeometryError("the sheet was not followed. Ask for a forming run.")
    request, sheet = work.design.request, work.design.setting.sheet
    outlines = (mold.foot, *(plan.flat for plan in mold.plans if not plan.flat.is_empty))
    trim = trim_plan_of(request, mold, sheet).region
    plain = base_map(formed, trim, request.title, outlines=outlines)
    return thickness_map(formed, plain, scale)


def _window(label: str, work: MoldWork) -> HeatingWindow:
    heated = work.day.heated
    if heated is None:
        return HeatingWindow(label=label, opens_s=None, forms_s=None, closes_s=None)
    usable = heated.usable
    return HeatingWindow(
        label=label,
        opens_s=usable.clock.opens_s,
        forms_s=usable.forming_s,
        closes_s=usable.clock.ends_s,
    )
