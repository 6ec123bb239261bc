"""Sheets of labels as they are bought, written out."""

from __future__ import annotations

import re

from moldgen.errors import SpecError
from moldgen.export.card.label_grid import LabelGrid
from moldgen.export.plan.paper import paper_named
from moldgen.job.spec import Paper
from moldgen.wording import shown
from moldgen.written_number import measure, parted_size

USUAL_LABELS = {
    Paper.A4: "3 x 8 of 70 x 37 mm",
    Paper.LETTER: "3 x 10 of 66.7 x 25.4 mm, 3.2 x 0 mm apart",
}
"""Common grids of labels for each paper (common practice, no source)."""
_WRITTEN = re.compile(
    r"\s*(?P<columns>\d{1,3})\s*[x×*]\s*(?P<rows>\d{1,3})\s+of\s+(?P<size>[^,]+?)"
    r"\s*(?:,\s*(?P<apart>.+?)\s+apart\s*)?",
    re.IGNORECASE,
)
_SLACK_MM = 0.5


def label_grid_from(field: str, words: str, paper: Paper) -> LabelGrid:
    """Return a sheet of labels that is written out; the usual one of a paper if nothing is.

    Raises
    ------
    SpecError
        If it is not written so, or does not fit the paper.

    Examples
    --------
    >>> label_grid_from("labels", "3 x 8 of 70 x 37", Paper.A4).grid_mm
    (210.0, 296.0)
    """
    match = _WRITTEN.fullmatch((words or USUAL_LABELS[Paper(paper)])[:200])
    size = parted_size(match["size"], 2) if match else ()
    apart = parted_size(match["apart"] or "0 x 0", 2) if match else ()
    if match is None or len(size) != 2 or len(apart) != 2:
        hint = 'Write it like "3 x 8 of 70 x 37 mm".'
        raise SpecError(field, "how many labels, and of which size", shown(words), hint)
    width_mm, height_mm, gap_x_mm, gap_y_mm = (
        measure(field, side, unit="mm") for side in (*size, *apart)
    )
    try:
        sheet = LabelGrid(
            columns=int(match["columns"]), rows=int(match["rows"]),
            width_mm=width_mm, height_mm=height_mm, gap_x_mm=gap_x_mm, gap_y_mm=gap_y_mm,
        )  # fmt: skip
    except SpecError as problem:
        raise problem.at(f"{field}, {problem.field}") from None
    _check_fits(field, sheet, paper)
    return sheet


def _check_fits(field: str, sheet: LabelGrid, paper: Paper) -> None:
    page = paper_named(Paper(paper).value)
    wide, high = sheet.grid_mm
    if wide > page.width_mm + _SLACK_MM or high > page.height_mm + _SLACK_MM:
        raise SpecError(
            field, f"a grid of at most {page.width_mm:.0f} x {page.height_mm:.0f} mm",
            f"{wide:.0f} x {high:.0f} mm", "Take fewer labels, smaller ones, or another paper.",
        )  # fmt: skip
