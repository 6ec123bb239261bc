"""Facing: what a jig must stand where the soft strip touches it, and what to put in between."""

from __future__ import annotations

from moldgen.finding import Finding, Severity
from moldgen.physics.heat.conduction import contact_degC, effusivity
from moldgen.stock import Filament, Plastic

ROOM_DEGC = 25.0
MARGIN_K = 10.0
"""What a jig warms up from one strip to the next; common practice, no source. [K]."""
_BASIS = (
    "contact of two thick bodies, (e1 T1 + e2 T2) / (e1 + e2); Carslaw and Jaeger (from memory)"
)


def face_degC(plastic: Plastic, filament: Filament, *, bend_degC: float | None = None) -> float:
    """Return how warm the face of a jig gets when the soft strip is pressed on it.

    Parameters
    ----------
    bend_degC : float, optional
        Temperature of the strip; left out, the plastic's usual forming temperature. [°C]
    """
    hot = effusivity(
        plastic.conductivity_W_mK, plastic.density_kg_m3, plastic.specific_heat_hot_J_kgK
    )
    cold = effusivity(
        filament.conductivity_W_mK, filament.density_kg_m3, filament.specific_heat_J_kgK
    )
    strip = plastic.forming_degC if bend_degC is None else bend_degC
    return contact_degC(strip, hot, ROOM_DEGC, cold)


def check_filament(
    plastic: Plastic,
    filament: Filament,
    *,
    facing_mm: float = 0.0,
    bend_degC: float | None = None,
) -> tuple[Finding, ...]:
    """Return whether a filament stands the soft strip, and what to do if it does not."""
    warm = face_degC(plastic, filament, bend_degC=bend_degC) + MARGIN_K
    limit = filament.stands_degC
    if facing_mm > 0:
        return (
            Finding(
                code="jig-faced",
                severity=Severity.NOTE,
                says="the hot faces are set back for a facing",
                measured=facing_mm,
                unit="mm",
                basis="geometry of the jig",
                advice="Glue on plywood or sheet metal of this thickness before first use.",
            ),
        )
    if warm <= limit:
        return ()
    return (
        Finding(
            code="jig-too-hot",
            severity=Severity.CAUTION,
            says=f"a jig of {filament.name} softens where the hot strip touches it",
            measured=warm,
            limit=limit,
            unit="°C",
            basis=_BASIS,
            advice=(
                "Print it in a filament that stands more, or ask for a facing of 3 mm plywood or "
                "1 mm metal."
            ),
        ),
    )
