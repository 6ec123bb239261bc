"""The program's own remedy for a wish, as changes of what the page's controls show."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from moldgen.api.mend import mend
from moldgen.finding import Remedy
from moldgen.web.wish import Beginning, DesignWish

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing

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
_SIZES = {Beginning.WORD: "letter_height"}


def mended_wish(
    wish: DesignWish, *, refuse: Collection[str] = (), drawings: Mapping[str, Drawing] | None = None
) -> dict[str, Any]:
    """Return the wish with its remedy, and what was changed, as JSON.

    Raises
    ------
    MoldgenError
        If it cannot be made as it stands.
    """
    done = mend(wish.job(), refuse=tuple(refuse), drawings=drawings)
    values = {**wish.values}
    for change in done.changes:
        values[control_of(wish.beginning, change.field, change.feature)] = change.after
    return {
        "wish": replace(wish, values=values).words,
        "changes": [change.text for change in done.changes],
        "left": [str(finding) for finding in done.after if finding.severity != "note"],
    }


def control_of(beginning: Beginning, remedy: Remedy, feature: str) -> str:
    """Return the word of the control that a remedy turns, for a design that began so."""
    if remedy in _WORDS:
        return _WORDS[remedy]
    if remedy is Remedy.SIZE:
        return _SIZES.get(beginning, "width")
    if beginning is Beginning.WORD:
        return "plaque_height" if feature == "plaque" else "relief"
    return "depth" if beginning is Beginning.TRAY else "height"
