"""What can be typed after the chart command: sheets and a table, for a chart on the wall."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.file_value import read_number
from moldgen.job.formats import CHART_FORMATS, ChartFormats, check_formats
from moldgen.job.spec import FilamentName, MachineName, Paper, PlanPaper, ReadUnits, StockFile
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.units_text import Units
from moldgen.wording import fold, shown

MOST_PLASTICS, MOST_GAUGES = 5, 5
"""As many as one page holds in figures that are read from 2 m."""
_NUMBER = r"(?:\d+\s+|\d+-)?\d+/\d+|\d*,\d+|\d+\.?\d*|\.\d+"
_SHEET = re.compile(rf"(?P<plastic>.*\S)\s+(?P<gauge>(?:{_NUMBER})\s*(?:[a-z]+|\"|″|”)?)", re.I)
_PARTED = re.compile(r"\s*;\s*|\s*,\s+")
_GAUGE = Quantity("mm", "thickness", at_least=0.1, at_most=12)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartCommand(Spec):
    """What the chart command can say."""

    sheets: Annotated[
        tuple[str, ...],
        Meaning(
            'sheets on the chart, "HIPS 1; HIPS 1.5; PETG 1 mm"; may be repeated; the usual '
            "plastics and thicknesses if left out"
        ),
    ] = ()
    machine: MachineName = "classroom-450x300"
    filament: FilamentName = "PETG"
    paper: PlanPaper = Paper.A4
    units: ReadUnits = Units.MM
    stock: StockFile = ""
    formats: ChartFormats = CHART_FORMATS

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_formats(self.formats, CHART_FORMATS)
        self.named  # noqa: B018 -- read, so that a wrong sheet is refused at once

    @property
    def named(self) -> tuple[tuple[str, float], ...]:
        """The sheets that are asked for: plastic, and thickness in mm."""
        words = (part for one in self.sheets for part in _PARTED.split(one.strip()) if part)
        named = tuple(dict.fromkeys(sheet_from("sheets", part) for part in words))
        for what, found, most in (
            ("plastics", {fold(name) for name, _ in named}, MOST_PLASTICS),
            ("thicknesses", {gauge_mm for _, gauge_mm in named}, MOST_GAUGES),
        ):
            if len(found) > most:
                raise SpecError(
                    "sheets", f"of at most {most} {what}", f"{len(found)}",
                    "More cannot be read from afar: make two charts.",
                )  # fmt: skip
        return named


def sheet_from(field: str, words: str) -> tuple[str, float]:
    """Return plastic and thickness of a sheet that is written out. [mm].

    Raises
    ------
    SpecError
        If they are not both there, or the thickness is out of range.

    Examples
    --------
    >>> sheet_from("sheets", "PVC rigid 1/16 in")
    ('PVC rigid', 1.5875)
    """
    match = _SHEET.fullmatch(words) if len(words) <= 200 else None
    if match is None:
        rule = 'plastic and thickness, such as "HIPS 1.5 mm"'
        raise SpecError(field, rule, shown(words), "Put a semicolon between sheets.")
    return match["plastic"], read_number(f"{field}, thickness", match["gauge"], _GAUGE)
