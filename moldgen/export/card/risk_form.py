"""The risk assessment form: one page of what can hurt in a job, filled in, to be signed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from moldgen.export.card.text_block import BOLD, LINE_SPACING, broken_lines, fitting_size_mm
from moldgen.export.plan.paper import PaperSize
from moldgen.export.plan.pdf_canvas import PdfCanvas, pdf_document, text_width_mm
from moldgen.language import in_words
from moldgen.units_text import as_read

MARGIN_MM = 10.0
_TITLE_MM = 7.0
_WORDS_MM = 3.2
_SHRINKS = (1.2, 1.1, 1.0, 0.94, 0.88, 0.82, 0.76, 0.7, 0.64, 0.58, 0.52)
_PAD_MM = 1.2
_COLUMNS = (0.16, 0.16, 0.57, 0.11)
"""Shares of the width: hazard, who, control, initials. [-]."""
_LINE_MM = 8.0
_N_LINES = 3
"""Lines to write on for rules that go further."""
_SIGNATURES = (("Reviewed by", "Date", "Signature"), ("Assessed by", "Date", "Signature"))
"""What is written by hand, from the bottom up."""
_HEAD = ("Hazard", "Who may be harmed", "Control", "Initials")


@dataclass(frozen=True, slots=True, kw_only=True)
class RiskRow:
    """One thing that can hurt, and what is done about it.

    Attributes
    ----------
    hazard : str
        Such as ``fumes``.
    who : str
        Who may be harmed.
    controls : tuple of str
        What keeps it from happening.
    """

    hazard: str
    who: str
    controls: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RiskForm:
    """What stands on a form.

    Attributes
    ----------
    title : str
        What the work is called.
    facts : tuple of (str, str)
        What is made, of what and where.
    first : tuple of str
        What comes before the table: local rules, supervision.
    rows : tuple of RiskRow
        Only what this job really does.
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    first: tuple[str, ...]
    rows: tuple[RiskRow, ...]


def risk_form_pdf_bytes(form: RiskForm, *, paper: PaperSize) -> bytes:
    """Return a form as a PDF file of one page.

    Parameters
    ----------
    form : RiskForm
        What stands on it; a row without initials has an empty box for them.
    paper : PaperSize
        Upright.

    Notes
    -----
    The same form gives the same bytes. Letters are as large as the page allows.
    """
    page = PdfCanvas()
    width_mm = paper.width_mm - 2 * MARGIN_MM
    below_mm = _signatures(page, width_mm)
    for scale in _SHRINKS:
        end_mm = _drawn(PdfCanvas(), form, paper, scale)
        if end_mm >= below_mm:
            break
    _drawn(page, form, paper, scale)
    title = in_words(f"Risk assessment: {form.title}")
    return pdf_document(title=title, paper=paper, drawing=PdfCanvas(), pages=[page])


def _drawn(page: PdfCanvas, form: RiskForm, paper: PaperSize, scale: float) -> float:
    """Write head and table at one size of letters; return where they end. [mm]."""
    width_mm = paper.width_mm - 2 * MARGIN_MM
    y_mm = _head(page, form, width_mm, paper.height_mm - MARGIN_MM, scale)
    cells = [tuple(map(in_words, _HEAD))]
    cells += [
        (
            _cell_as_read(row.hazard),
            _cell_as_read(row.who),
            " ".join(map(_cell_as_read, row.controls)),
            "",
        )
        for row in form.rows
    ]
    for number, row in enumerate(cells):
        y_mm = _table_row(page, row, width_mm, y_mm, scale=scale, bold=number == 0)
    return y_mm


def _cell_as_read(words: str) -> str:
    told = as_read(words)
    return f"{told[:1].upper()}{told[1:]}"


