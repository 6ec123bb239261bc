"""What people of a harbor-town boat shed ask for, said as they would say it and no more."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import moldgen as mg
from moldgen.job.spec import Job
from moldgen.outline.library.shapes import outline_from_shape


@dataclass(frozen=True)
class Wish:
    """One wish.

    Attributes
    ----------
    kind : str
        ``sign``, ``tray`` or ``shape``.
    words : str
        What is written, its sizes or its name.
    said : dict
        What else is said.
    """

    kind: str
    words: str
    said: dict[str, Any]

    @property
    def name(self) -> str:
        """What the wish is called."""
        more = " ".join(f"{key}={value}" for key, value in self.said.items())
        return f"{self.kind} {self.words} {more}".strip()

    def job(self) -> Job:
        """Return the job, as the command makes it."""
        if self.kind == "sign":
            return mg.sign(self.words, **self.said)
        if self.kind == "tray":
            length, width, depth = (float(size) for size in self.words.split("x"))
            return mg.tray(length, width, depth, **self.said)
        return mg.drawing(shape=self.words, **self.said)


def _sign(words: str, **said: Any) -> Wish:
    return Wish("sign", words, said)


def _tray(words: str, **said: Any) -> Wish:
    return Wish("tray", words, said)


SIGNS = (
    _sign("PIER 4"),
    _sign("OAR", letter_height_mm=60),
    _sign("BAY", letter_height_mm=40),
    _sign("DOCK"),
    _sign("KEEL", letter_height_mm=50, gauge_mm=1.0),
    _sign("TIDE", letter_height_mm=15, gauge_mm=0.75),
    _sign("ANCHOR", letter_height_mm=25, gauge_mm=1.0),
    _sign("SLIPWAY", letter_height_mm=30),
    _sign("Harbour", letter_height_mm=30, gauge_mm=1.0),
    _sign("BOAT SHED", letter_height_mm=20, gauge_mm=1.0),
    _sign("LIFE JACKETS", letter_height_mm=20, gauge_mm=0.75),
    _sign("VARNISH ROOM / NO FLAMES", letter_height_mm=15, gauge_mm=0.75),
    _sign("HIGH WATER / MARK 1953", letter_height_mm=20, gauge_mm=1.0),
    _sign("ROPES / SAILS / OARS", letter_height_mm=20, gauge_mm=1.0),
    _sign("Mind the step", letter_height_mm=20, plastic="PETG", gauge_mm=1.0),
    _sign("TOILET", letter_height_mm=25, plastic="ABS", gauge_mm=1.0),
    _sign("EXIT", letter_height_mm=40, plastic="PETG", gauge_mm=0.75),
    _sign("WEST QUAY", plastic="GPPS", gauge_mm=1.0, letter_height_mm=20),
    _sign("BOW", as_="word", letter_height_mm=50, gauge_mm=1.0),
    _sign("STERN", as_="word", letter_height_mm=30, gauge_mm=0.75),
    _sign("Gull & Tern", letter_height_mm=25, gauge_mm=0.75),
    _sign("WINCH 2", machine="bench-250x250", letter_height_mm=20, gauge_mm=1.0),
    _sign("EVENING RACE", machine="workshop-600x600", letter_height_mm=40),
    _sign("QUIET / PLEASE", gauge_mm=1.0),
)
TAGS = tuple(
    _sign(name, letter_height_mm=15, plaque_height_mm=4, margin_mm=8, gauge_mm=gauge_mm)
    for name, gauge_mm in (
        ("MARTA", 0.75), ("Joaquim", 0.75), ("IDA", 1.0), ("Wouter", 0.75), ("Zoë", 0.75),
        ("KASPER", 0.5),
    )
)  # fmt: skip
TRAYS = (
    _tray("120x80x15"),
    _tray("120x80x25", gauge_mm=1.0),
    _tray("150x100x40", gauge_mm=2.0),
    _tray("180x120x60", gauge_mm=2.0),
    _tray("200x140x80", gauge_mm=3.0, machine="workshop-600x600"),
    _tray("160x100x30", compartments="2 x 1"),
    _tray("180x120x25", compartments="3 x 2"),
    _tray("200x80x20", compartments="4 x 1", gauge_mm=1.0),
    _tray("150x150x20", compartments="2 x 2", gauge_mm=1.0, plastic="ABS"),
    _tray("90x60x15", gauge_mm=1.0, plastic="PETG"),
    _tray("120x80x40", side="male", gauge_mm=1.0),
    _tray("100x100x50", plastic="PP", gauge_mm=1.5),
)
_LONGEST_MM = (60.0, 100.0, 150.0, 200.0)


def _width_mm(name: str, longest_mm: float) -> float:
    """Return the width at which a shape's longer side is so long. [mm]."""
    x0, y0, x1, y1 = outline_from_shape(name, width_mm=100.0).bounds
    return round(longest_mm * min(1.0, (x1 - x0) / (y1 - y0)), 1)


_SHEETS = (("HIPS", 1.0), ("HIPS", 0.75), ("PETG", 1.0), ("ABS", 1.0))


@cache
def shapes() -> tuple[Wish, ...]:
    """Return a wish for each shape of the library."""
    return tuple(
        Wish(
            "shape", name,
            {
                "width_mm": _width_mm(name, _LONGEST_MM[number % 4]),
                "plastic": _SHEETS[number // 4 % 4][0],
                "gauge_mm": _SHEETS[number // 4 % 4][1],
            },
        )
        for number, name in enumerate(mg.shape_names())
    )  # fmt: skip


def wishes() -> tuple[Wish, ...]:
    """Return all of them."""
    return (*SIGNS, *TAGS, *TRAYS, *shapes())
