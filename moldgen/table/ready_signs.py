"""What a person sees when a sheet is ready to form, and when it is too hot."""

from __future__ import annotations

from moldgen.stock import Plastic

STICK = "Dent it with a wooden stick, never with a finger."
"""How the hot sheet is tried; said with every sign of readiness, whoever wrote the sign."""

_NO_SOURCE = "common practice, no source"


def ready_row(plastic: Plastic) -> str:
    """Return when a sheet is ready, as a row of a table."""
    return f"{plastic.ready} ({STICK[0].lower()}{STICK[1:].rstrip('.')})"


def ready_text(plastic: Plastic) -> str:
    """Return when a sheet is ready and when it is too hot, in sentences with their source."""
    return (
        f"It is ready when {plastic.ready}. {STICK} Too hot when {plastic.too_hot} "
        f"({_basis(plastic)})."
    )


def _basis(plastic: Plastic) -> str:
    """Return where the signs come from: of the stock that comes along, from no source."""
    source = plastic.sources.get("ready", "")
    return source if source and not source.endswith("(common practice)") else _NO_SOURCE
