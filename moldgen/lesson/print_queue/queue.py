"""Plates over several printers, the longest first, and how far that is from the best there can be.

R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM J. Appl. Math. 17 (1969), 416-429:
on m equal machines the longest first takes at most 4/3 - 1/(3m) times the best time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

CHANGE_s = 600.0
"""From one plate to the next on a printer: cool, clear, start (common practice, no source). [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class QueuePlate:
    """One plate to be printed.

    Attributes
    ----------
    name : str
        What it is called.
    time_s : float
        How long it prints, on the printer that all times are told for. [s]
    mass_g : float
        What it takes of filament. [g]
    filament : str
        Which.
    size_mm : tuple of float
        Width, depth and height of what stands on it. [mm]
    holds : tuple of str
        What stands on it.
    """

    name: str
    time_s: float
    mass_g: float = 0.0
    filament: str = ""
    size_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    holds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class QueuePrinter:
    """One printer of the queue.

    Attributes
    ----------
    name : str
        What it is called, each another.
    room_mm : tuple of float
        Width, depth and height of what it can print. [mm]
    pace : float
        Its time over that of the printer that all times are told for. [-]
    """

    name: str
    room_mm: tuple[float, float, float] = (float("inf"),) * 3
    pace: float = 1.0

    def holds(self, plate: QueuePlate) -> bool:
        """Tell whether a plate fits, as it is or turned by a quarter."""
        width, depth, height = plate.size_mm
        wide, deep, high = self.room_mm
        fits = (width <= wide and depth <= deep) or (width <= deep and depth <= wide)
        return fits and height <= high


@dataclass(frozen=True, slots=True, kw_only=True)
class QueueSlot:
    """One plate on one printer.

    Attributes
    ----------
    plate, printer
        What, and where.
    start_s, end_s : float
        From when to when, from the start of the first one. [s]
    changes_filament : bool
        Whether another filament is put in before it.
    """

    plate: QueuePlate
    printer: QueuePrinter
    start_s: float
    end_s: float
    changes_filament: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintQueue:
    """Which plate is printed where and when.

    Attributes
    ----------
    printers : tuple of QueuePrinter
        All there are.
    slots : tuple of QueueSlot
        Printer by printer, each in its order.
    left_out : tuple of QueuePlate
        Plates that fit none of the printers.
    change_s : float
        From one plate to the next on a printer. [s]
    """

    printers: tuple[QueuePrinter, ...]
    slots: tuple[QueueSlot, ...]
    left_out: tuple[QueuePlate, ...] = ()
    change_s: float = CHANGE_s

    @property
    def end_s(self) -> float:
        """When the last plate is done. [s]."""
        return max((slot.end_s for slot in self.slots), default=0.0)

    @property
    def n_filament_changes(self) -> int:
        """How often another filament is put in."""
        return sum(slot.changes_filament for slot in self.slots)

    def of(self, printer: QueuePrinter) -> tuple[QueueSlot, ...]:
        """Return what one printer prints, in order."""
        return tuple(slot for slot in self.slots if slot.printer == printer)

    @property
    def bound_s(self) -> float:
        """A time that no way to distribute these plates can be quicker than. [s].

        The longest of three: the longest plate; all plates with all printers always at work; the
        two shortest of one plate more than there are printers, which one of them must take both.
        """
        plates = [slot.plate for slot in self.slots]
        if not plates:
            return 0.0
        paces = [one.pace for one in self.printers]
        longest_s = max(
            min(one.pace for one in self.printers if one.holds(plate)) * plate.time_s
            for plate in plates
        )
        more = len(plates) - len(paces)
        changes_s = max(0, more) * self.change_s / max(paces)
        shared_s = (sum(plate.time_s for plate in plates) + changes_s) / sum(1 / p for p in paces)
        times_s = sorted((plate.time_s for plate in plates), reverse=True)
        both = times_s[len(paces) - 1 : len(paces) + 1] if more > 0 else []
        both_s = min(paces) * sum(both) + self.change_s if both else 0.0
        return max(longest_s, shared_s, both_s)


def plan_queue(
    plates: Sequence[QueuePlate],
    printers: Sequence[QueuePrinter],
    *,
    change_s: float = CHANGE_s,
) -> PrintQueue:
    """Distribute plates over printers, the longest first, each to where it is done soonest.

    Parameters
    ----------
    plates : sequence of QueuePlate
        What is printed.
    printers : sequence of QueuePrinter
        Where; at least one.
    change_s : float
        From one plate to the next on a printer. [s]

    Notes
    -----
    What a printer prints is then put in order by filament, so that each is put in once; that does
    not change when the printer is done.
    """
    given: dict[str, list[QueuePlate]] = {one.name: [] for one in printers}
    free_s = dict.fromkeys(given, 0.0)
    left_out = []
    for plate in sorted(plates, key=lambda one: -one.time_s):
        able = [one for one in printers if one.holds(plate)]
        if not able:
            left_out.append(plate)
            continue
        best = min(able, key=lambda one: free_s[one.name] + one.pace * plate.time_s)
        given[best.name].append(plate)
        free_s[best.name] += best.pace * plate.time_s + change_s
    return PrintQueue(
        printers=tuple(printers),
        slots=tuple(slot for one in printers for slot in _slots(one, given[one.name], change_s)),
        left_out=tuple(left_out),
        change_s=change_s,
    )


def _slots(
    printer: QueuePrinter, plates: Sequence[QueuePlate], change_s: float
) -> Iterator[QueueSlot]:
    """Yield the plates of one printer, those of one filament after another."""
    start_s = 0.0
    first_of: dict[str, int] = {}
    for place, plate in enumerate(plates):
        first_of.setdefault(plate.filament, place)
    ordered = sorted(plates, key=lambda one: first_of[one.filament])
    for number, (_, alike) in enumerate(groupby(ordered, key=lambda one: one.filament)):
        for place, plate in enumerate(alike):
            end_s = start_s + printer.pace * plate.time_s
            yield QueueSlot(
                plate=plate, printer=printer, start_s=start_s, end_s=end_s,
                changes_filament=place == 0 and number > 0,
            )  # fmt: skip
            start_s = end_s + change_s
