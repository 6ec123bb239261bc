"""Filaments: what the mold is printed from, and what heat and load it stands."""

from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.entry import Entry, Family, Structure


def _temperature(about: str) -> Quantity:
    return Quantity("°C", about, at_least=0, at_most=400)


def _stress(about: str) -> Quantity:
    return Quantity("MPa", about, above=0, at_most=500)


@dataclass(frozen=True, slots=True, kw_only=True)
class Filament(Entry):
    """A printing filament.

    An amorphous filament gives way at ``softens_degC``; a crystalline one keeps its shape above
    it, up to ``deflection_degC``. What stiffness is left above the glass transition is
    ``rubbery_MPa``: about a thousandth if amorphous, a quarter if crystalline.

    Raises
    ------
    SpecError
        If a value is out of range, or a print is stiffer above the glass transition than below.
    """

    structure: Annotated[Structure, Meaning("amorphous or crystalline, as printed")]
    family: Family = ""
    softens_degC: Annotated[float, _temperature("glass transition")]
    deflection_degC: Annotated[float, _temperature("heat deflection at 0.455 MPa")]
    service_degC: Annotated[float, _temperature("advised limit when used all day")]
    conductivity_W_mK: Annotated[
        float, Quantity("W/(m·K)", "thermal conductivity, solid", at_least=0.01, at_most=20)
    ]
    specific_heat_J_kgK: Annotated[
        float, Quantity("J/(kg·K)", "specific heat", at_least=100, at_most=10000)
    ]
    density_kg_m3: Annotated[float, Quantity("kg/m³", "density, solid", at_least=100, at_most=8000)]
    modulus_MPa: Annotated[
        float, Quantity("MPa", "elastic modulus along the layers", above=0, at_most=50000)
    ]
    rubbery_MPa: Annotated[
        float | None,
        Quantity("MPa", "elastic modulus above the glass transition", above=0, at_most=2000),
    ] = None
    strength_MPa: Annotated[float, _stress("tensile strength along the layers")]
    strength_across_layers_MPa: Annotated[float, _stress("tensile strength across the layers")]

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        if self.rubbery_MPa is not None and self.rubbery_MPa >= self.modulus_MPa:
            raise SpecError(
                "rubbery_MPa",
                f"less than modulus_MPa, {self.modulus_MPa:g} MPa",
                f"{self.rubbery_MPa:g} MPa",
                "It is the modulus above the glass transition, in MPa.",
            )

    @property
    def stands_degC(self) -> float:
        """What a print stands: softening, or deflection if crystalline. [°C]."""
        crystalline = self.structure is Structure.CRYSTALLINE
        return self.deflection_degC if crystalline else self.softens_degC
