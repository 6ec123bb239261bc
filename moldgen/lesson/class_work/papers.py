"""The papers of a class beside its cards: labels, and one risk assessment form for all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from moldgen.export.card.label_page import NameLabel, labels_pdf_bytes
from moldgen.export.card.risk_form import RiskRow, risk_form_pdf_bytes
from moldgen.export.plan.paper import paper_named
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.spec import Paper
from moldgen.language import in_words
from moldgen.lesson.class_work.run import PersonWork
from moldgen.pipeline.risks import risk_form

LABELS, RISKS = "labels.pdf", "risks.pdf"


def class_papers(title: str, works: Sequence[PersonWork], words: ClassCommand) -> dict[str, bytes]:
    """Return labels and risk assessment form of a class, by name of the file.

    Parameters
    ----------
    title : str
        What the class is called.
    works : sequence of PersonWork
        What became of each job.
    words : ClassCommand
        Paper, and how the labels lie on it.
    """
    paper = paper_named(Paper(words.paper).value)
    made = [work for work in works if not work.record.problem]
    return {
        LABELS: labels_pdf_bytes(
            list(_name_labels(made)),
            grid=words.label_grid,
            paper=paper,
            title=in_words(f"Labels: {title}"),
        ),
        RISKS: risk_form_pdf_bytes(
            risk_form(title, class_risks(made), facts=tuple(_facts(made))), paper=paper
        ),
    }


def _name_labels(works: Sequence[PersonWork]) -> Iterator[NameLabel]:
    """Yield a label for each piece."""
    for work in works:
        entry = work.entry
        what = entry.says if entry.says != entry.name else entry.shape or work.folder
        group = f"Group {entry.group}" if entry.group else ""
        for number in range(1, entry.pieces + 1):
            piece = f" ({number} of {entry.pieces})" if entry.pieces > 1 else ""
            sheet = ", ".join(part for part in (work.record.sheet_words, entry.color) if part)
            yield NameLabel(name=entry.name, lines=(f"Mold: {what}{piece}", sheet, group))


def class_risks(works: Sequence[PersonWork]) -> tuple[RiskRow, ...]:
    """Return what can hurt in any job of a class, each once."""
    told = (row for work in works for row in work.record.numbers["risks"])
    rows = (
        RiskRow(hazard=row["hazard"], who=row["who"], controls=tuple(row["controls"]))
        for row in told
    )
    return tuple(dict.fromkeys(rows))


def _facts(works: Sequence[PersonWork]) -> Iterator[tuple[str, str]]:
    yield "Sheets", ", ".join(dict.fromkeys(work.record.sheet_words for work in works))
    yield "People", str(len(works))
