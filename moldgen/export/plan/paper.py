"""Paper sizes, and how a drawing larger than a sheet is spread over several."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from moldgen.errors import SpecError
from moldgen.wording import did_you_mean, one_of

MM_PER_INCH = 25.4
POINTS_PER_INCH = 72.0  # default user space of PDF, ISO 32000-1, 8.3.2
MAX_SHEETS = 200  # more is a mistake in the drawing's size, not a wish


@dataclass(frozen=True, slots=True)
class PaperSize:
    """A paper size, standing upright.

    Attributes
    ----------
    name : str
        What a printer's menu calls it.
    width_mm, height_mm : float
        The shorter and the longer side. [mm]
    """

    name: str
    width_mm: float
    height_mm: float

    @property
    def turned(self) -> PaperSize:
        """The same paper lying on its side."""
        return PaperSize(self.name, self.height_mm, self.width_mm)


def _inches(name: str, width_in: float, height_in: float) -> PaperSize:
    return PaperSize(name, width_in * MM_PER_INCH, height_in * MM_PER_INCH)


# ISO 216 for the A series. The US sizes are defined in inches (ANSI/ASME Y14.1 A and B;
# Legal and the name Tabloid from common practice).
PAPERS: dict[str, PaperSize] = {
    paper.name: paper
    for paper in (
        PaperSize("A0", 841, 1189),
        PaperSize("A1", 594, 841),
        PaperSize("A2", 420, 594),
        PaperSize("A3", 297, 420),
        PaperSize("A4", 210, 297),
        PaperSize("A5", 148, 210),
        _inches("Letter", 8.5, 11),
        _inches("Legal", 8.5, 14),
        _inches("Tabloid", 11, 17),
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """The part of a drawing that one sheet shows.

    Attributes
    ----------
    row, column : int
        Place in the grid, counted from 0 at the top left.
    x0_mm, y0_mm, x1_mm, y1_mm : float
        What it shows, in the drawing's coordinates. [mm]
    """

    row: int
    column: int
    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float

    @property
    def name(self) -> str:
        """Row and column, such as ``row 2, column 3``."""
        return f"row {self.row + 1}, column {self.column + 1}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiling:
    """A drawing spread over equal sheets that overlap.

    Attributes
    ----------
    rows, columns : int
        How many sheets down and across.
    overlap_mm : float
        Width shown on both of two neighboring sheets. [mm]
    tiles : tuple of Tile
        Row by row from the top left.
    """

    rows: int
    columns: int
    overlap_mm: float
    tiles: tuple[Tile, ...]


def paper_named(name: str) -> PaperSize:
    """Return the paper a person named, in any case.

    Raises
    ------
    SpecError
        If there is no such paper; the nearest names are offered.
    """
    wanted = name.strip().lower()
    for paper in PAPERS.values():
        if paper.name.lower() == wanted:
            return paper
    raise SpecError("paper", one_of(PAPERS), repr(name), did_you_mean(name, PAPERS.keys()))


def points(length_mm: float) -> float:
    """Return a length in the points of a PDF page [pt]."""
    return length_mm / MM_PER_INCH * POINTS_PER_INCH


def place_tiles(
    bounds_mm: tuple[float, float, float, float],
    *,
    width_mm: float,
    height_mm: float,
    overlap_mm: float = 10.0,
) -> Tiling:
    """Cover a rectangle with the fewest sheets of one size, in even overlap or more.

    Parameters
    ----------
    bounds_mm : tuple of four floats
        Least x and y, greatest x and y of the drawing. [mm]
    width_mm, height_mm : float
        What one sheet can show. [mm]
    overlap_mm : float
        Least width that neighbors share. [mm]

    Raises
    ------
    SpecError
        If more than 200 sheets would be needed.
    """
    x0, y0, x1, y1 = bounds_mm
    columns = _count(x1 - x0, width_mm, overlap_mm)
    rows = _count(y1 - y0, height_mm, overlap_mm)
    if rows * columns > MAX_SHEETS:
        raise SpecError(
            "paper", f"large enough for at most {MAX_SHEETS} sheets", f"{rows * columns} sheets",
            "Choose larger paper or draw less.",
        )  # fmt: skip
    across, down = width_mm - overlap_mm, height_mm - overlap_mm
    left = (x0 + x1 - across * columns - overlap_mm) / 2
    top = (y0 + y1 + down * rows + overlap_mm) / 2
    tiles = [
        Tile(
            row=row,
            column=column,
            x0_mm=left + column * across,
            x1_mm=left + column * across + width_mm,
            y1_mm=top - row * down,
            y0_mm=top - row * down - height_mm,
        )
        for row in range(rows)
        for column in range(columns)
    ]
    return Tiling(rows=rows, columns=columns, overlap_mm=overlap_mm, tiles=tuple(tiles))


def _count(length_mm: float, sheet_mm: float, overlap_mm: float) -> int:
    if length_mm <= sheet_mm:
        return 1
    return ceil((length_mm - overlap_mm) / (sheet_mm - overlap_mm) - 1e-9)
