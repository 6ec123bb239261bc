"""Gauges: the thicknesses a sheet is sold in."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity
from moldgen.stock.entry import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge(Entry):
    """A thickness that can be bought, and the plastics that are sold in it."""

    gauge_mm: Annotated[float, Quantity("mm", "thickness", at_least=0.1, at_most=12)]
    nominal_mm: Annotated[
        float | None, Quantity("mm", "metric size an inch gauge is sold as", above=0, at_most=12)
    ] = None
    plastics: Annotated[tuple[str, ...], Meaning("names of the plastics sold in it")]


def nearest_gauge(gauges: Sequence[Gauge], wanted_mm: float, *, at_least: bool) -> Gauge:
    """Return the gauge closest to the wanted thickness; with ``at_least`` never a thinner one.

    Parameters
    ----------
    gauges : sequence of Gauge
        What can be bought.
    wanted_mm : float
        Wanted thickness. [mm]
    at_least : bool
        True leaves out every gauge thinner than wanted, as a starting gauge must be.

    Raises
    ------
    SpecError
        If no gauge is left to choose from.
    """
    Quantity("mm", "wanted thickness", above=0).check("wanted_mm", wanted_mm)
    # A hair of slack, so that 1.524 mm asked for as 0.06 x 25.4 finds the 0.060 in sheet.
    fit = [gauge for gauge in gauges if not at_least or gauge.gauge_mm >= wanted_mm - 1e-6]
    if not fit:
        thickest = max((gauge.gauge_mm for gauge in gauges), default=0.0)
        raise SpecError(
            "wanted_mm",
            f"at most the thickest gauge sold, {thickest:g} mm",
            f"{wanted_mm:g} mm",
            "Choose a shallower mold, or add the gauge to your stock.toml.",
        )
    return min(fit, key=lambda gauge: (abs(gauge.gauge_mm - wanted_mm), -gauge.gauge_mm))
