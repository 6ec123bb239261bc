"""What a printed filament may bear: along and across its layers, cold and warm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.stock import Filament

ROOM_degC = 23.0
"""Where strength and modulus of the data are measured. [°C]."""

COLD_SAFETY = 3.0
WARM_SAFETY = 5.0
"""Strength over allowed stress, cold and at the filament's service limit: common practice (a third
for short pulls, a quarter to a fifth when warm), no source. [-]."""

DEFLECTION_MODULUS_MPa = 240.0
"""Modulus at the heat deflection temperature, derived from its definition: a bar 12.7 mm high on a
span of 100 mm (ASTM D648, from memory) bent by 0.25 mm, a strain of 0.0019, under 0.455 MPa."""

STRENGTH_BASIS = (
    "strength of the filament's data over 3 cold and 5 at its service limit, common practice, no "
    "source; nothing at its heat deflection temperature; straight lines between"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowedStress:
    """What a print may bear at one temperature.

    Attributes
    ----------
    along_MPa, across_MPa : float
        Stress along the layers, and pulling them apart. [MPa]
    modulus_MPa : float
        Elastic modulus. [MPa]
    mold_degC : float
        The temperature. [°C]
    """

    along_MPa: float
    across_MPa: float
    modulus_MPa: float
    mold_degC: float


def allowed_at(filament: Filament, mold_degC: float) -> AllowedStress:
    """Return what a print of a filament may bear at a temperature.

    Stress falls on straight lines from a third of the strength at 23 °C to a fifth at the service
    limit and to nothing at the heat deflection temperature; the modulus on one line from its
    value to the one that defines the heat deflection temperature.

    Parameters
    ----------
    filament : Filament
        Strengths, modulus and temperatures.
    mold_degC : float
        How warm the print is where it bears. [°C]
    """
    service = max(filament.service_degC, ROOM_degC + 1)
    gives_way = max(filament.deflection_degC, service + 1)
    share = float(
        np.interp(
            mold_degC, [ROOM_degC, service, gives_way], [1 / COLD_SAFETY, 1 / WARM_SAFETY, 0.0]
        )
    )
    modulus = float(
        np.interp(
            mold_degC,
            [ROOM_degC, gives_way],
            [filament.modulus_MPa, min(filament.modulus_MPa, DEFLECTION_MODULUS_MPa)],
        )
    )
    return AllowedStress(
        along_MPa=share * filament.strength_MPa,
        across_MPa=share * filament.strength_across_layers_MPa,
        modulus_MPa=modulus,
        mold_degC=mold_degC,
    )
