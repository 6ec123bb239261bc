"""What can be typed after the heat command."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.file_value import read_number
from moldgen.job.formats import REPORT_FORMATS, ReportFormats, check_formats
from moldgen.job.spec import FilamentName, Gauge, MachineName, Plastic, ReadUnits, StockFile
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.infill import USUAL_INFILL
from moldgen.units_text import Units
from moldgen.wording import shown

_NUMBER = r"(?:\d+\s+|\d+-)?\d+/\d+|\d*,\d+|\d+\.?\d*|\.\d+"
_SEEN = re.compile(
    rf"(?P<plastic>.*\S)\s+(?P<gauge>(?:{_NUMBER})\s*(?:[a-z]+|\"|″|”)?)"
    rf"\s+(?P<time>(?:{_NUMBER})\s*(?:s|sec|min)?)",
    re.IGNORECASE,
)
_GAUGE = Quantity("mm", "thickness", at_least=0.1, at_most=12)
_SECONDS = Quantity("s", "time until right", above=0, at_most=3600)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatCommand(Spec):
    """What the heat command can say."""

    plastic: Plastic
    gauge_mm: Gauge = 1.5
    machine: MachineName = "classroom-450x300"
    filament: FilamentName = "PETG"
    cycles: Annotated[
        float, Quantity("", "cycles that are wanted of the mold", at_least=1, at_most=200)
    ] = 30
    seen: Annotated[
        tuple[str, ...],
        Meaning(
            'a sheet and how long it took, "HIPS 0.75mm 30s", for this answer alone; may be '
            "repeated; log add keeps times for all"
        ),
    ] = ()
    fan: Annotated[bool, Meaning("a light fan blows over the sheet while it is heated")] = False
    clear_depth_mm: Annotated[
        float,
        Quantity(
            "mm", "depth in which a clear sheet takes up 63 % of the heat", at_least=0, at_most=50
        ),
    ] = 0.0
    thinnest: Annotated[
        float,
        Quantity("", "formed part where it is thinnest, over the gauge", above=0, at_most=1),
    ] = 0.5
    height_mm: Annotated[
        float, Quantity("mm", "height of the mold under the sheet", at_least=1, at_most=500)
    ] = 20.0
    skin_mm: Annotated[
        float, Quantity("mm", "solid skin of the printed mold", at_least=0.2, at_most=50)
    ] = 1.2
    infill: Annotated[
        float, Quantity("", "share of the filling that is plastic", above=0, at_most=1)
    ] = USUAL_INFILL
    units: ReadUnits = Units.MM
    stock: StockFile = ""
    formats: ReportFormats = REPORT_FORMATS

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_formats(self.formats, REPORT_FORMATS)
        if self.cycles != int(self.cycles):
            raise SpecError(
                "cycles", "a whole number", f"{self.cycles:g}", "Leave out the fraction."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenCommand:
    """A sheet by name, and how long it took to be right."""

    plastic: str
    gauge_mm: float
    seconds: float


def seen_from(place: str, words: str) -> SeenCommand:
    """Return what was observed, from words such as ``HIPS 0.75mm 30s``.

    Parameters
    ----------
    place : str
        What errors call it.
    words : str
        Plastic, gauge and time, in this order.

    Raises
    ------
    SpecError
        If they are not all there, or out of range.

    Examples
    --------
    >>> seen_from("seen 1", "PVC rigid 1/16 in 1.5 min")
    SeenCommand(plastic='PVC rigid', gauge_mm=1.5875, seconds=90.0)
    """
    match = _SEEN.fullmatch(words.strip()) if len(words) <= 200 else None
    if match is None:
        rule = 'plastic, gauge and time, such as "HIPS 0.75mm 30s"'
        raise SpecError(place, rule, shown(words), "Put all three in quotes.")
    return SeenCommand(
        plastic=match["plastic"],
        gauge_mm=read_number(f"{place}, gauge", match["gauge"], _GAUGE),
        seconds=read_number(f"{place}, time", match["time"], _SECONDS),
    )
