"""The job card: one side of small paper with what to do at the table, in big numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from moldgen.export.card.qr_code import draw_qr_code
from moldgen.export.card.text_block import LINE_SPACING, broken_lines, fitting_size_mm
from moldgen.export.plan.items import Dimension, Note
from moldgen.export.plan.layers import Layer
from moldgen.export.plan.paper import MM_PER_INCH, PaperSize
from moldgen.export.plan.pdf import trace_plan
from moldgen.export.plan.pdf_canvas import PdfCanvas, pdf_document, text_width_mm
from moldgen.export.plan.plan import Plan
from moldgen.language import in_words
from moldgen.units_text import as_read

CARD_PAPERS = {
    "A5": PaperSize("A5", 148, 210),
    "Half Letter": PaperSize("Half Letter", 5.5 * MM_PER_INCH, 8.5 * MM_PER_INCH),
}
"""Half of the usual paper: ISO 216, and half of ANSI A (common practice)."""

MARGIN_MM = 8.0
_TITLE_MM = 7.0
_LABEL_MM = 3.6
_VALUE_MM = 6.4
_WORDS_MM = 3.0
_SMALL_MM = 2.5
_LABEL_COLUMN_MM = 21.0
_LABEL_SHARE = 0.6
"""Share of a line to write on that its word may take. [-]."""
_QR_MM = 24.0
_PLAN_MM = (58.0, 38.0)
_ROW_GAP_MM = 2.2
_SHRINKS = (1.0, 0.93, 0.86, 0.8, 0.74, 0.68, 0.62, 0.56, 0.5)
_SHOWN = (
    Layer.FOOT, Layer.FLAT, Layer.TRIM, Layer.VENT, Layer.DRILL, Layer.HANG, Layer.MARK,
    Layer.STRIP, Layer.BEND,
)  # fmt: skip
FORMING_BLANKS = ("Heated (s)", "Cooled (s)", "Cycle no.", "Least (mm)")
"""What is written down at a forming table."""
FORMING_SEEN = ("Good", "Web", "Hole", "Thin", "Stuck", "Soft mold")
"""What is ticked there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CardStep:
    """One thing to do, or one thing to know.

    Attributes
    ----------
    name : str
        What it is about: ``Heat``.
    value : str
        What is read at arm's length: ``40 to 70 s``.
    words : str
        What else there is to it; may be empty.
    """

    name: str
    value: str
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCard:
    """What stands on a card.

    Attributes
    ----------
    title : str
        Name of the job.
    steps : tuple of CardStep
        In the order of the day.
    cautions : tuple of str
        The local rules first.
    plan : Plan or None
        Shown small, without words.
    person : str
        Whose job it is; a line to write on if empty.
    link : str
        What the QR code holds; none if empty.
    foot : str
        One line in small letters.
    blanks : tuple of str
        What is written down at the table, two to a line.
    seen : tuple of str
        What is ticked, three to a line.
    """

    title: str
    steps: tuple[CardStep, ...]
    cautions: tuple[str, ...]
    plan: Plan | None = None
    person: str = ""
    link: str = ""
    foot: str = ""
    blanks: tuple[str, ...] = FORMING_BLANKS
    seen: tuple[str, ...] = FORMING_SEEN


def job_cards_pdf_bytes(cards: Sequence[JobCard], *, paper: PaperSize, title: str) -> bytes:
    """Return cards as a PDF file, one to a page.

    Parameters
    ----------
    cards : sequence of JobCard
        In order.
    paper : PaperSize
        One of `CARD_PAPERS`.
    title : str
        Title in the document's properties.

    Notes
    -----
    The same cards give the same bytes.
    """
    pages = [_page(_as_read(card), paper) for card in cards]
    return pdf_document(title=title, paper=paper, drawing=PdfCanvas(), pages=pages)


def _as_read(card: JobCard) -> JobCard:
    """Return a card in the language and the units that it is to be read in now."""
    return replace(
        card,
        steps=tuple(map(_step_as_read, card.steps)),
        cautions=tuple(map(as_read, card.cautions)),
        foot=as_read(card.foot),
    )


def _step_as_read(step: CardStep) -> CardStep:
    return CardStep(name=as_read(step.name), value=as_read(step.value), words=as_read(step.words))


