"""Whether the air is out before the sheet is stiff, and what to do if it is not."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from moldgen.finding import Finding, Severity, amount
from moldgen.mold.air.evacuation import Bottleneck, Evacuation, PocketTime

FORMING_SHARE = 0.7
"""Share of the vacuum that forms a part; what comes later only sharpens it: common practice, no
source. [-]."""
ENOUGH = 0.5
"""With this share of the vacuum the sheet lies on the mold, if not in its finest corners: common
practice, no source. [-]."""

_BASIS = (
    "orifice flow of an ideal gas into tank and pump, isothermal (Cengel and Cimbala, Fluid "
    "Mechanics, chapter 12; derived)"
)


def check_evacuation(air: Evacuation) -> tuple[Finding, ...]:
    """Ask whether the vacuum comes before the sheet is stiff, as a whole and in every pocket.

    Parameters
    ----------
    found : Evacuation
        As measured; without a time to compare with, nothing is asked.
    """
    if air.stiff_s is None:
        return ()
    return (*_check_whole(air, air.stiff_s), *_check_pockets(air, air.stiff_s))


def _check_whole(air: Evacuation, stiff_s: float) -> Iterator[Finding]:
    forming_s = air.vacuum_s(FORMING_SHARE)
    if forming_s <= stiff_s:
        return
    there_kPa = air.vacuum_at_kPa(stiff_s) if air.down_s <= stiff_s else 0.0
    hangs = there_kPa < ENOUGH * air.vacuum_kPa
    yield Finding(
        code="vacuum-slow",
        severity=Severity.CAUTION if hangs else Severity.NOTE,
        says=f"the sheet is stiff before {100 * FORMING_SHARE:g} % of the vacuum is under it; "
        f"{air.bottleneck} holds it up",
        measured=forming_s if isfinite(forming_s) else None,
        limit=stiff_s,
        unit="s",
        basis=_BASIS,
        advice=f"When it is stiff it has {amount(there_kPa, 'kPa')} of "
        f"{amount(air.vacuum_kPa, 'kPa')}. {_cure(air)}",
    )


def _cure(air: Evacuation) -> str:
    if air.bottleneck is Bottleneck.HOLES:
        return "Lay the mold on open mesh, so that all holes of the table draw."
    if air.bottleneck is Bottleneck.PIPE:
        return "Use a wider, shorter pipe and valve between tank and table."
    empty = "Empty the tank until the gauge stands still before the valve is opened. "
    return (
        f"{empty if air.bottleneck is Bottleneck.TANK else ''}Let there be less air to draw: cover "
        "the part of the opening that the mold does not need with a plate, put a filler board "
        "into a deep box under the table, and seal the clamp all round."
    )


def _check_pockets(air: Evacuation, stiff_s: float) -> Iterator[Finding]:
    for one in air.pockets:
        if one.seconds > stiff_s:
            yield _pocket_finding(one, stiff_s)


def _pocket_finding(one: PocketTime, stiff_s: float) -> Finding:
    n = len(one.pocket.vents)
    return Finding(
        code="pocket-slow" if n else "pocket-shut",
        severity=Severity.CAUTION,
        says="the air in it is not out before the sheet is stiff"
        if n
        else "no vent leads its air out",
        measured=one.seconds if isfinite(one.seconds) else None,
        limit=stiff_s,
        unit="s",
        where_mm=one.pocket.where_mm,
        subject=one.pocket.name,
        basis=_BASIS,
        advice=_more_vents(one, n),
    )


def _more_vents(one: PocketTime, n: int) -> str:
    if not n:
        return "Give it a vent at its lowest place."
    if one.vents_needed is None:
        return (
            "More vents alone do not help: more of the table's holes must lie free under the mold; "
            "lay it on open mesh."
        )
    return f"It takes {one.vents_needed} vents of this size in place of {n}."
