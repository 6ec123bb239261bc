"""Which gauge leaves the thickness that is wanted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from moldgen.quantity import Quantity
from moldgen.stock import Gauge

_SHARE = Quantity("", "thickness left where the sheet is thin, over its gauge", above=0)
_WANTED = Quantity("mm", "least thickness wanted", above=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A gauge that is sold, and what is left of it where it is thin.

    Attributes
    ----------
    gauge : Gauge
        The stock entry.
    thin_mm : float
        Thickness below which a hundredth of the formed part lies. [mm]
    enough : bool
        Whether that is what was wanted.
    """

    gauge: Gauge
    thin_mm: float
    enough: bool


def choices(gauges: Sequence[Gauge], *, thin_share: float, wanted_mm: float) -> tuple[Choice, ...]:
    """Return every gauge, thinnest first, with what forming leaves of it.

    One forming run answers for every gauge, because the sheet's shape does not depend on how
    thick it is as long as it is drawn onto the mold; a thicker one only follows tight corners less.

    Parameters
    ----------
    gauges : sequence of Gauge
        What the plastic is sold in: `moldgen.stock.Shop.gauges_for`.
    thin_share : float
        Thickness of the thin places over the gauge, from a forming run:
        `moldgen.mold.sheet.formed.FormedSheet.thin_share`. [-]
    wanted_mm : float
        Thickness that is wanted everywhere. [mm]

    Raises
    ------
    SpecError
        If the share or the wanted thickness is not more than 0.
    """
    _SHARE.check("thin_share", thin_share)
    _WANTED.check("wanted_mm", wanted_mm)
    choices_so_far = []
    for gauge in sorted(gauges, key=lambda gauge: gauge.gauge_mm):
        thin_mm = gauge.gauge_mm * thin_share
        # A gauge that misses by a thousandth is the gauge that was meant.
        enough = thin_mm >= wanted_mm * (1 - 1e-3)
        choices_so_far.append(Choice(gauge=gauge, thin_mm=thin_mm, enough=enough))
    return tuple(choices_so_far)
