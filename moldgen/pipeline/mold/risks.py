"""What can hurt when a mold is made, formed on and trimmed: only what this job really does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from moldgen.export.card.risk_form import RiskForm, RiskRow
from moldgen.export.report.cautions import Hazard
from moldgen.fixture.trim.tool import Tool, Tooling
from moldgen.job.spec import MoldRequest
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.plan import Drilling
from moldgen.pipeline.mold.steps import tooling_of
from moldgen.pipeline.mold.trim_region import trim_plan_of
from moldgen.pipeline.risks import risk_form, risk_rows
from moldgen.pipeline.setting import Setting
from moldgen.stock import Plastic

_DUSTY = frozenset({"acrylic", "polycarbonate"})
"""Families whose dust the cautions name."""


def mold_risk_form(
    job: MoldRequest, mold: Mold, setting: Setting, drilling: Sequence[Drilling]
) -> RiskForm:
    """Return the risk assessment of a mold.

    Parameters
    ----------
    job : MoldRequest
        What was asked for.
    mold : Mold
        The finished mold.
    setting : Setting
        Sheet, table, printer and filament.
    drilling : sequence of Drilling
        Vents that are drilled.
    """
    sheet = setting.sheet
    return risk_form(
        job.title,
        mold_risks(job, mold, setting, drilling),
        facts=(
            ("Sheet", sheet.words),
            ("Forming table", setting.machine.name),
        ),
    )


def mold_risks(
    job: MoldRequest, mold: Mold, setting: Setting, drilling: Sequence[Drilling]
) -> tuple[RiskRow, ...]:
    """Return the rows of the risk assessment of a mold."""
    plastic = setting.sheet.plastic
    tooling = tooling_of(trim_plan_of(job, mold, setting.sheet), setting)
    hazards = set(_hazards(plastic, tooling, drilled=bool(drilling), printed=setting.is_printed))
    besides = {Hazard.HAND_SAW: tooling.steps[0][1]}
    if plastic.caution:
        besides[Hazard.FUMES] = plastic.caution
    return risk_rows(hazards, besides=besides)


def _hazards(
    plastic: Plastic, tooling: Tooling, *, drilled: bool, printed: bool
) -> Iterator[Hazard]:
    """Yield what can hurt."""
    yield from (Hazard.HEAT, Hazard.FUMES, Hazard.EYES, Hazard.FRAME, Hazard.MAINS)
    if "PVC" in plastic.name:
        yield Hazard.PVC
    yield from _of_trimming(tooling)
    if (tooling.sanded or tooling.first is Tool.SAW) and plastic.family in _DUSTY:
        yield Hazard.DUST
    if drilled:
        yield Hazard.DRILL
    if printed:
        yield Hazard.PRINTER
    else:
        yield from (Hazard.SAW, Hazard.WOOD_DUST, Hazard.DRILL, Hazard.SANDER)


def _of_trimming(tooling: Tooling) -> Iterator[Hazard]:
    snips = tooling.first is Tool.SNIPS or "Snips do as well" in tooling.also
    if tooling.first in (Tool.KNIFE, Tool.SCORE):
        yield Hazard.KNIFE
    if snips:
        yield Hazard.SNIPS
    if tooling.first is Tool.SAW:
        yield Hazard.HAND_SAW
    if tooling.sanded:
        yield Hazard.SANDER
