"""Order: in which order to make the bends, so that each line reaches the element."""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.bend.layout import Layout
from moldgen.bend.part import StripSpec, Turn
from moldgen.bend.reach import Bench
from moldgen.bend.shape import check_clashes, formed
from moldgen.bend.swing import Swing
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.stock.strip_heater import StripHeater

_CHORD_MM = 0.2
MOST_BENDS = 12
"""More bends are more sets of bent ones than can be looked at while a person waits."""
_ONE_FACE = 100
"""What it costs to heat a line from one face that should be heated from both."""
_TURN_OVER = 10
"""What it costs to turn the strip over between two bends."""
_NEVER = 10**6
_PATIENCE = 150
"""Swings that are tried for the best order; afterwards any order will do."""
_MOST_SWINGS = 450
"""Swings that are tried at all."""
_Way = tuple[int, int, tuple[int, ...], int, int]
"""Rank, least total cost, bends undone, set that is left, turn of the last one undone."""
_PRACTICE = "geometry of strip, heater bed and jig in the side view"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderStep:
    """One bend in its turn.

    Attributes
    ----------
    number : int
        Which bend, 1 for the leftmost.
    turn : Turn
        Which way it goes.
    marks_up, marks_down : bool
        Whether the line can lie over the element with the marks up, and with the marks down.
    why : tuple of str
        What would be wrong if it came later; a sentence for each other bend.
    """

    number: int
    turn: Turn
    marks_up: bool
    marks_down: bool
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BendOrder:
    """An order of bends, or why there is none.

    Attributes
    ----------
    steps : tuple of OrderStep
        First to last; empty if there is no order.
    n_turn_overs : int
        How often the strip is turned over between bends of different turn.
    findings : tuple of Finding
        Lines that can be heated from one face only; or what keeps the strip from being bent.
    """

    steps: tuple[OrderStep, ...]
    n_turn_overs: int
    findings: tuple[Finding, ...]

    @property
    def numbers(self) -> tuple[int, ...]:
        """The bends by their numbers, first to last."""
        return tuple(step.number for step in self.steps)

    @property
    def found(self) -> bool:
        """Whether the strip can be bent."""
        return not any(finding.severity is Severity.STOP for finding in self.findings)


def best_order(
    strip: StripSpec, layout: Layout, heater: StripHeater, *, both_faces: bool = False
) -> BendOrder:
    """Search the order in which the bends can be made.

    Parameters
    ----------
    both_faces : bool
        Whether each line should be heated from one face, then from the other.

    Returns
    -------
    BendOrder
        Of all orders that hit nothing, one with the fewest lines heated from one face only,
        then the fewest times of turning over, then from left to right.

    Raises
    ------
    SpecError
        If there are more than twelve bends.

    Notes
    -----
    The strip is unbent from its finished shape, because that is where it is tightest. What each
    set of bent bends does over the bed is a table; the cheapest way through it, as if the strip
    never hit itself, guides the search (A*), and only bends on the way are swung. A strip that
    hits itself nearly everywhere is given the first order that is found, with a note.
    """
    if len(strip.bends) > MOST_BENDS:
        raise SpecError("bends", f"at most {MOST_BENDS}", f"{len(strip.bends)}", "Join two strips.")
    final = formed(strip, layout, chord_mm=_CHORD_MM)
    clashes = check_clashes(final)
    if clashes:
        return BendOrder(steps=(), n_turn_overs=0, findings=clashes)
    search = _Search(Bench(Swing(final), heater), both_faces)
    numbers = search.best()
    if numbers is None:
        return BendOrder(steps=(), n_turn_overs=0, findings=(search.why_none(),))
    return search.told(numbers)


