"""Papers that go with a job to the table, whatever is made: job card, risk assessment form."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from moldgen.job.formats import Format
from moldgen.job.spec import Paper
from moldgen.pipeline.file_set import OutputFile

if TYPE_CHECKING:
    from moldgen.export.card.job_card import JobCard
    from moldgen.export.card.risk_form import RiskForm

CARD_PAPER = {Paper.A4: "A5", Paper.LETTER: "Half Letter"}
"""The paper of cards, for those who print plans on a paper: half of it."""


def card_file(stem: str, card: Callable[[], JobCard], *, paper: Paper, purpose: str) -> OutputFile:
    """Return a job card as a file, on half of a paper."""

    def content() -> bytes:
        from moldgen.export.card.job_card import CARD_PAPERS, job_cards_pdf_bytes

        made = card()
        half = CARD_PAPERS[CARD_PAPER[Paper(paper)]]
        return job_cards_pdf_bytes([made], paper=half, title=f"Job card: {made.title}")

    name = f"{stem}-card.pdf"
    return OutputFile(name=name, purpose=purpose, content=content, format=Format.PDF)


def risk_file(stem: str, form: Callable[[], RiskForm], *, paper: Paper) -> OutputFile:
    """Return a risk assessment form as a file."""

    def content() -> bytes:
        from moldgen.export.card.risk_form import risk_form_pdf_bytes
        from moldgen.export.plan.paper import paper_named

        return risk_form_pdf_bytes(form(), paper=paper_named(Paper(paper).value))

    return OutputFile(
        name=f"{stem}-risks.pdf",
        purpose="the risk assessment form, to be checked and signed",
        content=content,
        format=Format.PDF,
    )
