"""Ratios in the log: cooling, thickness and printing, noted over computed, and what contradicts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import exp, fsum, log
from typing import Any

from moldgen.lesson.log.learn_heating import note_text
from moldgen.lesson.log.shot_note import Outcome, ShotNote
from moldgen.printing.estimate import spoken_time
from moldgen.stock import Shop
from moldgen.stock.experience import Contradiction, NoteEstimate
from moldgen.table.ratio import (
    CALIPER_WITHIN,
    COOLING_WITHIN,
    NOTED_WITHIN,
    PRINTING_WITHIN,
    THICKNESS_WITHIN,
    ratio_contradictions,
    ratio_estimate,
)
from moldgen.wording import clock_text

COOL_TROUBLES = frozenset({Outcome.STUCK, Outcome.SOFT_MOLD})
"""What may come from a part that was taken off too early or too late."""
_HOUR_s = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioNote:
    """A note that holds something against what is computed for it.

    Attributes
    ----------
    note : ShotNote
        What was noted.
    says : str
        What of it, in words.
    noted, expected : float
        What was seen, and what was computed; both in one unit. [s] or [mm]
    """

    note: ShotNote
    says: str
    noted: float
    expected: float

    @property
    def ratio(self) -> float:
        """Noted over computed. [-]."""
        return self.noted / self.expected


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedRatio:
    """What notes say of one ratio.

    Attributes
    ----------
    estimate : NoteEstimate or None
        The ratio; None if no note tells it. [-]
    left_out : tuple of (ShotNote, Contradiction)
        What contradicts, each with the first note of it.
    """

    estimate: NoteEstimate | None
    left_out: tuple[tuple[ShotNote, Contradiction], ...] = ()


def cooling_of(notes: Iterable[ShotNote]) -> LearnedRatio:
    """Return time on the mold over what is computed, of parts that came off well."""
    told = [
        RatioNote(
            note=note, says=clock_text(note.cooled_s),
            noted=note.cooled_s, expected=computed_s,
        )
        for note in notes
        if (computed_s := note.computed_cool_s or note.told_cool_s)
        and note.cooled_s and not COOL_TROUBLES.intersection(note.seen)
    ]  # fmt: skip
    return _learned(
        told, within=COOLING_WITHIN, scatter=NOTED_WITHIN, foretold="foretold_s", about="cooling"
    )


def thickness_of(notes: Iterable[ShotNote]) -> LearnedRatio:
    """Return measured over computed thickness: places of one part count as one reading."""
    told = [one for note in notes for one in _measured(note)]
    return _learned(
        told,
        within=THICKNESS_WITHIN,
        scatter=CALIPER_WITHIN,
        foretold="foretold_mm",
        about="thickness",
    )


def _measured(note: ShotNote) -> Iterator[RatioNote]:
    """Yield the thickness of a part, as the geometric mean of what was measured on it."""
    both = [(one, one.computed_mm) for one in note.readings if one.computed_mm is not None]
    if both:
        first, share = both[0][0], 1 / len(both)
        yield RatioNote(
            note=note,
            says=f"{first.place} {first.thickness_mm:.2g} mm",
            noted=exp(share * fsum(log(one.thickness_mm) for one, _ in both)),
            expected=exp(share * fsum(log(computed_mm) for _, computed_mm in both)),
        )


def printing_of(notes: Iterable[ShotNote]) -> LearnedRatio:
    """Return hours of printing over the estimate: a mold counts once, whatever is formed on it."""
    told = {
        (note.job, note.mold): RatioNote(
            note=note, says=spoken_time(_HOUR_s * note.printed_h),
            noted=_HOUR_s * note.printed_h, expected=_HOUR_s * computed_h,
        )
        for note in notes
        if (computed_h := note.computed_print_h or note.told_print_h) and note.printed_h
    }  # fmt: skip
    return _learned(
        list(told.values()),
        within=PRINTING_WITHIN,
        scatter=NOTED_WITHIN,
        foretold="foretold_s",
        about="printing",
    )


def printers_of(notes: Iterable[ShotNote], shop: Shop) -> dict[str, LearnedRatio]:
    """Return hours of printing over the estimate of each printer that notes name, by its name."""
    by_printer: dict[str, list[ShotNote]] = defaultdict(list)
    for note in notes:
        printer = shop.printers.get(note.printer) if note.printer else None
        if printer is not None:
            by_printer[printer.name].append(note)
    return {name: printing_of(own) for name, own in sorted(by_printer.items())}


def _learned(
    told: Sequence[RatioNote], *, within: float, scatter: float, about: str, foretold: str
) -> LearnedRatio:
    """Return a ratio without the notes that contradict the rest, and these.

    Parameters
    ----------
    told : sequence of RatioNote
        All of them.
    within, scatter : float
        Those of `ratio_estimate`. [-]
    about, foretold : str
        What they are about, and the field of `Contradiction` for what the others foretell.
    """
    wrong = ratio_contradictions([one.ratio for one in told], scatter=scatter)
    out = {place for group in wrong for place in group}
    estimate = ratio_estimate(
        [one.ratio for place, one in enumerate(told) if place not in out],
        within=within, scatter=scatter,
    )  # fmt: skip
    groups = [[told[place] for place in group] for group in wrong]
    return LearnedRatio(
        estimate=estimate,
        left_out=tuple(
            (group[0].note, replace(_contradiction(group, estimate, foretold), about=about))
            for group in groups
        ),
    )


def _contradiction(
    group: Sequence[RatioNote], estimate: NoteEstimate | None, foretold: str
) -> Contradiction:
    names = tuple(note_text(one.note, one.says) for one in group)
    if len(names) > 1 or estimate is None:
        return Contradiction(notes=names)
    others: dict[str, Any] = {foretold: estimate.value * group[0].expected}
    return Contradiction(notes=names, **others)
