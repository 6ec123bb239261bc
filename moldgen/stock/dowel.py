"""Dowels: the standard pins that register two printed pieces."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity, Spec


class DowelKind(StrEnum):
    """What a dowel is made of."""

    STEEL = "steel"
    WOOD = "wood"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dowel(Spec):
    """One size of dowel.

    Attributes
    ----------
    lengths_mm : tuple of float
        Standard lengths it is sold in, shortest first. [mm]
    """

    kind: Annotated[DowelKind, Meaning("steel or wood")]
    printed: Annotated[str, Meaning("diameter as the table prints it, in millimeters")]
    diameter_mm: Annotated[float, Quantity("mm", "diameter", above=0, at_most=100)]
    lengths_mm: tuple[float, ...]
    source: Annotated[str, Meaning("the table")]

    @property
    def name(self) -> str:
        """How it is asked for, such as ``steel 5``."""
        return f"{self.kind} {self.printed}"

    def longest_within(self, room_mm: float) -> float | None:
        """Return the longest standard length that is not longer than this, or None. [mm]."""
        fit = [length for length in self.lengths_mm if length <= room_mm + 1e-9]
        return max(fit, default=None)


@cache
def load_dowels() -> tuple[Dowel, ...]:
    """Return every standard dowel, thinnest first in its kind; read once, from ``dowel.csv``."""
    lines = files("moldgen.stock").joinpath("dowel.csv").read_text(encoding="utf-8").splitlines()
    notes = dict(line[2:].split(": ", 1) for line in lines if line.startswith("# "))
    series = tuple(float(word) for word in notes["lengths"].partition(": ")[2].split())
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return tuple(_dowel(row, notes[row["kind"]], series) for row in rows)


def dowel_named(name: str) -> Dowel:
    """Return a dowel by kind and diameter, such as ``steel 5``, or ``5`` for a steel one.

    Raises
    ------
    SpecError
        If there is no such size; the hint lists what there is.

    Examples
    --------
    >>> dowel_named("steel 5").longest_within(33)
    32.0
    """
    words = name.casefold().replace("mm", " ").split()
    kind, size = (words[0], words[1]) if len(words) == 2 else ("steel", "".join(words))
    for dowel in load_dowels():
        if dowel.kind == kind and _same(size, dowel.diameter_mm):
            return dowel
    known = ", ".join(dowel.name for dowel in load_dowels())
    raise SpecError("dowel", "a standard dowel", repr(name), f"Choose one of {known}.")


def _same(size: str, diameter_mm: float) -> bool:
    try:
        return abs(float(size) - diameter_mm) < 1e-6
    except ValueError:
        return False


def _dowel(row: dict[str, str], source: str, series: tuple[float, ...]) -> Dowel:
    shortest, longest = float(row["shortest"]), float(row["longest"])
    return Dowel(
        kind=DowelKind(row["kind"]),
        printed=row["printed"],
        diameter_mm=float(row["printed"]),
        lengths_mm=tuple(length for length in series if shortest <= length <= longest),
        source=source,
    )
