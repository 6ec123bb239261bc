"""Drills: the standard twist drills, metric and inch."""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity, Spec

INCH_MM = 25.4
"""The inch in millimeters, exact since 1959."""


class Series(StrEnum):
    """The table a drill stands in; the order is the order of preference when two are equal."""

    METRIC = "metric"
    FRACTION = "fraction"
    NUMBER = "number"
    LETTER = "letter"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill(Spec):
    """One twist drill."""

    name: Annotated[str, Meaning("how it is asked for, such as 2.5 mm, #40 or 1/8 in")]
    series: Annotated[Series, Meaning("metric, fraction, number or letter")]
    printed: Annotated[str, Meaning("size as the table prints it, in the unit of its series")]
    diameter_mm: Annotated[float, Quantity("mm", "diameter", above=0, at_most=100)]
    source: Annotated[str, Meaning("the table")]


def nearest_drill(
    diameter_mm: float, system: Literal["metric", "inch"] = "metric", *, at_most: bool
) -> Drill:
    """Return the standard drill for a hole that is drilled after printing.

    Parameters
    ----------
    diameter_mm : float
        Wanted diameter, within the range of the drills of that system. [mm]
    system : {"metric", "inch"}
        Metric drills, or number, letter and fractional ones.
    at_most : bool
        True never takes a drill larger than wanted (a vent must not grow); False takes the
        closest.

    Raises
    ------
    SpecError
        If the diameter is smaller than the smallest drill or larger than the largest, or the
        system is neither of the two.

    Notes
    -----
    A tie goes to the smaller drill, then to the fractional one.

    Examples
    --------
    >>> nearest_drill(1.0, "inch", at_most=True).name
    '#61'
    """
    drills = _of_system(system)
    limits = Quantity(
        "mm",
        "hole diameter",
        at_least=drills[0].diameter_mm,
        at_most=drills[-1].diameter_mm,
    )
    limits.check("diameter_mm", diameter_mm)
    # A hair of slack, so that 0.04 x 25.4 finds #60, 0.0400 in, from below.
    fit = [drill for drill in drills if not at_most or drill.diameter_mm <= diameter_mm + 1e-6]
    return min(fit, key=lambda drill: round(abs(drill.diameter_mm - diameter_mm), 9))


@cache
def load_drills() -> tuple[Drill, ...]:
    """Return every standard drill, smallest first; read once, from ``drill.csv``."""
    lines = files("moldgen.stock").joinpath("drill.csv").read_text(encoding="utf-8").splitlines()
    notes = (line[2:].partition(": ") for line in lines if line.startswith("# "))
    sources = {series: text for series, _, text in notes}
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return tuple(sorted((_drill(row, sources[row["series"]]) for row in rows), key=_size))


def _drill(row: dict[str, str], source: str) -> Drill:
    series = Series(row["series"])
    size = float(Fraction(row["printed"]))
    return Drill(
        name=row["name"],
        series=series,
        printed=row["printed"],
        diameter_mm=size if series is Series.METRIC else size * INCH_MM,
        source=source,
    )


def _size(drill: Drill) -> tuple[float, int]:
    return round(drill.diameter_mm, 9), list(Series).index(drill.series)


def _of_system(system: str) -> Sequence[Drill]:
    if system not in ("metric", "inch"):
        raise SpecError("system", "metric or inch", repr(system), "Choose one of the two.")
    metric = system == "metric"
    return [drill for drill in load_drills() if (drill.series is Series.METRIC) == metric]
