"""Faces: the fonts that come with moldgen, how they look and how small their letters form."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

from moldgen.errors import FileError
from moldgen.quantity import Meaning, Quantity, Spec


@dataclass(frozen=True, slots=True, kw_only=True)
class Face(Spec):
    """One face for signs.

    Strokes, gaps and heights are measured on letters that stand on the plaque of a usual sign,
    formed of the usual sheet; capitals include the figures.
    """

    name: Annotated[str, Meaning("how it is asked for")]
    file: Annotated[str, Meaning("file in the folder of fonts")]
    look: Annotated[str, Meaning("what it looks like, in two words")]
    license: Annotated[str, Meaning("terms it comes under")]
    stroke_mm: Annotated[
        float, Quantity("mm", "least stroke of a capital of 30 mm", above=0, at_most=30)
    ]
    gap_mm: Annotated[float, Quantity("mm", "least gap of a capital of 30 mm", above=0, at_most=30)]
    lost: Annotated[str, Meaning("letters that lose a stroke, or do not form, at 30 mm")]
    capitals_from_mm: Annotated[
        float, Quantity("mm", "smallest letter height at which capitals form", above=0)
    ]
    small_from_mm: Annotated[
        float, Quantity("mm", "smallest letter height at which small letters form", above=0)
    ]
    source: Annotated[str, Meaning("how it was measured")]

    @property
    def path(self) -> Path:
        """Its file."""
        return font_file(self.file)


def font_folder() -> Path:
    """Return the folder of the fonts that come with moldgen."""
    return Path(__file__).parent


def font_file(name: str) -> Path:
    """Return a file that lies in the folder of fonts.

    Raises
    ------
    FileError
        If the package is damaged.
    """
    path = font_folder() / name
    if not path.is_file():
        raise FileError(f"{path}, which comes with moldgen, is missing; install moldgen again.")
    return path


def drawing_font(*, bold: bool = False) -> Path:
    """Return the font that plans and pictures are lettered in."""
    return font_file("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")


@cache
def load_faces() -> tuple[Face, ...]:
    """Return every face: the usual one, then smallest capitals first; from ``face.csv``."""
    lines = font_file("face.csv").read_text(encoding="utf-8").splitlines()
    source = lines[0].removeprefix("# source: ")
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    usual, *others = (_face(row, source) for row in rows)
    return (usual, *sorted(others, key=lambda face: face.capitals_from_mm))


def _face(row: dict[str, str], source: str) -> Face:
    return Face(
        name=row["name"],
        file=row["file"],
        look=row["look"],
        license=row["license"],
        stroke_mm=float(row["stroke"]),
        gap_mm=float(row["gap"]),
        lost=row["lost"],
        capitals_from_mm=float(row["capitals_from"]),
        small_from_mm=float(row["small_from"]),
        source=source,
    )
