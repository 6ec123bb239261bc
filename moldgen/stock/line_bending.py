"""Line bending: how hot the strip along a bend must be, by plastic."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from moldgen.stock.plastic import Plastic
from moldgen.stock.shop import Shop
from moldgen.wording import fold


@dataclass(frozen=True, slots=True, kw_only=True)
class BendingWindow:
    """Temperatures of the strip along a bend.

    Attributes
    ----------
    lower_degC : float
        The coldest that bends without cracking. [°C]
    best_degC : float
        For a bend of about a right angle. [°C]
    upper_degC : float
        The hottest a face may get. [°C]
    """

    lower_degC: float
    best_degC: float
    upper_degC: float


_BENT = {"acrylic", "pmma"}
_FORMED_ACRYLIC, _BENT_ACRYLIC = "PMMA extruded", "PMMA cast"
"""What plain acrylic is to form, and to bend (common practice, no source)."""


def plastic_to_bend(shop: Shop, name: str) -> Plastic:
    """Return the plastic that a name means at the strip heater.

    Acrylic that is bent is cast; acrylic that is formed is extruded, which draws farther. An entry
    of one's own that is called acrylic is what it says.

    Parameters
    ----------
    shop : Shop
        What there is.
    name : str
        As it is written: a name, a title or an alias.

    Raises
    ------
    SpecError
        If there is no such plastic.
    """
    plastic = shop.plastic(name)
    if fold(name) in _BENT and plastic.name == _FORMED_ACRYLIC:
        return shop.plastic(_BENT_ACRYLIC)
    return plastic


def bending_window(plastic: Plastic) -> BendingWindow:
    """Return the window of a plastic, or of the one it is based on.

    From trade figures for line bending (``line_bending.csv``, common practice); where there are
    none, from the forming temperatures, half way from the lower to the usual one being best.
    """
    table = _table()
    known = table.get(plastic.name) or table.get(plastic.based_on)
    low, usual = plastic.forming_low_degC, plastic.forming_degC
    return known or BendingWindow(
        lower_degC=low, best_degC=(low + usual) / 2, upper_degC=plastic.forming_high_degC
    )


@cache
def _table() -> dict[str, BendingWindow]:
    words = files("moldgen.stock").joinpath("line_bending.csv").read_text(encoding="utf-8")
    lines = (line for line in words.splitlines() if not line.startswith("#"))
    return {
        row["plastic"]: BendingWindow(
            lower_degC=float(row["lower_degC"]),
            best_degC=float(row["best_degC"]),
            upper_degC=float(row["upper_degC"]),
        )
        for row in csv.DictReader(lines)
    }
