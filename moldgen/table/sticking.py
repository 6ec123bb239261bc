"""Whether hot sheet sticks to the mold: two of one polymer weld where both are hot."""

from __future__ import annotations

from moldgen.stock import Filament, Plastic

RELEASE_AGENT = "talc or a dried film of washing-up liquid"
"""What keeps sheet and mold apart; no silicone, which keeps paint and glue off the part."""


def sticks(plastic: Plastic, filament: Filament) -> bool:
    """Return whether a hot sheet may weld to a mold: both are of one polymer.

    Parameters
    ----------
    plastic : Plastic
        Of the sheet.
    filament : Filament
        Of the mold. Where one of the two does not say its family, their names are compared.
    """
    if plastic.family and filament.family:
        return plastic.family.casefold() == filament.family.casefold()
    return _name(plastic).casefold() == _name(filament).casefold()


def sticking_text(plastic: Plastic, filament: Filament) -> str:
    """Return what to do so that the sheet does not stick to the mold; empty if it does not."""
    if not sticks(plastic, filament):
        return ""
    return (
        f"hot {plastic.name} welds to a warm mold of {filament.name}: put {RELEASE_AGENT} on the "
        "mold before each cycle, or print it from another filament (common practice, no source)"
    )


def _name(entry: Plastic | Filament) -> str:
    return entry.based_on or entry.name
