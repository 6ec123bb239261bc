"""Order search: the cheapest way from the bent strip back to the flat one, bend by bend."""

from __future__ import annotations

import heapq
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from moldgen.bend.order.reach import StripAtHeater

_ONE_FACE = 100
"""What it costs to heat a line from one face that should be heated from both."""
_TURN_OVER = 10
"""What it costs to turn the strip over between two bends."""
_NEVER = 10**6
_PATIENCE = 150
"""Swings that are tried for the best order; afterward any order will do."""
MOST_SWINGS = 450
"""Swings that are tried at all."""
_Way = tuple[int, int, tuple[int, ...], int, int]
"""Rank, least total cost, bends undone, set that is left, turn of the last one undone."""


class Search:
    """The bends that are still to be made, and what each costs."""

    def __init__(self, bench: StripAtHeater, both_faces: bool) -> None:
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
        while heap and len(self.hits) < MOST_SWINGS:
            _, total, order, mask, after = heapq.heappop(heap)
            if total >= _NEVER:
                return None
            if order and self.struck(mask, -order[-1]):
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

    def struck(self, mask: int, bend: int) -> str:
        """Return what a bend hits when a set is already bent; empty if nothing."""
        key = (mask, bend)
        if key not in self.hits:
            self.hits[key] = self.bench.swing.hits(mask, bend)
        return self.hits[key]

    def _note(self, mask: int) -> None:
        """Remember the smallest set that was reached, to say what is in the way there."""
        if mask.bit_count() < self.stuck.bit_count():
            self.stuck = mask
