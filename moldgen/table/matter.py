"""The thermal properties of a plastic as the heat equations take them."""

from __future__ import annotations

from moldgen.physics.heat.heating import Matter
from moldgen.stock.plastic import Plastic


def matter_of(plastic: Plastic) -> Matter:
    """Return a plastic as a conductor of heat, with its hot specific heat and its melting."""
    return Matter(
        conductivity_W_mK=plastic.conductivity_W_mK,
        density_kg_m3=plastic.density_kg_m3,
        heat_J_kgK=plastic.specific_heat_J_kgK,
        hot_J_kgK=plastic.specific_heat_hot_J_kgK,
        changes_degC=plastic.glass_degC if plastic.melting_degC is None else plastic.melting_degC,
        melting_J_kg=plastic.melting_kJ_kg * 1000,
    )
