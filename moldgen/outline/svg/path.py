"""SVG path data into polylines."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import radians

import numpy as np

from moldgen.errors import OutlineError
from moldgen.outline.curves import Points, bezier_points, endpoint_arc_points
from moldgen.outline.svg.value import NUMBER, finite

_GAP = r"[\s,]*"
_LETTER = re.compile(_GAP + "([a-zA-Z])")
_NUMBER = re.compile(f"{_GAP}({NUMBER})")
# The flags of an arc may stand without any gap: `a1 1 0 01.5.5`.
_FLAG = re.compile(f"{_GAP}([01])")
_REST = re.compile(_GAP + r"\Z")

# How many numbers each command takes; f marks a flag.
_ARGUMENTS = {
    "M": "nn", "L": "nn", "H": "n", "V": "n", "C": "nnnnnn", "S": "nnnn", "Q": "nnnn",
    "T": "nn", "A": "nnnffnn", "Z": "",
}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """One subpath: its points, and whether it was closed on purpose."""

    points: Points
    closed: bool


def path_traces(data: str, *, chord: float, what: str, beside: float = 0.0) -> list[Trace]:
    """Return the subpaths of path data as polylines.

    Parameters
    ----------
    data : str
        The ``d`` attribute.
    chord : float
        Largest distance between a curve and its chords, in user units.
    what : str
        What an error sentence calls the path.
    beside : float, default 0
        Half the width of a line along it whose edges are to be as close, in user units.

    Raises
    ------
    OutlineError
        If the data break off, or hold something that is no command or number. (A browser
        would show what comes before; a mold of half a drawing helps nobody.)

    References
    ----------
    .. [1] W3C, "Scalable Vector Graphics (SVG) 2", section 9.3 (path data).
    """
    reader = _Words(data, what)
    pen = _PathPen(chord, beside)
    if data.strip() in {"", "none"}:
        return []
    command = reader.command()
    if command.upper() != "M":
        raise OutlineError(f"{what} does not begin with a move (M); export it again.")
    while command:
        pen.draw(command, reader.arguments(_ARGUMENTS[command.upper()]))
        command = reader.following(command)
    return pen.traces()


class _Words:
    """Cuts path data into commands and their arguments."""

    def __init__(self, data: str, what: str) -> None:
        self.data, self.what, self.at = data, what, 0

    def command(self) -> str:
        match = _LETTER.match(self.data, self.at)
        if match is None or match[1].upper() not in _ARGUMENTS:
            raise self.broken()
        self.at = match.end()
        return match[1]

    def following(self, command: str) -> str:
        """Return the next command, written or implied by more numbers; empty at the end."""
        if _REST.match(self.data, self.at):
            return ""
        if _NUMBER.match(self.data, self.at) and command not in "Zz":
            return {"M": "L", "m": "l"}.get(command, command)
        return self.command()

    def arguments(self, kinds: str) -> list[float]:
        return [self._argument(kind) for kind in kinds]

    def _argument(self, kind: str) -> float:
        match = (_FLAG if kind == "f" else _NUMBER).match(self.data, self.at)
        if match is None:
            raise self.broken()
        self.at = match.end()
        return finite(match[1], self.what)

    def broken(self) -> OutlineError:
        rest = self.data[self.at :].strip()
        found = f"at {rest[:12]!r}" if rest else "at its end"
        return OutlineError(
            f"{self.what} cannot be read {found} (character {self.at + 1} of its path data); "
            "export the drawing again."
        )


Point = tuple[float, float]


class _PathPen:
    """Follows path commands and keeps the points of each subpath."""

    def __init__(self, chord: float, beside: float) -> None:
        self.chord, self.beside = chord, beside
        self.here: Point = (0.0, 0.0)
        self.start: Point = (0.0, 0.0)
        self.handle: tuple[str, Point] = ("", self.here)
        self._runs: list[Points] = []
        self._done: list[Trace] = []

    def draw(self, command: str, values: list[float]) -> None:
        """Carry out one command."""
        kind = command.upper()
        base = self.here if command.islower() else (0.0, 0.0)
        _DRAW[kind](self, values, base)
        if kind not in "CSQT":
            self.handle = "", self.here

    def traces(self) -> list[Trace]:
        self._finish(closed=False)
        return self._done

    def move(self, values: list[float], base: Point) -> None:
        self._finish(closed=False)
        self.here = self.start = _at(base, values[0], values[1])

    def line(self, values: list[float], base: Point) -> None:
        self._line_to(_at(base, values[0], values[1]))

    def across(self, values: list[float], base: Point) -> None:
        self._line_to((base[0] + values[0], self.here[1]))

    def up(self, values: list[float], base: Point) -> None:
        self._line_to((self.here[0], base[1] + values[0]))

    def cubic(self, values: list[float], base: Point) -> None:
        first, second, end = _pairs(base, values)
        self._bezier("C", [first, second], end)

    def smooth_cubic(self, values: list[float], base: Point) -> None:
        second, end = _pairs(base, values)
        self._bezier("C", [self._mirrored("C"), second], end)

    def quadratic(self, values: list[float], base: Point) -> None:
        handle, end = _pairs(base, values)
        self._bezier("Q", [handle], end)

    def smooth_quadratic(self, values: list[float], base: Point) -> None:
        self._bezier("Q", [self._mirrored("Q")], _at(base, values[0], values[1]))

    def arc(self, values: list[float], base: Point) -> None:
        rx, ry, turn_deg, large, sweep, x, y = values
        end = _at(base, x, y)
        self._run(
            endpoint_arc_points(
                self.here, end, radii=(rx, ry), turn_rad=radians(turn_deg),
                large=bool(large), sweep=bool(sweep), chord=self.chord, beside=self.beside,
            ),
            end,
        )  # fmt: skip

    def close(self, values: list[float], base: Point) -> None:
        self._line_to(self.start)
        self._finish(closed=True)

    def _line_to(self, end: Point) -> None:
        self._run(np.array([self.here, end]), end)

    def _bezier(self, kind: str, handles: list[Point], end: Point) -> None:
        controls = [self.here, *handles, end]
        self._run(bezier_points(controls, chord=self.chord, beside=self.beside), end)
        self.handle = kind, handles[-1]

    def _mirrored(self, kind: str) -> Point:
        last_kind, (x, y) = self.handle
        if last_kind != kind:
            return self.here
        return 2 * self.here[0] - x, 2 * self.here[1] - y

    def _run(self, points: Points, end: Point) -> None:
        self._runs.append(points if not self._runs else points[1:])
        self.here = end

    def _finish(self, *, closed: bool) -> None:
        if self._runs:
            self._done.append(Trace(np.concatenate(self._runs), closed))
        self._runs = []


def _at(base: Point, x: float, y: float) -> Point:
    return base[0] + x, base[1] + y


def _pairs(base: Point, values: list[float]) -> list[Point]:
    return [_at(base, x, y) for x, y in zip(values[::2], values[1::2], strict=True)]


_DRAW: dict[str, Callable[[_PathPen, list[float], Point], None]] = {
    "M": _PathPen.move, "L": _PathPen.line, "H": _PathPen.across,
    "V": _PathPen.up, "C": _PathPen.cubic, "S": _PathPen.smooth_cubic,
    "Q": _PathPen.quadratic, "T": _PathPen.smooth_quadratic, "A": _PathPen.arc,
    "Z": _PathPen.close,
}  # fmt: skip
