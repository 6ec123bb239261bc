"""Sheet plastics: what is clamped over the mold, and the sheet in hand."""

from dataclasses import dataclass
from typing import Annotated

from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.entry import Entry, Family, Structure, check_rising
from moldgen.wording import gauge_text


def _temperature(about: str) -> Quantity:
    return Quantity("°C", about, at_least=-200, at_most=400)


def _shrinkage(about: str) -> Quantity:
    # Six parts in a hundred is twice the most that any sheet plastic shrinks: a larger number is
    # a percentage written as a ratio.
    return Quantity("", about, at_least=0, at_most=0.06)


def _heat(about: str) -> Quantity:
    return Quantity("J/(kg·K)", about, at_least=100, at_most=10000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plastic(Entry):
    """A sheet plastic: when it forms, how it shrinks, how far it draws.

    The draw limits and drafts are rules, thresholds of warnings; ``sources`` says whose.

    Raises
    ------
    SpecError
        If a value is out of range, or the temperatures do not rise from set to upper limit.
    """

    structure: Annotated[Structure, Meaning("amorphous or crystalline")]
    family: Family = ""
    caution: Annotated[str, Meaning("what to look out for when it is heated")] = ""
    ready: Annotated[str, Meaning("what shows that the sheet is ready to form")] = (
        "it sags evenly and is as soft as rubber all over"
    )
    too_hot: Annotated[str, Meaning("what shows that the sheet is too hot, or wet")] = (
        "it bubbles, blisters or smokes"
    )
    set_degC: Annotated[float, _temperature("stiff enough to leave the mold")]
    forming_low_degC: Annotated[float, _temperature("coldest sheet that still forms")]
    forming_degC: Annotated[float, _temperature("usual core temperature when formed")]
    forming_high_degC: Annotated[float, _temperature("hottest the sheet may get")]
    brief_over_K: Annotated[
        float,
        Quantity("K", "how far a face may pass that for a short time", at_least=0, at_most=60),
    ] = 0.0
    brief_s: Annotated[
        float, Quantity("s", "how long a face may be past it", at_least=0, at_most=600)
    ] = 0.0
    glass_degC: Annotated[float, _temperature("glass transition")]
    melting_degC: Annotated[
        float | None, _temperature("crystal melting point; none if amorphous")
    ] = None
    shrinkage_male: Annotated[float, _shrinkage("mold to cold part, over a male mold")]
    shrinkage_female: Annotated[float, _shrinkage("mold to cold part, in a female mold")]
    density_kg_m3: Annotated[float, Quantity("kg/m³", "density, cold", at_least=100, at_most=3000)]
    conductivity_W_mK: Annotated[
        float, Quantity("W/(m·K)", "thermal conductivity", at_least=0.01, at_most=5)
    ]
    specific_heat_J_kgK: Annotated[float, _heat("specific heat, cold")]
    specific_heat_hot_J_kgK: Annotated[float, _heat("specific heat near forming")]
    emissivity: Annotated[float, Quantity("", "emissivity of a face", above=0, at_most=1)] = 0.9
    melting_kJ_kg: Annotated[
        float, Quantity("kJ/kg", "heat taken by melting crystals", at_least=0, at_most=400)
    ] = 0.0
    modulus_MPa: Annotated[
        float | None, Quantity("MPa", "elastic modulus, cold", above=0, at_most=20000)
    ] = None
    hot_modulus_kPa: Annotated[
        float, Quantity("kPa", "shear modulus of the sheet when formed", above=0, at_most=20000)
    ] = 300.0
    relaxation_s: Annotated[
        float | None,
        Quantity("s", "mean time in which the stress of the hot sheet relaxes", above=0),
    ] = None
    areal_draw_limit: Annotated[
        float, Quantity("", "most formed area per area of sheet", at_least=1, at_most=20)
    ]
    linear_draw_limit: Annotated[
        float, Quantity("", "most formed length per length of sheet", at_least=1, at_most=20)
    ]
    height_to_width_limit: Annotated[
        float, Quantity("", "most depth per opening, without a plug", above=0, at_most=5)
    ]
    draft_male_deg: Annotated[
        float, Quantity("°", "least draft of a wall the part shrinks onto", at_least=0, at_most=30)
    ]
    draft_female_deg: Annotated[
        float, Quantity("°", "least draft of a wall the part shrinks off", at_least=0, at_most=30)
    ]

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_rising(
            self, "set_degC", "forming_low_degC", "forming_degC", "forming_high_degC", unit="°C"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet(Spec):
    """The sheet in hand: a plastic and how thick it is."""

    plastic: Annotated[Plastic, Meaning("what the sheet is made of")]
    gauge_mm: Annotated[float, Quantity("mm", "thickness before forming", at_least=0.1, at_most=12)]

    @property
    def words(self) -> str:
        """Plastic and gauge as they are told: ``HIPS 1.5 mm``."""
        return f"{self.plastic.name} {gauge_text(self.gauge_mm)}"

    @property
    def mass_kg_m2(self) -> float:
        """Mass of a square meter, for weighing a sheet of doubtful gauge."""
        return self.plastic.density_kg_m3 * self.gauge_mm / 1000
