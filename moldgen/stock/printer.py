"""Printers: how large a mold they make, and how fine."""

from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Quantity, Spec
from moldgen.stock.entry import Entry, check_rising


def _bed(about: str) -> Quantity:
    return Quantity("mm", about, at_least=20, at_most=5000)


def _fine(about: str) -> Quantity:
    return Quantity("mm", about, above=0, at_most=20)


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer(Entry):
    """A filament printer.

    Raises
    ------
    SpecError
        If a value is out of range, the layer is as thick as the nozzle is wide, or
        the least wall is thinner than one line.
    """

    bed_width_mm: Annotated[float, _bed("build volume, left to right")]
    bed_depth_mm: Annotated[float, _bed("build volume, front to back")]
    bed_height_mm: Annotated[float, _bed("build volume, height")]
    nozzle_mm: Annotated[float, Quantity("mm", "nozzle bore", at_least=0.1, at_most=3)]
    layer_mm: Annotated[float, Quantity("mm", "layer height", at_least=0.02, at_most=2)]
    least_wall_mm: Annotated[float, _fine("thinnest wall that prints")]
    least_hole_mm: Annotated[float, _fine("smallest upright hole that stays open, as drawn")]
    least_slit_mm: Annotated[float, _fine("narrowest upright slit that stays open, as drawn")] = 0.4
    clean_bridge_mm: Annotated[
        float, Quantity("mm", "widest gap bridged without sagging", at_least=0, at_most=200)
    ]
    tolerance_mm: Annotated[float, _fine("a size may come out this much larger or smaller")]
    hole_undersize_mm: Annotated[
        float, Quantity("mm", "a hole comes out smaller by this", at_least=0, at_most=2)
    ]
    acceleration_mm_s2: Annotated[
        float, Quantity("mm/s²", "how fast the head gains speed", at_least=10, at_most=100_000)
    ] = 1000.0
    corner_mm_s: Annotated[
        float, Quantity("mm/s", "change of speed at a corner without braking", above=0, at_most=100)
    ] = 8.0
    travel_mm_s: Annotated[
        float, Quantity("mm/s", "speed of moves that lay nothing", above=0, at_most=2000)
    ] = 150.0

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_rising(self, "nozzle_mm", "least_wall_mm", unit="mm")
        if self.layer_mm >= self.nozzle_mm:
            raise SpecError(
                "layer_mm",
                f"less than nozzle_mm, {self.nozzle_mm:g} mm",
                f"{self.layer_mm:g} mm",
                "Half the nozzle is usual.",
            )
