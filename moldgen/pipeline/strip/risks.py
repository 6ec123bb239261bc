"""What can hurt when a strip is sawn, heated and bent: only what this job really does."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.export.card.risk_form import RiskForm
from moldgen.export.report.cautions import Hazard
from moldgen.pipeline.risks import risk_form, risk_rows
from moldgen.pipeline.strip.work import BentStrip


def strip_risk_form(work: BentStrip) -> RiskForm:
    """Return the risk assessment of a bent strip."""
    strip, plastic = work.part.strip, work.bench.plastic
    besides = {Hazard.FUMES: plastic.caution} if plastic.caution else {}
    return risk_form(
        work.job.title,
        risk_rows(set(_hazards(work)), bending=True, besides=besides),
        facts=(
            ("Sheet", f"{plastic.name} {strip.thickness_mm:.3g} mm"),
            ("Strip heater", work.bench.heater.name),
        ),
        bending=True,
    )


def _hazards(work: BentStrip) -> Iterator[Hazard]:
    yield from (Hazard.ELEMENT, Hazard.FUMES, Hazard.EYES, Hazard.SAW, Hazard.MAINS)
    if "PVC" in work.bench.plastic.name:
        yield Hazard.PVC
    if work.part.strip.holes:
        yield Hazard.DRILL
    if work.jigs.printed:
        yield Hazard.PRINTER
