"""Boards: what the layers of a wooden mold are sawn from."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from importlib.resources import files
from math import ceil
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.drill import INCH_MM
from moldgen.stock.entry import Structure
from moldgen.stock.filament import Filament

MDF = Filament(
    name="wood",
    title="wood (MDF)",
    structure=Structure.AMORPHOUS,
    softens_degC=200,
    deflection_degC=200,
    service_degC=100,
    conductivity_W_mK=0.14,
    specific_heat_J_kgK=1700,
    density_kg_m3=750,
    modulus_MPa=3000,
    strength_MPa=18,
    strength_across_layers_MPa=0.6,
)
"""MDF in the place of a filament, for the heat that goes into a mold; all from memory.

It does not soften: it browns from about 200 °C on. Plywood is lighter, 500 to 700 kg/m³.
"""

_SPARE = 1e-4


class BoardSystem(StrEnum):
    """In which unit boards are sold."""

    METRIC = "metric"
    INCH = "inch"

    @property
    def step_mm(self) -> float:
        """Of which every thickness is a multiple: 1 mm or 1/8 in. [mm]."""
        return 1.0 if self is BoardSystem.METRIC else INCH_MM / 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Board(Spec):
    """One thickness of board."""

    system: Annotated[BoardSystem, Meaning("metric or inch")]
    printed: Annotated[str, Meaning("thickness in the unit of its system")]
    thickness_mm: Annotated[float, Quantity("mm", "thickness", above=0, at_most=100)]
    source: Annotated[str, Meaning("where the thickness comes from")]

    @property
    def name(self) -> str:
        """How it is asked for, such as ``6 mm`` or ``1/4 in``."""
        return f"{self.printed} {'mm' if self.system is BoardSystem.METRIC else 'in'}"


@cache
def load_boards() -> tuple[Board, ...]:
    """Return every board, thinnest first in its system; read once, from ``board.csv``."""
    lines = files("moldgen.stock").joinpath("board.csv").read_text(encoding="utf-8").splitlines()
    sources = dict(line[2:].split(": ", 1) for line in lines if line.startswith("# "))
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return tuple(_board(row, sources[row["system"]]) for row in rows)


def boards_for(height_mm: float, system: BoardSystem) -> tuple[Board, ...]:
    """Return the boards that add up to a height or to the least above it, thickest first.

    Of all ways with the least to plane off, the one with the fewest boards is taken.

    Parameters
    ----------
    height_mm : float
        Height of the stack. [mm]
    system : BoardSystem
        Metric boards, or those sold in inches.

    Raises
    ------
    SpecError
        If the height is not above 0 and at most 1000 mm.

    Examples
    --------
    >>> [board.name for board in boards_for(30, BoardSystem.METRIC)]
    ['18 mm', '12 mm']
    """
    Quantity("mm", "height", above=0, at_most=1000).check("height_mm", height_mm)
    boards = [board for board in load_boards() if board.system is system]
    if not boards:
        raise SpecError("boards", "in stock", "none")
    return _fewest(boards, ceil(height_mm / system.step_mm - _SPARE))


def _fewest(boards: Sequence[Board], wanted: int) -> tuple[Board, ...]:
    """Return the fewest boards of the least sum that is enough, counted in steps of the system."""
    steps = [round(board.thickness_mm / board.system.step_mm) for board in boards]
    last: dict[int, int] = {}
    counts = {0: 0}
    for total in range(wanted + max(steps) + 1):
        ways = [
            (counts[total - step] + 1, -index)
            for index, step in enumerate(steps)
            if total - step in counts
        ]
        if ways:
            counts[total], last[total] = min(ways)[0], -min(ways)[1]
        if total >= wanted and total in counts and total > 0:
            break
    taken = []
    while total > 0:
        taken.append(boards[last[total]])
        total -= steps[last[total]]
    return tuple(sorted(taken, key=lambda board: -board.thickness_mm))


def _board(row: dict[str, str], source: str) -> Board:
    system, size = BoardSystem(row["system"]), float(Fraction(row["printed"]))
    return Board(
        system=system,
        printed=row["printed"],
        thickness_mm=size if system is BoardSystem.METRIC else size * INCH_MM,
        source=source,
    )