def _head(page: PdfCanvas, form: RiskForm, width_mm: float, top_mm: float, scale: float) -> float:
    page.pen(0.3)
    title = in_words("Risk assessment")
    y_mm = top_mm - 0.85 * _TITLE_MM
    page.text(MARGIN_MM, y_mm, title, size_mm=_TITLE_MM, bold=True)
    used_mm = BOLD * text_width_mm(title, _TITLE_MM) + 6.0
    size_mm = fitting_size_mm(form.title, most_mm=5.0, width_mm=width_mm - used_mm)
    page.text(MARGIN_MM + used_mm, y_mm, form.title, size_mm=size_mm)
    y_mm -= 2.0
    size_mm = _WORDS_MM * scale
    facts = "; ".join(f"{in_words(name)}: {as_read(value)}" for name, value in form.facts)
    y_mm = _lines(page, facts, MARGIN_MM, y_mm, width_mm=width_mm, size_mm=size_mm)
    for text in form.first:
        y_mm = _lines(
            page, as_read(text), MARGIN_MM, y_mm - 0.8, width_mm=width_mm, size_mm=size_mm
        )
    return y_mm - 2.5


def _lines(
    page: PdfCanvas,
    text: str,
    x_mm: float,
    y_mm: float,
    *,
    width_mm: float,
    size_mm: float,
    bold: bool = False,
) -> float:
    """Write a text below a height; return where it ends. [mm]."""
    for line in broken_lines(text, size_mm=size_mm, width_mm=width_mm / BOLD):
        y_mm -= LINE_SPACING * size_mm
        fitted_mm = fitting_size_mm(line, most_mm=size_mm, width_mm=width_mm)
        page.text(x_mm, y_mm, line, size_mm=fitted_mm, bold=bold)
    return y_mm


def _table_row(
    page: PdfCanvas,
    cells: Sequence[str],
    width_mm: float,
    top_mm: float,
    *,
    scale: float,
    bold: bool,
) -> float:
    """Draw one row of the table; return where it ends. [mm]."""
    size_mm = _WORDS_MM * scale
    page.pen(0.2)
    ends = [
        _lines(
            page, cell, x_mm + _PAD_MM, top_mm - 0.3,
            width_mm=column_mm - 2 * _PAD_MM, size_mm=size_mm, bold=bold or place == 0,
        )
        for place, (cell, (x_mm, column_mm)) in enumerate(
            zip(cells, _columns(width_mm), strict=True)
        )
    ]  # fmt: skip
    bottom_mm = min(ends) - 0.3 * size_mm - 0.5
    for x_mm, column_mm in _columns(width_mm):
        page.rectangle(x_mm, bottom_mm, x_mm + column_mm, top_mm)
    return bottom_mm


def _columns(width_mm: float) -> Iterator[tuple[float, float]]:
    x_mm = MARGIN_MM
    for share in _COLUMNS:
        yield x_mm, share * width_mm
        x_mm += share * width_mm


def _signatures(page: PdfCanvas, width_mm: float) -> float:
    """Draw what is written by hand, from the bottom up; return where it ends. [mm]."""
    page.pen(0.2)
    filled = in_words(
        "Filled in by the program from the job: whoever supervises checks it against the room "
        "and the rules, strikes out, adds, and signs."
    )
    lines = broken_lines(filled, size_mm=2.6, width_mm=width_mm)
    y_mm = MARGIN_MM
    for line in reversed(lines):
        page.text(MARGIN_MM, y_mm, line, size_mm=2.6)
        y_mm += LINE_SPACING * 2.6
    y_mm += 3.0
    for names in _SIGNATURES:
        x_mm = MARGIN_MM
        for name, share in zip(names, (0.4, 0.22, 0.38), strict=True):
            _blank(page, in_words(name), x_mm, y_mm, width_mm=share * width_mm - 3.0)
            x_mm += share * width_mm
        y_mm += _LINE_MM
    for _ in range(_N_LINES):
        page.line((MARGIN_MM, y_mm), (MARGIN_MM + width_mm, y_mm))
        y_mm += _LINE_MM
    further = in_words("Rules of this room that go further, and what else was found:")
    page.text(MARGIN_MM, y_mm - 2.0, further, size_mm=_WORDS_MM)
    return y_mm + 4.0


def _blank(page: PdfCanvas, words: str, x_mm: float, y_mm: float, *, width_mm: float) -> None:
    """Write a word and a line to write on behind it."""
    size_mm = fitting_size_mm(words, most_mm=_WORDS_MM, width_mm=0.6 * width_mm)
    page.text(x_mm, y_mm, words, size_mm=size_mm)
    start_mm = x_mm + text_width_mm(words, size_mm) + 1.5
    page.line((start_mm, y_mm - 0.6), (x_mm + width_mm, y_mm - 0.6))
