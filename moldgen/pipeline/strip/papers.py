"""The papers of a bent strip: the job card and the risk assessment form."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from moldgen.job.spec import Paper
from moldgen.pipeline.file_set import OutputFile
from moldgen.pipeline.papers import card_file, risk_file
from moldgen.pipeline.strip.work import BentStrip

if TYPE_CHECKING:
    from moldgen.export.card.job_card import JobCard
    from moldgen.export.card.risk_form import RiskForm
    from moldgen.export.plan.plan import Plan


def strip_paper_files(work: BentStrip, plan: Plan, name: str, paper: Paper) -> Iterator[OutputFile]:
    """Yield the papers that go with a strip to the bench.

    Parameters
    ----------
    work : BentStrip
        Worked out.
    plan : Plan
        The flat strip, shown small on the card.
    name : str
        What the names of files begin with.
    paper : Paper
        What is printed on; a card is half of it.
    """

    def card() -> JobCard:
        from moldgen.pipeline.strip.card import strip_card

        return strip_card(work, plan=plan)

    def risks() -> RiskForm:
        from moldgen.pipeline.strip.risks import strip_risk_form

        return strip_risk_form(work)

    yield card_file(name, card, paper=paper, purpose="the job card, for the strip heater")
    yield risk_file(name, risks, paper=paper)
