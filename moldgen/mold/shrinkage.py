"""How much larger than its part a mold is made, for what the plastic shrinks."""

from __future__ import annotations

from moldgen.finding import Finding, Severity
from moldgen.stock import Plastic


def shrinkage_growth(plastic: Plastic, *, female: bool) -> tuple[float, Finding]:
    """Return the factor from part to mold, and the finding that tells of it.

    Parameters
    ----------
    plastic : Plastic
        What the sheet is made of.
    female : bool
        Whether the sheet is drawn into the mold, off whose walls it shrinks.

    Returns
    -------
    float, Finding
        One over one less the shrinkage. [-]
    """
    field = "shrinkage_female" if female else "shrinkage_male"
    share = plastic.shrinkage_female if female else plastic.shrinkage_male
    finding = Finding(
        code="shrinkage-added",
        severity=Severity.NOTE,
        says=f"the mold is larger than the part by the shrinkage of {plastic.name}",
        measured=100 * share,
        unit="%",
        basis=f"mold = part / (1 - shrinkage); {plastic.sources.get(field, '')}",
        advice="Measure a first part and correct the plastic's entry.",
    )
    return 1 / (1 - share), finding
