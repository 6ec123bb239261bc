"""The program's own remedy for a wish, as changes of what the page's controls show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from moldgen.api.mend import mend
from moldgen.errors import SpecError
from moldgen.finding import Remedy
from moldgen.web.controls import control_name
from moldgen.web.order import WishOrder
from moldgen.web.wish import Beginning

_WORDS = {
    Remedy.TOP_RADIUS: "top_radius",
    Remedy.BASE_RADIUS: "base_radius",
    Remedy.PLAN_RADIUS: "plan_radius",
    Remedy.DRAFT: "draft",
    Remedy.GAUGE: "gauge",
    Remedy.FILAMENT: "filament",
    Remedy.PRINTER: "printer",
    Remedy.MACHINE: "machine",
}
_SPARE_MM = 0.05
"""What is rounded away where a size is told. [mm]."""
_SIZES = {Beginning.WORD: "letter_height"}


def mended_wish(order: WishOrder) -> dict[str, Any]:
    """Return the wish with its remedy, and what was changed, as JSON.

    Raises
    ------
    MoldgenError
        If it cannot be made as it stands.
    """
    wish = order.wish
    done = mend(wish.mold_job(), order.shop, drawings=order.drawings)
    values, changes = {**wish.values}, []
    for change in done.changes:
        word = control_of(wish.beginning, change.field, change.feature)
        values[word] = change.after
        changes.append(
            order.told(f"{control_name(word)}: {change.before} → {change.after} ({change.because})")
        )
    return {
        "wish": replace(wish, values=values).words,
        "changes": changes,
        "left": [order.sentence(finding) for finding in done.after if finding.severity != "note"],
    }


def refuse_larger(order: WishOrder, size_mm: Sequence[float]) -> None:
    """Refuse a mold that is larger than its class makes, at the control that makes it smaller.

    Raises
    ------
    SpecError
        If it is.
    """
    beginning, largest_mm = order.wish.beginning, order.largest_mm
    if largest_mm is None or order.is_strip:
        return
    length_mm, width_mm = size_mm[:2]
    if max(length_mm, width_mm) <= largest_mm + _SPARE_MM:
        return
    is_long_tray = beginning is Beginning.TRAY and length_mm >= width_mm
    field = "length" if is_long_tray else control_of(beginning, Remedy.SIZE, "")
    rule = f"such that the mold is at most {largest_mm:g} mm long and wide"
    got = f"{max(length_mm, width_mm):.1f} mm"
    raise SpecError(field, rule, got, "Make it smaller: your class makes no larger ones.")


def control_of(beginning: Beginning, remedy: Remedy, feature: str) -> str:
    """Return the word of the control that a remedy turns, for a design that began so."""
    if remedy in _WORDS:
        return _WORDS[remedy]
    if remedy is Remedy.SIZE:
        return _SIZES.get(beginning, "width")
    if beginning is Beginning.WORD:
        return "plaque_height" if feature == "plaque" else "relief"
    return "depth" if beginning is Beginning.TRAY else "height"