def _page(card: JobCard, paper: PaperSize) -> PdfCanvas:
    page = PdfCanvas()
    width_mm = paper.width_mm - 2 * MARGIN_MM
    top_mm = _head(page, card, width_mm, paper.height_mm - MARGIN_MM)
    bottom_mm = _foot(page, card, width_mm)
    bottom_mm = _record(page, card, width_mm, bottom_mm + 2.0)
    _steps(page, card.steps, width_mm, top_mm=top_mm, bottom_mm=bottom_mm + 3.0)
    return page


def _head(page: PdfCanvas, card: JobCard, width_mm: float, top_mm: float) -> float:
    """Draw title, name and code; return where the rest begins."""
    if card.link:
        draw_qr_code(
            page, card.link, left_mm=MARGIN_MM + width_mm - _QR_MM, top_mm=top_mm, size_mm=_QR_MM
        )
    free_mm = width_mm - (_QR_MM + 2.0 if card.link else 0.0)
    size_mm = fitting_size_mm(card.title, most_mm=_TITLE_MM, width_mm=free_mm)
    page.pen(0.3)
    page.text(MARGIN_MM, top_mm - _TITLE_MM * 0.85, card.title, size_mm=size_mm, bold=True)
    name_mm = top_mm - _TITLE_MM - 6.5
    if card.person:
        size_mm = fitting_size_mm(card.person, most_mm=5.0, width_mm=free_mm)
        page.text(MARGIN_MM, name_mm, card.person, size_mm=size_mm)
    else:
        _blank(page, in_words("Name"), MARGIN_MM, name_mm, width_mm=free_mm * 0.62)
        _blank(page, in_words("Date"), MARGIN_MM + free_mm * 0.66, name_mm, width_mm=free_mm * 0.34)
    end_mm = min(name_mm - 3.5, top_mm - _QR_MM if card.link else top_mm)
    page.pen(0.5)
    page.line((MARGIN_MM, end_mm), (MARGIN_MM + width_mm, end_mm))
    return end_mm


def _blank(page: PdfCanvas, words: str, x_mm: float, y_mm: float, *, width_mm: float) -> None:
    """Write a word and a line to write on behind it."""
    page.pen(0.2)
    size_mm = fitting_size_mm(words, most_mm=_WORDS_MM, width_mm=_LABEL_SHARE * width_mm)
    page.text(x_mm, y_mm, words, size_mm=size_mm)
    start_mm = x_mm + text_width_mm(words, size_mm) + 1.5
    page.line((start_mm, y_mm - 0.6), (x_mm + width_mm, y_mm - 0.6))


def _steps(
    page: PdfCanvas, steps: Sequence[CardStep], width_mm: float, *, top_mm: float, bottom_mm: float
) -> None:
    """Write the steps as large as they fit."""
    room_mm = top_mm - bottom_mm

    def whole_mm(scale: float) -> float:
        return sum(_height_mm(one, width_mm, scale) for one in steps)

    scale = next((one for one in _SHRINKS if whole_mm(one) <= room_mm), _SHRINKS[-1])
    spare_mm = max(0.0, room_mm - whole_mm(scale)) / max(1, len(steps))
    y_mm = top_mm
    for step in steps:
        _step(page, step, width_mm, y_mm=y_mm - min(2.0, spare_mm / 2), scale=scale)
        y_mm -= _height_mm(step, width_mm, scale) + min(4.0, spare_mm)
        page.pen(0.15, gray=0.6)
        page.line((MARGIN_MM, y_mm), (MARGIN_MM + width_mm, y_mm))


def _step(page: PdfCanvas, step: CardStep, width_mm: float, *, y_mm: float, scale: float) -> None:
    page.pen(0.2)
    x_mm = MARGIN_MM + _LABEL_COLUMN_MM
    base_mm = y_mm - (_ROW_GAP_MM / 2 + _VALUE_MM * 0.85) * scale
    room_mm = _LABEL_COLUMN_MM - 1.0
    size_mm = fitting_size_mm(step.name, most_mm=_LABEL_MM, width_mm=room_mm)
    page.text(MARGIN_MM, base_mm, step.name, size_mm=size_mm, bold=True)
    column_mm = width_mm - _LABEL_COLUMN_MM
    size_mm = fitting_size_mm(step.value, most_mm=_VALUE_MM * scale, width_mm=column_mm)
    page.text(x_mm, base_mm, step.value, size_mm=size_mm, bold=True)
    base_mm -= 1.0 * scale
    for line in _words(step, width_mm, scale):
        base_mm -= LINE_SPACING * _WORDS_MM * scale
        page.text(x_mm, base_mm, line, size_mm=_WORDS_MM * scale)


