"""Drawings that keep many small ones as symbols and show none of them."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from moldgen.errors import OutlineError
from moldgen.outline.svg.tree import local_name, target_id
from moldgen.wording import shown

_NAMED = 12
"""Symbols that are told by name."""


def shown_of(root: Element, part: str | None) -> Element:
    """Return what is drawn: the root, or the symbol that is asked for and that nothing uses."""
    kept = _kept(root) if part is not None else {}
    return kept.get(part or "", root)


def refuse_sprite(what: str, root: Element) -> None:
    """Refuse a drawing that shows nothing, if it keeps symbols: name them.

    Raises
    ------
    OutlineError
        If it has symbols that nothing uses.
    """
    names = list(_kept(root))
    if not names:
        return
    told = ", ".join(shown(name) for name in names[:_NAMED])
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    raise OutlineError(
        f"{what} shows none of its symbols: {told}{more}; choose one with --part, or part in a "
        "job file."
    )


def _kept(root: Element) -> dict[str, Element]:
    """Return by id the symbols that nothing uses."""
    elements = list(root.iter())
    used = {target_id(one) for one in elements if local_name(one) == "use"}
    named = ((one.get("id", ""), one) for one in elements if local_name(one) == "symbol")
    return {name: one for name, one in named if name and name not in used}
