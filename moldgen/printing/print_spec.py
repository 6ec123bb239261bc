"""What a person sets before slicing: walls, skins, infill, speeds; and the line that they lay."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Annotated

from moldgen.quantity import Quantity, Spec
from moldgen.stock import Printer
from moldgen.stock.infill import USUAL_INFILL

LINE_SHARE = 1.1
"""Width of a printed line over the nozzle's bore (common practice, no source). [-]."""
_BRIDGE_GAP_MM = 0.05
"""Between threads laid over air, over their diameter (common practice, no source). [mm]."""


def _speed(about: str) -> Quantity:
    return Quantity("mm/s", about, above=0, at_most=1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintSpec(Spec):
    """How a solid is filled and how fast it is laid."""

    walls: Annotated[int, Quantity("", "lines along every outline", at_least=1, at_most=20)] = 3
    skins: Annotated[
        int, Quantity("", "top and bottom layers, of each", at_least=0, at_most=50)
    ] = 6
    infill: Annotated[
        float, Quantity("", "share of plastic between walls and skins", at_least=0, at_most=1)
    ] = USUAL_INFILL
    least_infill_mm2: Annotated[
        float, Quantity("mm²", "a smaller patch of infill is laid solid", at_least=0, at_most=1e6)
    ] = 70.0
    wall_mm_s: Annotated[float, _speed("speed along walls")] = 45.0
    fill_mm_s: Annotated[float, _speed("speed in skins and infill")] = 70.0
    bridge_mm_s: Annotated[float, _speed("speed over air and over infill")] = 45.0
    first_mm_s: Annotated[float, _speed("speed in the first layer")] = 25.0
    retract_s: Annotated[
        float, Quantity("s", "to pull the filament back and return it", at_least=0, at_most=60)
    ] = 0.09
    least_layer_s: Annotated[
        float, Quantity("s", "a layer is slowed until it takes so long", at_least=0, at_most=600)
    ] = 5.0
    filament_mm: Annotated[
        float, Quantity("mm", "diameter of the filament", at_least=0.5, at_most=5)
    ] = 1.75


USUAL = PrintSpec()
"""Three walls, six skins, a fifth of infill: as the pipeline slices a mold of 0.2 mm layers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintLine:
    """The printed line: a strip with rounded edges, side by side with the next.

    Attributes
    ----------
    width_mm, layer_mm, nozzle_mm : float
        Width and height of the line, bore of the nozzle. [mm]
    """

    width_mm: float
    layer_mm: float
    nozzle_mm: float

    @property
    def spacing_mm(self) -> float:
        """From line to line where they fill a layer: rounded edges overlap. [mm]."""
        return self.width_mm - self.layer_mm * (1 - pi / 4)

    @property
    def bridge_spacing_mm(self) -> float:
        """From thread to thread of a bridge. [mm]."""
        return self.nozzle_mm + _BRIDGE_GAP_MM

    @property
    def bridge_mm(self) -> float:
        """Plastic of a bridge, spread level: round threads as thick as the bore. [mm]."""
        return pi / 4 * self.nozzle_mm**2 / self.bridge_spacing_mm

    def infill_spacing_mm(self, share: float) -> float:
        """Return from line to line of one of infill's two directions. [mm]."""
        return 2 * self.spacing_mm / share

    def inset_mm(self, walls: int) -> float:
        """Return how far inside an outline the fill begins: it laps over the walls. [mm]."""
        return self.width_mm / 4 + (walls - 0.5) * self.spacing_mm


def line_of(printer: Printer) -> PrintLine:
    """Return the line that a printer lays."""
    return PrintLine(
        width_mm=LINE_SHARE * printer.nozzle_mm,
        layer_mm=printer.layer_mm,
        nozzle_mm=printer.nozzle_mm,
    )