def _words(step: CardStep, width_mm: float, scale: float) -> list[str]:
    column_mm = width_mm - _LABEL_COLUMN_MM
    return broken_lines(step.words, size_mm=_WORDS_MM * scale, width_mm=column_mm)


def _height_mm(step: CardStep, width_mm: float, scale: float) -> float:
    """Return the height of a row. [mm]."""
    n_lines = len(_words(step, width_mm, scale))
    words_mm = 1.0 + n_lines * LINE_SPACING * _WORDS_MM if n_lines else 0.0
    return scale * (_VALUE_MM + words_mm + _ROW_GAP_MM)


def _record(page: PdfCanvas, card: JobCard, width_mm: float, bottom_mm: float) -> float:
    """Draw the plan and what is filled in at the table beside it; return where they end."""
    plan_width_mm, height_mm = _PLAN_MM if card.plan else (0.0, _PLAN_MM[1])
    top_mm = bottom_mm + height_mm
    page.pen(0.5)
    page.line((MARGIN_MM, top_mm), (MARGIN_MM + width_mm, top_mm))
    if card.plan:
        _small_plan(page, card.plan, left_mm=MARGIN_MM, bottom_mm=bottom_mm)
    x_mm = MARGIN_MM + (plan_width_mm + 4.0 if card.plan else 0.0)
    _fill_in(page, card, x_mm, width_mm - (x_mm - MARGIN_MM), top_mm=top_mm)
    return top_mm


def _fill_in(
    page: PdfCanvas, card: JobCard, x_mm: float, width_mm: float, *, top_mm: float
) -> None:
    half_mm = (width_mm - 4.0) / 2
    y_mm = top_mm - 6.5
    page.text(x_mm, y_mm, in_words("What happened"), size_mm=_LABEL_MM, bold=True)
    for place, words in enumerate(card.blanks):
        y_mm -= 0.0 if place % 2 else 7.5
        left_mm = x_mm + (half_mm + 4.0) * (place % 2)
        _blank(page, in_words(words), left_mm, y_mm, width_mm=half_mm)
    seen = [in_words(word) for word in card.seen]
    third_mm = width_mm / 3
    for first in range(0, len(seen), 3):
        y_mm -= 7.0
        for i, word in enumerate(seen[first : first + 3]):
            left_mm = x_mm + i * third_mm
            page.pen(0.25)
            page.rectangle(left_mm, y_mm - 0.6, left_mm + 3.6, y_mm + 3.0)
            size_mm = fitting_size_mm(word, most_mm=_WORDS_MM, width_mm=third_mm - 5.5)
            page.text(left_mm + 5.0, y_mm, word, size_mm=size_mm)


def _small_plan(page: PdfCanvas, plan: Plan, *, left_mm: float, bottom_mm: float) -> None:
    """Draw a plan into its box, lines and holes only: words would be too small to read."""
    shown = plan.only(*_SHOWN).items
    bare = replace(plan, items=tuple(one for one in shown if not isinstance(one, Note | Dimension)))
    x0, y0, x1, y1 = bare.bounds_mm
    width_mm, height_mm = _PLAN_MM[0], _PLAN_MM[1] - 5.0
    scale = min(width_mm / (x1 - x0), height_mm / (y1 - y0))
    page.save()
    page.place(
        left_mm + (width_mm - (x1 - x0) * scale) / 2 - x0 * scale,
        bottom_mm + 4.0 + (height_mm - (y1 - y0) * scale) / 2 - y0 * scale,
        scale=scale,
    )
    trace_plan(bare, page, scale=scale)
    page.restore()
    page.pen(0.2)
    words = in_words("Not to scale; the plan is.")
    page.text(left_mm, bottom_mm + 0.6, words, size_mm=_SMALL_MM)


def _foot(page: PdfCanvas, card: JobCard, width_mm: float) -> float:
    """Write the cautions and the last line; return where they end."""
    lines = [
        line
        for caution in card.cautions
        for line in broken_lines(caution, size_mm=_SMALL_MM, width_mm=width_mm)
    ]
    y_mm = MARGIN_MM
    page.pen(0.2)
    if card.foot:
        page.text(MARGIN_MM, y_mm, card.foot, size_mm=2.0)
        y_mm += 3.5
    for line in reversed(lines):
        page.text(MARGIN_MM, y_mm, line, size_mm=_SMALL_MM)
        y_mm += LINE_SPACING * _SMALL_MM
    page.pen(0.5)
    page.line((MARGIN_MM, y_mm), (MARGIN_MM + width_mm, y_mm))
    return y_mm
