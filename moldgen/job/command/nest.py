"""What the nest command can say, and the tray of nests it stands for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, radians, sin, sqrt
from typing import Annotated, Any

from moldgen.errors import SpecError
from moldgen.job.command import recess
from moldgen.job.command.mold import MoldOptions
from moldgen.job.command.nested import NestedThing, nested_thing
from moldgen.job.outline import JobAround, JobDrawn, JobDxf, JobPicture, JobShape, JobSvg
from moldgen.job.spec import Job, JobBody, JobFeature, ReadAt, Side
from moldgen.quantity import Meaning, Quantity

GRIP_MM = 22.0
"""Diameter of a notch for a finger; common practice, no source."""
_DRAWN_CORNER_MM = 4.0
"""Corner of a nest for an outline of any shape, so that less of its tips is rounded off. [mm]."""
_TIP_DEG = 60.0
"""Tips of an outline down to this angle fit into the rounded nest. [°]."""
_DEEPEST = 0.4
"""Depth over the smaller side of a nest to which the sheet stays thick; common practice. [-]."""
_LEAST_DEPTH_MM = 6.0
_FOUR_TO_THREE = 4 / 3


@dataclass(frozen=True, slots=True, kw_only=True)
class NestCommand(MoldOptions):
    """What the nest command can say."""

    things: Annotated[
        tuple[str, ...],
        Meaning(
            'what lies in it, each in quotes: "pliers 180 x 55 x 20" (left to right, front to back,'
            ' thick), "can 82 dia x 90", "cleat.svg 120 x 40 x 25", "brush.jpg 200 x 60 x 18"'
        ),
    ]
    depth_mm: Annotated[
        float | None,
        Quantity("mm", "depth of every nest; half of its thing if left out", above=0, at_most=300),
    ] = None
    play_mm: Annotated[
        float, Quantity("mm", "play round a thing on the floor", at_least=0, at_most=20)
    ] = 1.5
    grip_mm: Annotated[
        float | None,
        Quantity(
            "mm", "notches for the fingers; 22 where they fit, 0 for none", at_least=0, at_most=60
        ),
    ] = None
    gap_mm: Annotated[
        float | None,
        Quantity("mm", "between nests; as the sheet needs if left out", above=0, at_most=200),
    ] = None


def nest_job(
    command: NestCommand,
    *,
    bed_mm: tuple[float, float] | None = None,
    from_folder: Callable[[str], str] = str,
) -> Job:
    """Return the job of a tray with a nest for each thing.

    Parameters
    ----------
    bed_mm : tuple of two floats, optional
        Width and depth that the printer has for it: a long thing lies across the corners if it
        fits only so. [mm]
    from_folder : callable, optional
        Makes the name of a file one that starts in the folder of the job.

    Raises
    ------
    SpecError
        If a thing is not described, or a number is out of range.
    """
    things = [nested_thing(number, words) for number, words in enumerate(command.things, start=1)]
    if not things:
        raise SpecError("things", "given", "nothing", 'Write them like "pliers 180 x 55 x 20".')
    land_mm = recess.land_mm(command, max(_depth_mm(command, thing) for thing in things))
    turns, places = _best_way(command, things, land_mm, bed_mm)
    nests = tuple(
        _nest(command, thing, turn, place, from_folder)
        for thing, turn, place in zip(things, turns, places, strict=True)
    )
    body = JobBody(
        name="block",
        outline=JobAround(around_mm=land_mm, corner_mm=recess.CORNER_MM + land_mm),
        height_mm=max(nest.wall_mm for nest in nests) + recess.FLOOR_MM,
        sunk=nests,
        **_wall(command),
    )
    title = f"Tray for {' and '.join(thing.name for thing in things)}"[:60]
    return command.job(title, side=Side.FEMALE, body=body)


def _wall(command: NestCommand) -> Any:
    return command.wall


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """One way to lay things out: how each is turned, where, and the room of all. [mm]."""

    turns_deg: tuple[float, ...]
    places_mm: tuple[tuple[float, float], ...]
    size_mm: tuple[float, float]


def _best_way(
    command: NestCommand,
    things: Sequence[NestedThing],
    land_mm: float,
    bed_mm: tuple[float, float] | None,
) -> tuple[tuple[float, ...], tuple[tuple[float, float], ...]]:
    """Return how each thing is turned and where it lies.

    One thing lies as it is, or across the corners of the bed if it fits only so; several lie side
    by side, all upright or all level, in the rows that come nearest to four to three and fit.
    """
    ways = list(_ways(command, things))
    if bed_mm is not None:
        room = [side - 2 * land_mm for side in sorted(bed_mm)]
        fitting = [
            way
            for way in ways
            if all(one <= most for one, most in zip(sorted(way.size_mm), room, strict=True))
        ]
        ways = fitting or ways
    if len(things) == 1:
        best = ways[0]
    else:
        best = min(ways, key=lambda way: max(way.size_mm[0], _FOUR_TO_THREE * way.size_mm[1]))
    return best.turns_deg, best.places_mm


def _ways(command: NestCommand, things: Sequence[NestedThing]) -> Iterator[_Way]:
    if len(things) == 1:
        patterns: list[tuple[float, ...]] = [(0.0,), (45.0,)]
    else:
        upright = tuple(90.0 * (thing.wide_mm > thing.deep_mm) for thing in things)
        level = tuple(90.0 * (thing.wide_mm < thing.deep_mm) for thing in things)
        patterns = [upright, level]
    for turns_deg in patterns:
        rooms = [_room_mm(command, *one) for one in zip(things, turns_deg, strict=True)]
        for n_rows in range(1, len(things) + 1):
            size_mm, places_mm = arranged(rooms, _rib_mm(command), n_rows)
            yield _Way(turns_deg=turns_deg, places_mm=tuple(places_mm), size_mm=size_mm)


def arranged(
    rooms_mm: Sequence[tuple[float, float]], gap_mm: float, n_rows: int
) -> tuple[tuple[float, float], list[tuple[float, float]]]:
    """Return the width and depth of rooms laid out in rows, and the middle of each room.

    Parameters
    ----------
    rooms_mm : sequence of (float, float)
        Width and depth of each. [mm]
    gap_mm : float
        Between them. [mm]
    n_rows : int
        Rows at the most, the first in front.
    """
    each = ceil(len(rooms_mm) / n_rows)
    rows = [rooms_mm[start : start + each] for start in range(0, len(rooms_mm), each)]
    depths = [max(deep for _, deep in row) for row in rows]
    widths = [sum(wide for wide, _ in row) + gap_mm * (len(row) - 1) for row in rows]
    deep_mm = sum(depths) + gap_mm * (len(rows) - 1)
    places, y_mm = [], -deep_mm / 2
    for row, depth, width in zip(rows, depths, widths, strict=True):
        x_mm = -width / 2
        for wide, _ in row:
            places.append((x_mm + wide / 2, y_mm + depth / 2))
            x_mm += wide + gap_mm
        y_mm += depth + gap_mm
    return (max(widths), deep_mm), places


def _depth_mm(command: NestCommand, thing: NestedThing) -> float:
    """Return how deep its nest is: half of its thickness, and no deeper than the sheet goes."""
    if command.depth_mm is not None:
        return command.depth_mm
    most = floor(_DEEPEST * min(thing.wide_mm, thing.deep_mm))
    return float(max(min(ceil(thing.thick_mm / 2), most), _LEAST_DEPTH_MM))


def _corner_mm(command: NestCommand, thing: NestedThing) -> float:
    """Return a radius that is still round at the floor, where the walls have leaned in. [mm]."""
    if command.plan_radius_mm is not None:
        return command.plan_radius_mm
    depth_mm = _depth_mm(command, thing)
    usual_mm = _DRAWN_CORNER_MM if thing.file else recess.CORNER_MM
    wanted_mm = recess.corner_mm(command, depth_mm, usual_mm=usual_mm)
    return min(wanted_mm, recess.MOST_CORNER * min(thing.wide_mm, thing.deep_mm))


def _play_mm(command: NestCommand, thing: NestedThing) -> float:
    """Return the play at the mouth: what is asked on the floor, or what the thing's corners take.

    A corner of an angle a fits into a round r if the play is r (1 - sin(a / 2)).
    """
    lean_mm = recess.LEAN * _depth_mm(command, thing)
    corner_deg = _TIP_DEG if thing.file else 90.0
    share = 0.0 if thing.is_round else 1 - sin(radians(corner_deg / 2))
    rounding_mm = share * (_corner_mm(command, thing) - lean_mm)
    return ceil(10 * (lean_mm + max(command.play_mm, rounding_mm)) - 1e-9) / 10


def _grip_mm(command: NestCommand, thing: NestedThing) -> float:
    """Return the notch that is asked for, or the usual one if a long side has room for it."""
    if command.grip_mm is not None:
        return command.grip_mm
    room_mm = max(thing.wide_mm, thing.deep_mm) - 2 * _corner_mm(command, thing)
    return GRIP_MM if room_mm >= GRIP_MM + 10.0 else 0.0


def _room_mm(command: NestCommand, thing: NestedThing, turn_deg: float) -> tuple[float, float]:
    """Return the width and depth that a nest takes with its notches. [mm]."""
    play_mm, grip_mm = _play_mm(command, thing), _grip_mm(command, thing)
    wide, deep = thing.wide_mm + 2 * play_mm, thing.deep_mm + 2 * play_mm
    if turn_deg == 45.0:
        across = (wide + deep) * sqrt(0.5)
        return across, across
    wide_side = thing.wide_mm >= 1.1 * thing.deep_mm
    wide, deep = (wide, deep + grip_mm) if wide_side else (wide + grip_mm, deep)
    return (deep, wide) if turn_deg else (wide, deep)


def _rib_mm(command: NestCommand) -> float:
    return recess.gap_mm(command) if command.gap_mm is None else command.gap_mm


def _nest(
    command: NestCommand,
    thing: NestedThing,
    turn_deg: float,
    place_mm: tuple[float, float],
    from_folder: Callable[[str], str],
) -> JobFeature:
    outline = _outline(
        thing,
        from_folder,
        width_mm=thing.wide_mm,
        height_mm=thing.deep_mm,
        x_mm=round(place_mm[0], 2),
        y_mm=round(place_mm[1], 2),
        turn_deg=turn_deg,
        play_mm=_play_mm(command, thing),
        grip_mm=_grip_mm(command, thing),
    )
    corner = {"plan_radius_mm": _corner_mm(command, thing)}
    return JobFeature(
        name=thing.name,
        outline=outline,
        height_mm=_depth_mm(command, thing),
        read_at=ReadAt.PART_INSIDE,
        **(_wall(command) | corner),
    )


def _outline(thing: NestedThing, from_folder: Callable[[str], str], **rest: Any) -> JobDrawn:
    ending = thing.file.rpartition(".")[2].lower()
    file = from_folder(thing.file) if thing.file else ""
    if ending == "svg":
        return JobSvg(svg=file, **rest)
    if ending == "dxf":
        return JobDxf(dxf=file, **rest)
    if ending:
        return JobPicture(picture=file, **rest)
    if thing.is_round:
        return JobShape(shape="oval-plaque", **rest)
    return JobShape(shape="rounded-plaque", proportions=(("corner", 0.0),), **rest)
