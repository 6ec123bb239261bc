"""Forming machines: the forming table with its clamp, its holes, its vacuum and its heater."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.entry import Entry


class HeaterKind(StrEnum):
    """What glows above the sheet."""

    COIL = "coil"
    """Bare or sheathed wire."""
    CERAMIC = "ceramic"
    """Ceramic elements: slow, even."""
    QUARTZ = "quartz"
    """Quartz tubes: quick to heat."""
    OVEN = "oven"
    """Hot air all round."""


def _length(about: str) -> Quantity:
    return Quantity("mm", about, above=0, at_most=5000)


@dataclass(frozen=True, slots=True, kw_only=True)
class FormingMachine(Entry):
    """A forming table.

    Width is along x, depth along y, seen from above by the person who clamps the sheet.

    Raises
    ------
    SpecError
        If a value is out of range, the sheet does not cover the opening and the clamp all round,
        the table's holes run into each other, or the heater has a number of sides
        other than 1 or 2.
    """

    table_width_mm: Annotated[float, _length("table, left to right")]
    table_depth_mm: Annotated[float, _length("table, front to back")]
    opening_width_mm: Annotated[float, _length("clear opening of the clamp, left to right")]
    opening_depth_mm: Annotated[float, _length("clear opening of the clamp, front to back")]
    clamp_margin_mm: Annotated[
        float, Quantity("mm", "sheet held by the clamp on each side", at_least=0, at_most=500)
    ]
    sheet_width_mm: Annotated[float, _length("sheet that is clamped, left to right")]
    sheet_depth_mm: Annotated[float, _length("sheet that is clamped, front to back")]
    tallest_mm: Annotated[float, _length("greatest mold height")]
    hole_pitch_mm: Annotated[
        float,
        Quantity("mm", "table holes, center to center, square grid", at_least=2, at_most=5000),
    ]
    hole_diameter_mm: Annotated[float, _length("table holes, diameter")]
    vacuum_kPa: Annotated[
        float, Quantity("kPa", "vacuum reached, below the atmosphere", above=0, at_most=101.325)
    ]
    tank_L: Annotated[
        float | None, Quantity("L", "vacuum tank; none if the pump draws directly", above=0)
    ] = None
    pump_L_min: Annotated[
        float, Quantity("L/min", "free air the pump moves", above=0, at_most=100000)
    ]
    heater_kind: Annotated[HeaterKind, Meaning("coil, ceramic, quartz or oven")]
    heater_degC: Annotated[
        float,
        Quantity("°C", "heater, effective as one even plane", at_least=50, at_most=1500),
    ]
    heater_width_mm: Annotated[float, _length("heater, left to right")]
    heater_depth_mm: Annotated[float, _length("heater, front to back")]
    heater_distance_mm: Annotated[float, _length("heater to sheet")]
    heater_sides: Annotated[
        int, Quantity("", "faces of the sheet that are heated", at_least=1, at_most=2)
    ]
    wall_reflection: Annotated[
        float,
        Quantity(
            "",
            "reflection of walls from heater to clamp, 0 if there are none",
            at_least=0,
            at_most=1,
        ),
    ] = 0.0
    heater_share: Annotated[
        float,
        Quantity("", "heat that arrives, over what is computed; timed", above=0, at_most=10),
    ] = 1.0

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        for way in ("width", "depth"):
            _check_sheet(self, way)
        if self.hole_diameter_mm >= self.hole_pitch_mm:
            raise SpecError(
                "hole_diameter_mm",
                f"less than hole_pitch_mm, {self.hole_pitch_mm:g} mm",
                f"{self.hole_diameter_mm:g} mm",
                "Measure the pitch from center to center.",
            )


def _check_sheet(machine: FormingMachine, way: str) -> None:
    sheet = getattr(machine, f"sheet_{way}_mm")
    needed = getattr(machine, f"opening_{way}_mm") + 2 * machine.clamp_margin_mm
    if sheet < needed - 1e-9:
        raise SpecError(
            f"sheet_{way}_mm",
            f"at least the opening and the clamp margin on both sides, {needed:g} mm",
            f"{sheet:g} mm",
            "A sheet that leaves a gap lets the air in; give the larger sheet.",
        )
