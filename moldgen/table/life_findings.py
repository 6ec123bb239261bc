"""What a person should know before forming on a printed mold, and what print would last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.table.edges import radius_that_stays_hard_mm
from moldgen.table.mold_life import MoldLife, survives
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.run import Run
from moldgen.wording import clock_text

BASIS = (
    "heat through sheet and print, computed; infill walls as plates clamped at both ends (Euler), "
    "their rubbery modulus within a factor of two; not tried on printed molds"
)
_INFILLS = (0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0)
_MOST_RADIUS_mm = 6.0
_SHORT_PAUSE_s = 180.0
_MOST_INFILL = 0.4
"""More is chosen by nobody but a person: it takes hours and filament. [-]."""
_SKINS_mm = (1.6, 2.0, 2.4, 2.8, 3.2, 4.0, 5.0, 6.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class LastingPrint:
    """What would last so many cycles in a row, each by itself; None if it cannot.

    Attributes
    ----------
    infill : float or None
        Share of the inside, with the same skin. [-]
    skin_mm : float or None
        Skin, with the same infill. [mm]
    """

    infill: float | None
    skin_mm: float | None

    @property
    def words(self) -> str:
        """Both in words; empty if neither is enough."""
        parts = []
        if self.infill is not None:
            parts.append(f"with {100 * self.infill:.0f} % infill")
        if self.skin_mm is not None:
            parts.append(f"with {self.skin_mm:g} mm of solid walls and top layers")
        return ", or ".join(parts)


def lasting_print(life: MoldLife) -> LastingPrint:
    """Return the infill or the skin with which a mold lasts as many cycles as were told.

    Each is the least of those usual in slicers that does, at the low end of the allowed depth.
    """
    return _lasting_print(life.run, life.mold, len(life.contact_s))


def chosen_infill(life: MoldLife) -> float:
    """Return the infill to print a mold with: the usual, or more if its top then lasts. [-]."""
    if life.in_a_row is None:
        return life.mold.infill
    lasting = lasting_print(life).infill
    return lasting if lasting is not None and lasting <= _MOST_INFILL else life.mold.infill


@lru_cache(maxsize=32)
def _lasting_print(run: Run, mold: PrintedMold, wanted: int) -> LastingPrint:
    denser = [replace(mold, infill=share) for share in _INFILLS if share > mold.infill]
    thicker = [replace(mold, skin_mm=skin) for skin in _SKINS_mm if skin > mold.skin_mm]
    infill, skin = (_first_lasting(run, molds, wanted) for molds in (denser, thicker))
    return LastingPrint(
        infill=infill.infill if infill else None, skin_mm=skin.skin_mm if skin else None
    )


def _first_lasting(run: Run, molds: Sequence[PrintedMold], wanted: int) -> PrintedMold | None:
    """Return the first that lasts of molds that last ever longer, by halving."""
    low, high = 0, len(molds)
    while low < high:
        middle = (low + high) // 2
        if survives(run, molds[middle], wanted):
            high = middle
        else:
            low = middle + 1
    return molds[low] if low < len(molds) else None


def life_findings(life: MoldLife) -> tuple[Finding, ...]:
    """Return what a person should know before forming on this mold."""
    edges = life.edges_last is not None and life.edges_last < len(life.contact_s)
    return (*((_edges_round(life),) if edges else ()), *top_findings(life))


def top_findings(life: MoldLife) -> tuple[Finding, ...]:
    """Return what a person should know of a mold's top alone: that edges round is its usual lot."""
    return () if life.in_a_row is None else (_top_sinks(life),)


def _edges_round(life: MoldLife) -> Finding:
    at_once = life.edges_last == 0
    return Finding(
        code="edges-round",
        # What an edge loses stays within its rounding: the mold makes its parts all the same.
        severity=Severity.NOTE,
        says="its edges soften in every cycle and begin to round"
        if at_once
        else f"its edges begin to round after about {_cycles(life.edges_last)}",
        measured=float(life.edges_degC[0]) if at_once else life.hottest_edge_degC,
        limit=life.softens_degC,
        unit="°C",
        subject=f"{life.mold.filament.name} mold",
        basis="heat from both faces of an edge, computed to about 10 °C",
        advice=_edge_advice(life),
    )


def _edge_advice(life: MoldLife) -> str:
    """Return what helps edges; rounding only where it would be enough."""
    radius_mm = radius_that_stays_hard_mm(life.run, life.mold, life.first_face_degC)
    if not life.mold.edge_radius_mm < radius_mm <= _MOST_RADIUS_mm:
        return "Print it from a filament that stands more heat."
    return (
        f"Rounded {ceil(2 * radius_mm) / 2:g} mm they do not in the first cycle; "
        "or print it from a filament that stands more heat."
    )


def _top_sinks(life: MoldLife) -> Finding:
    at_once, helps = life.in_a_row == 0, life.pause_s is not None
    return Finding(
        code="mold-warms-up" if helps else "mold-softens",
        severity=_severity(life),
        says="its top softens so deep in the first cycle that the infill under it buckles"
        if at_once
        else f"lasts {row_text(life)}, then the infill under its soft top buckles and it sinks",
        measured=float(life.softened_mm[0]) if at_once else None,
        limit=life.allowed.middle_mm if at_once else None,
        unit="mm" if at_once else "",
        subject=f"{life.mold.filament.name} mold",
        basis=BASIS,
        advice=_advice(life),
        cures=(
            Cure(field=Remedy.FILAMENT, way=Way.OTHER),
            Cure(field=Remedy.GAUGE, way=Way.LOWER, least=0.8 * life.run.sheet.gauge_mm),
        ),
    )


def _severity(life: MoldLife) -> Severity:
    if life.in_a_row == 0:
        return Severity.STOP
    low = life.in_a_row_band[0]
    enough = low is None or low >= len(life.contact_s)
    # A pause as short as the heating of the next sheet is no hardship.
    short = life.pause_s is not None and life.pause_s <= _SHORT_PAUSE_s
    return Severity.NOTE if enough or short else Severity.CAUTION


def _advice(life: MoldLife) -> str:
    parts = []
    if life.pause_s is not None:
        parts.append(f"Wait about {clock_text(life.pause_s)} more between cycles.")
    words = lasting_print(life).words
    if words:
        parts.append(f"It would last {len(life.contact_s)} in a row {words}.")
    if len(parts) < 2:
        parts.append("Print it from a filament that stands more heat, or form thinner sheet.")
    return " ".join(parts)


def row_text(life: MoldLife) -> str:
    """Return how many cycles in a row a top that may sink lasts, as a band."""
    low, high = life.in_a_row_band
    if high is None:
        return f"{_cycles(low)} or more"
    if not low:
        return f"at most {_cycles(high)}"
    if low == high:
        return f"about {_cycles(low)}"
    return f"about {low} to {_cycles(high)}"


def _cycles(number: int | None) -> str:
    return "1 cycle" if number == 1 else f"{number} cycles in a row"
