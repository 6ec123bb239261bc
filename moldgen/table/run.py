"""A run: cycle after cycle with the same sheet, and how hot it meets the mold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.plastic import Sheet
from moldgen.table.surroundings import ROOM_degC
from moldgen.table.transfer import TRANSFER_s, arrival_degC

HANDLING_s = 20.0
"""Taking the part off and clamping the next sheet; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run(Spec):
    """Cycle after cycle with the same sheet.

    Attributes
    ----------
    leaves_degC : float or None
        Its usual forming temperature if left out. [°C]
    allowed_mm : float or None
        How deep the mold may soften; what `moldgen.table.sinking` allows if left out.
    """

    sheet: Annotated[Sheet, Meaning("what is formed")]
    heat_s: Annotated[
        float, Quantity("s", "time to heat a sheet, while the mold cools", at_least=0, at_most=3600)
    ]
    thickness_ratio: Annotated[
        float, Quantity("", "local thickness over gauge", above=0, at_most=1.5)
    ] = 1.0
    handling_s: Annotated[
        float, Quantity("s", "taking off and clamping", at_least=0, at_most=3600)
    ] = HANDLING_s
    leaves_degC: Annotated[
        float | None,
        Quantity("°C", "the sheet as it leaves the heater, on average", at_least=-20, at_most=400),
    ] = None
    transfer_s: Annotated[
        float, Quantity("s", "from the heater to the mold", at_least=0, at_most=30)
    ] = TRANSFER_s
    vacuum_kPa: Annotated[
        float, Quantity("kPa", "vacuum that presses on the mold", above=0, at_most=102)
    ] = 68.0
    room_degC: Annotated[float, Quantity("°C", "room", at_least=-20, at_most=60)] = ROOM_degC
    fan: Annotated[bool, Meaning("a light fan blows on part and mold")] = False
    allowed_mm: Annotated[
        float | None, Quantity("mm", "depth that may soften", above=0, at_most=50)
    ] = None

    @property
    def arrival_degC(self) -> float:
        """The sheet's as it meets the mold. [°C]."""
        return arrival_degC(
            self.sheet,
            leaves_degC=self.leaves_degC,
            transfer_s=self.transfer_s,
            room_degC=self.room_degC,
        )
