"""What can hurt in a job, as rows of a risk assessment."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from moldgen.export.card.risk_form import RiskForm, RiskRow
from moldgen.export.report.cautions import Hazard, first_cautions, hazard_cautions

_TABLE = "who works at the table, helpers"
_ROOM = "everybody in the room"
_CUTS = "who cuts, who holds"
_WHO: Mapping[Hazard, str] = {
    Hazard.HEAT: _TABLE,
    Hazard.ELEMENT: "who bends, helpers",
    Hazard.FUMES: _ROOM,
    Hazard.PVC: _ROOM,
    Hazard.EYES: "who forms, cuts or drills, and onlookers",
    Hazard.KNIFE: _CUTS,
    Hazard.SNIPS: "who cuts, and who is handed the part",
    Hazard.DUST: _ROOM,
    Hazard.SANDER: "who sands",
    Hazard.DRILL: "who drills",
    Hazard.HAND_SAW: _CUTS,
    Hazard.SAW: "who saws, onlookers",
    Hazard.WOOD_DUST: _ROOM,
    Hazard.FRAME: _TABLE,
    Hazard.MAINS: _ROOM,
    Hazard.PRINTER: "who runs the printer, onlookers",
}


def risk_rows(
    hazards: Collection[Hazard],
    *,
    bending: bool = False,
    besides: Mapping[Hazard, str] | None = None,
) -> tuple[RiskRow, ...]:
    """Return the rows of what can hurt, with the cautions that the program has for it.

    Parameters
    ----------
    hazards : collection of Hazard
        What the job really does.
    bending : bool
        Whether it is done at a strip heater.
    besides : mapping of Hazard to str, optional
        What is said beside the usual cautions, by the plastic or the tool of the job.
    """
    more = besides or {}
    rows = []
    for hazard, texts in hazard_cautions(hazards, bending=bending).items():
        told = (*texts, *((more[hazard],) if hazard in more else ()))
        rows.append(RiskRow(hazard=hazard.value, who=_WHO[hazard], controls=told))
    return tuple(_merged(rows))


def _merged(rows: Iterable[RiskRow]) -> Iterator[RiskRow]:
    """Yield rows, one for those that are controlled in the same way."""
    by_controls: dict[tuple[str, ...], list[RiskRow]] = {}
    for row in rows:
        by_controls.setdefault(row.controls, []).append(row)
    for controls, alike in by_controls.items():
        hazard = " and ".join(dict.fromkeys(row.hazard for row in alike))
        who = ", ".join(dict.fromkeys(row.who for row in alike))
        yield RiskRow(hazard=hazard, who=who, controls=controls)


def risk_form(
    title: str,
    rows: Iterable[RiskRow],
    *,
    facts: tuple[tuple[str, str], ...],
    bending: bool = False,
) -> RiskForm:
    """Return the form of a job, local rules first."""
    return RiskForm(
        title=title, facts=facts, first=first_cautions(bending=bending), rows=tuple(rows)
    )
