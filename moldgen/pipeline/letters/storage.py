"""Formed trays for a letter set: job files of molds that a sheet is drawn into."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import radians, tan
from pathlib import Path

from moldgen.errors import SpecError
from moldgen.fixture.fixture import Bench
from moldgen.fixture.letters.foot import BLANK, FootRule
from moldgen.fixture.letters.tray import DEEP_MM, place_mm
from moldgen.job import Job
from moldgen.job.command.letters import LettersCommand
from moldgen.job.outline import JobAround, JobPoints, Placement
from moldgen.job.spec import JobBody, JobFeature, JobSheet, JobTrim, ReadAt, Side
from moldgen.job.write import mold_toml
from moldgen.mold.features import Direction
from moldgen.mold.rules import wall_rules
from moldgen.mold.width_rule import EXTRA_MM
from moldgen.printing.bed_fit import usable_bed_mm
from moldgen.printing.pack import Spot, pack
from moldgen.stock import Sheet

UNDER_MM = 5.0
"""Of the block under its places. [mm]."""
RIM_MM = 12.0
"""Of the block round its places: the border of the tray. [mm]."""
FLANGE_MM = 10.0
"""Of the sheet left round the block. [mm]."""
_CORNER_MM = 6.0
_SKIRT_MM = 3.0
"""For the lean of the block's outside. [mm]."""

Held = tuple[str, tuple[float, float], Spot]


def formed_trays(
    counts: Mapping[str, int], rule: FootRule, command: LettersCommand, bench: Bench
) -> dict[str, bytes]:
    """Return a job file for each tray: a block with a place sunk for every letter.

    Raises
    ------
    SpecError
        If not even one letter has room on the printer or the forming table.
    """
    lean = _lean_mm(command, bench)
    trays = _held(counts, rule, command, bench)
    return {
        f"letter-tray-{number}.toml": mold_toml(_job(number, held, lean, command)).encode()
        for number, held in enumerate(trays, start=1)
    }


def _held(
    counts: Mapping[str, int], rule: FootRule, command: LettersCommand, bench: Bench
) -> list[list[Held]]:
    """Return letters with size and spot of their places, at the floor, tray by tray."""
    names = [letter for letter, count in counts.items() for _ in range(count)]
    sizes = [_floor_mm(letter, rule, command) for letter in names]
    lean = 2 * _lean_mm(command, bench)
    room = _room_mm(bench, lean + 2 * RIM_MM + 2 * _SKIRT_MM)
    # What stands between two mouths is a stroke that the sheet thins over.
    apart = 2 * command.gauge_mm + EXTRA_MM + lean
    try:
        spots = pack(sizes, room, apart_mm=apart)
    except SpecError as problem:
        raise SpecError(
            "letter_height_mm",
            f"small enough for a tray formed on {bench.machine.name} over a mold printed on "
            f"{bench.printer.name}, {problem.rule}",
            problem.got, "Take a larger printer, or leave the tray out.",
        ) from None  # fmt: skip
    held: dict[int, list[Held]] = {}
    for letter, size, spot in zip(names, sizes, spots, strict=True):
        held.setdefault(spot.plate, []).append((letter, size, spot))
    return [held[plate] for plate in sorted(held)]


def _floor_mm(letter: str, rule: FootRule, command: LettersCommand) -> tuple[float, float]:
    """Return a place at its floor: the letter, its play, and the sheet on either side. [mm]."""
    width, depth = place_mm(letter, rule)
    return width + 2 * command.gauge_mm, depth + 2 * command.gauge_mm


def _lean_mm(command: LettersCommand, bench: Bench) -> float:
    """Return how much further out the mouth of a place is than its floor, radius included. [mm]."""
    sheet = Sheet(plastic=bench.shop.plastic(command.plastic), gauge_mm=command.gauge_mm)
    rules = wall_rules(Direction.SUNK, DEEP_MM, sheet=sheet, printer=bench.printer)
    return DEEP_MM * tan(radians(rules.draft.value)) + rules.top_radius.value


def _room_mm(bench: Bench, border_mm: float) -> tuple[float, float]:
    """Return what is left for places on the printer and the table, the longer side first. [mm]."""
    printer, machine = bench.printer, bench.machine
    bed = sorted(usable_bed_mm(printer)[:2])
    opening = sorted((machine.opening_width_mm, machine.opening_depth_mm))
    clamp = 2 * max(25.0, DEEP_MM + UNDER_MM)
    across, along = (min(a, b - clamp) - border_mm for a, b in zip(bed, opening, strict=True))
    return along, across


def _job(number: int, held: Sequence[Held], lean_mm: float, command: LettersCommand) -> Job:
    # The job file lies in a folder of its own, from where a path as typed would not be found.
    stock = str(Path(command.stock).absolute()) if command.stock else ""
    block = JobBody(
        name="block",
        outline=JobAround(around_mm=round(RIM_MM + lean_mm, 1), corner_mm=_CORNER_MM),
        height_mm=DEEP_MM + UNDER_MM, sunk=tuple(_places(held)),
    )  # fmt: skip
    return Job(
        title=f"Letter tray {number}", side=Side.FEMALE, stock=stock,
        machine=command.machine, printer=command.printer, filament=command.filament,
        sheet=JobSheet(plastic=command.plastic, gauge_mm=command.gauge_mm),
        trim=JobTrim(flange_mm=FLANGE_MM), body=(block,),
    )  # fmt: skip


def _places(held: Sequence[Held]) -> list[JobFeature]:
    boxes = [_box(size, spot) for _, size, spot in held]
    x = max(one[2] for one in boxes) / 2
    y = max(one[3] for one in boxes) / 2
    seen: dict[str, int] = {}
    places = []
    for (letter, _, _), (x0, y0, x1, y1) in zip(held, boxes, strict=True):
        seen[letter] = seen.get(letter, 0) + 1
        name = "blank" if letter == BLANK else f"letter {letter}"
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        points = tuple((round(px - x, 2), round(py - y, 2)) for px, py in corners)
        places.append(
            JobFeature(
                name=name if seen[letter] == 1 else f"{name} {seen[letter]}",
                outline=JobPoints(points=points, place=Placement.AS_DRAWN),
                height_mm=DEEP_MM, read_at=ReadAt.FOOT,
            )
        )  # fmt: skip
    return places


def _box(size: tuple[float, float], spot: Spot) -> tuple[float, float, float, float]:
    width, depth = size[::-1] if spot.turned else size
    return spot.x_mm, spot.y_mm, spot.x_mm + width, spot.y_mm + depth
