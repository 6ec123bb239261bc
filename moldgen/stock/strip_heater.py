"""Strip heaters: the hot line over which a strip is softened to be bent."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.entry import Entry

SOFT_SHARE, SOFT_SHARE_BAND = 0.75, (0.65, 0.85)
"""Share of the heated band over which a strip goes soft, and its band: at the edges it is cooler.
Derived: two-dimensional conduction under a rod, 2 to 4 mm acrylic, soft from 20 K above the glass
transition on."""


class ElementKind(StrEnum):
    """What is hot under the strip."""

    WIRE = "wire"
    """Bare wire under tension: narrow band."""
    TUBE = "tube"
    """Sheathed or quartz tube: wider band, slower to warm up."""
    BAR = "bar"
    """Metal bar the strip lies on: heats by contact."""


def _length(about: str) -> Quantity:
    return Quantity("mm", about, above=0, at_most=5000)


@dataclass(frozen=True, slots=True, kw_only=True)
class StripHeater(Entry):
    """A strip heater.

    The bend line lies along the element; the bed is long that way and deep across it.

    Raises
    ------
    SpecError
        If a value is out of range, a bar has a gap or anything else has none, or the band is
        wider than the bed is deep.
    """

    element: Annotated[ElementKind, Meaning("wire, tube or bar")]
    element_degC: Annotated[
        float, Quantity("°C", "temperature of the element in use", at_least=50, at_most=1200)
    ]
    element_width_mm: Annotated[float, _length("element, diameter or width across the bend line")]
    sides: Annotated[
        int, Quantity("", "faces of the strip heated at a time", at_least=1, at_most=2)
    ] = 1
    gap_mm: Annotated[
        float,
        Quantity("mm", "middle of the element to strip; 0 for a bar", at_least=0, at_most=100),
    ]
    band_mm: Annotated[
        float, _length("width of the strip that is heated: the open slot over the element")
    ]
    bed_length_mm: Annotated[float, _length("bed, along the bend line")]
    bed_depth_mm: Annotated[float, _length("bed, across the bend line, both sides together")]
    least_leg_mm: Annotated[float, _length("shortest leg the bed holds, from the bend line")]
    power_W: Annotated[float, Quantity("W", "electric power", above=0, at_most=20000)]

    @property
    def soft_mm(self) -> float:
        """How wide a strip goes soft. [mm]."""
        return SOFT_SHARE * self.band_mm

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        if (self.element is ElementKind.BAR) != (self.gap_mm == 0):
            raise SpecError(
                "gap_mm",
                "0 for a bar and more for a wire or tube",
                f"{self.gap_mm:g} mm for a {self.element}",
                "Measure from the middle of the element to the strip.",
            )
        if self.element is not ElementKind.BAR and self.gap_mm <= self.element_width_mm / 2:
            raise SpecError(
                "gap_mm",
                f"more than half the element, {self.element_width_mm / 2:g} mm",
                f"{self.gap_mm:g} mm",
                "Measure from the middle of the element to the strip.",
            )
        if self.band_mm > self.bed_depth_mm:
            raise SpecError(
                "band_mm",
                f"at most the depth of the bed, {self.bed_depth_mm:g} mm",
                f"{self.band_mm:g} mm",
                "Measure the open slot over the element.",
            )