class _Search:
    """The bends that are still to be made, and what each costs."""

    def __init__(self, bench: Bench, both_faces: bool) -> None:
        self.bench, self.both_faces = bench, both_faces and bench.heater.sides == 1
        self.n = bench.swing.n_bends
        self.turns = [int(angle > 0) for angle in bench.swing.flat.angles_deg]
        self.hits: dict[tuple[int, int], str] = {}
        self.stuck = 2**self.n - 1
        self.hurried = False
        self.costs = self._costs()

    def _costs(self) -> NDArray[np.int64]:
        """Return what each bend costs when a set is already bent, shape (2 ** n, n)."""
        masks = np.arange(2**self.n)
        costs = np.full((len(masks), self.n), _NEVER, dtype=np.int64)
        for bend in range(self.n):
            left, right = self.bench.beds[bend]
            off = left[masks & (2**bend - 1)] & right[masks >> (bend + 1)]
            n_faces = off.sum(axis=1) * self._long_enough(masks, bend)
            wanted = 2 if self.both_faces else 1
            costs[n_faces > 0, bend] = _ONE_FACE
            costs[n_faces >= wanted, bend] = 0
            costs[masks >> bend & 1 == 1, bend] = _NEVER
        return costs

    def _long_enough(self, masks: NDArray[np.int64], bend: int) -> NDArray[np.bool_]:
        """Return for which sets the strip is straight enough beside a bend for bed and jig."""
        bench = self.bench
        left = masks & (2**bend - 1)
        right = masks >> (bend + 1) << (bend + 1)
        nearest_left = np.array([int(m).bit_length() for m in left])
        nearest_right = np.array([(int(m) & -int(m)).bit_length() for m in right])
        runs_left = np.array(
            [bench.swing.runs_mm(2 ** (k - 1) if k else 0, bend)[0] for k in range(bend + 1)]
        )[nearest_left]
        runs_right = np.array(
            [
                bench.swing.runs_mm(2 ** (k - 1) if k > bend + 1 else 0, bend)[1]
                for k in range(self.n + 1)
            ]
        )[nearest_right]
        shorter = np.minimum(runs_left, runs_right)
        enough: NDArray[np.bool_] = shorter >= bench.heater.least_leg_mm - 1e-6
        return enough

    def _guide(self) -> NDArray[np.int64]:
        """Return the least cost of reaching each set, by the turn of its last bend."""
        least = np.full((2**self.n, 2), _NEVER, dtype=np.int64)
        least[0] = 0
        masks = np.arange(2**self.n)
        sizes = np.array([int(mask).bit_count() for mask in masks])
        for size in range(self.n):
            own = masks[sizes == size]
            for bend, turn in enumerate(self.turns):
                free = own[self.costs[own, bend] < _NEVER]
                came = np.minimum(least[free, turn], least[free, 1 - turn] + _TURN_OVER)
                if size == 0:
                    came = np.zeros(len(free), dtype=np.int64)
                reached = free | (1 << bend)
                least[reached, turn] = np.minimum(
                    least[reached, turn], came + self.costs[free, bend]
                )
        return least

    def best(self) -> list[int] | None:
        """Return the cheapest order of bends, or None."""
        guide, full = self._guide(), 2**self.n - 1
        # Largest bend first among equals: unbent first is bent last.
        heap: list[_Way] = [(0, int(guide[full].min()), (), full, -1)]
        done: set[tuple[int, int]] = set()
        while heap and len(self.hits) < _MOST_SWINGS:
            _, total, order, mask, after = heapq.heappop(heap)
            if total >= _NEVER:
                return None
            if order and self._hits(mask, -order[-1]):
                continue
            if mask == 0:
                return [-bend for bend in reversed(order)]
            if (mask, after) in done:
                continue
            done.add((mask, after))
            self._note(mask)
            spent = total - self._rest(guide, mask, after)
            for way in self._unbent(guide, mask, after, spent, order):
                heapq.heappush(heap, way)
            if not self.hurried and len(self.hits) > _PATIENCE:
                # From here on the way that is furthest goes first, however dear it is.
                self.hurried = True
                heap = [(way[3].bit_count(), *way[1:]) for way in heap]
                heapq.heapify(heap)
        return None

    def _rest(self, guide: NDArray[np.int64], mask: int, after: int) -> int:
        """Return the least cost of reaching a set, given the turn of the bend that follows."""
        if mask == 0:
            return 0
        if after < 0:
            return int(guide[mask].min())
        same, other = guide[mask, after], guide[mask, 1 - after] + _TURN_OVER
        return int(min(same, other))

    def _unbent(
        self,
        guide: NDArray[np.int64],
        mask: int,
        after: int,
        spent: int,
        order: tuple[int, ...],
    ) -> Iterator[_Way]:
        for bend in range(self.n):
            before = mask & ~(1 << bend)
            if mask >> bend & 1 and self.costs[before, bend] < _NEVER:
                turn = self.turns[bend]
                over = _TURN_OVER if after >= 0 and turn != after else 0
                cost = spent + over + int(self.costs[before, bend])
                rest = self._rest(guide, before, turn)
                if cost + rest < _NEVER:
                    left = before.bit_count() if self.hurried else 0
                    yield left, cost + rest, (*order, -bend), before, turn

    def _hits(self, mask: int, bend: int) -> str:
        key = (mask, bend)
        if key not in self.hits:
            self.hits[key] = self.bench.swing.hits(mask, bend)
        return self.hits[key]

    def _note(self, mask: int) -> None:
        """Remember the smallest set that was reached, to say what is in the way there."""
        if mask.bit_count() < self.stuck.bit_count():
            self.stuck = mask

    def obstacle(self, mask: int, bend: int) -> str:
        """Return in words why a bend cannot be made when a set is bent; empty if it can."""
        bench = self.bench
        for side, run in zip((bend + 1, bend + 2), bench.swing.runs_mm(mask, bend), strict=True):
            if run < bench.heater.least_leg_mm - 1e-6:
                return (
                    f"leg {side} gives only {run:.0f} mm to lie on the bed, which needs "
                    f"{bench.heater.least_leg_mm:.0f} mm"
                )
        if not any(bench.faces(mask, bend)):
            return "a leg that is already bent would stand on the heater's bed"
        struck = self._hits(mask, bend)
        return (
            f"the strip would hit {struck.replace('the strip itself', 'itself')}" if struck else ""
        )

    def told(self, numbers: list[int]) -> BendOrder:
        """Return an order with its reasons."""
        steps, findings, mask, overs = [], [], 0, 0
        for place, bend in enumerate(numbers):
            up, down = self.bench.faces(mask, bend)
            steps.append(
                OrderStep(
                    number=bend + 1,
                    turn=self.bench.swing.shape.strip.bends[bend].turn,
                    marks_up=up,
                    marks_down=down,
                    why=tuple(self._whys(bend, numbers[place + 1 :])),
                )
            )
            if self.both_faces and not (up and down):
                findings.append(_one_face(bend + 1, "up" if up else "down"))
            overs += place > 0 and self.turns[bend] != self.turns[numbers[place - 1]]
            mask |= 1 << bend
        if self.hurried:
            findings.append(_hurried())
        return BendOrder(steps=tuple(steps), n_turn_overs=overs, findings=tuple(findings))

    def _whys(self, bend: int, later: list[int]) -> Iterator[str]:
        for other in sorted(later):
            reason = self.obstacle(1 << other, bend)
            if reason:
                yield f"Before bend {other + 1}: afterwards {reason}."

    def why_none(self) -> Finding:
        """Return what keeps the strip from being bent, and what to change."""
        for bend in range(self.n):
            reason = self.obstacle(0, bend)
            if reason:
                return _none(f"bend {bend + 1} cannot be made even on the flat strip: {reason}")
        for bend in range(self.n):
            for other in range(bend):
                first, second = self.obstacle(1 << other, bend), self.obstacle(1 << bend, other)
                if first and second:
                    return _none(
                        f"bends {other + 1} and {bend + 1} are in each other's way: after bend "
                        f"{other + 1}, {first}; after bend {bend + 1}, {second}"
                    )
        return _none(self._last_resort())

    def _last_resort(self) -> str:
        if len(self.hits) >= _MOST_SWINGS:
            return f"none was found in {_MOST_SWINGS} tries at swinging a leg clear of the others"
        left = [bend for bend in range(self.n) if self.stuck >> bend & 1]
        reasons = [
            f"bend {bend + 1}, because {self.obstacle(self.stuck & ~(1 << bend), bend)}"
            for bend in left
        ]
        bends = " and ".join(str(bend + 1) for bend in left)
        worst = [reason for reason in reasons if not reason.endswith("because ")] or reasons
        return f"of bends {bends} none can be made last: " + "; ".join(worst[:3])


def _one_face(number: int, face: str) -> Finding:
    return Finding(
        code="heated-from-one-face",
        severity=Severity.CAUTION,
        says=f"its line can lie over the element with the marks {face} only",
        subject=f"bend {number}",
        basis=_PRACTICE,
        advice="Heat it longer and more gently from that face, instead of turning it over.",
    )


def _hurried() -> Finding:
    return Finding(
        code="order-not-best",
        severity=Severity.NOTE,
        says="this order can be made, but not all were compared",
        basis=_PRACTICE,
    )


def _none(says: str) -> Finding:
    return Finding(
        code="no-bend-order",
        severity=Severity.STOP,
        says=f"there is no order in which the bends can be made: {says}",
        basis=_PRACTICE,
        advice=(
            "Make that leg longer, take a heater with a shallower bed, or join two strips there."
        ),
    )
