"""Experience: what the notes of a forming table say of times, lives and thicknesses there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from math import exp, hypot, log, sqrt
from typing import Any

from moldgen.stock.plastic import Sheet

USUAL_mm = 1.5
"""Gauge that others are compared with where heating goes by the thickness. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteEstimate:
    """A number learned from notes.

    Attributes
    ----------
    value, low, high : float
        The number, and between what it lies in nine cases of ten; all in its own unit.
    n_notes : int
        How many notes are behind it.
    spread : float
        Of a factor, within what factor of it a single next one lies in nine cases of ten; 1 if
        that is not told. [-]
    """

    value: float
    low: float
    high: float
    n_notes: int
    spread: float = 1.0

    @property
    def next(self) -> NoteEstimate:
        """The same of a single next one: what is not known of the factor, and its scatter."""
        one = log(self.spread)
        sooner = hypot(log(self.value / self.low), one)
        later = hypot(log(self.high / self.value), one)
        return NoteEstimate(
            value=self.value, low=self.value * exp(-sooner), high=self.value * exp(later),
            n_notes=self.n_notes,
        )  # fmt: skip

    def times(self, amount: float) -> NoteEstimate:
        """Return this factor's product with an amount, in the amount's unit."""
        return NoteEstimate(
            value=self.value * amount, low=self.low * amount, high=self.high * amount,
            n_notes=self.n_notes,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatingRecord:
    r"""How heating on a table differs from what is computed, after sheets were timed.

    Attributes
    ----------
    plastics : tuple of str
        Plastics that were timed.
    means : tuple of float
        Logarithms: of the table's factor, the exponent of the thickness, and of the factor of
        each plastic. [-]
    covariance : tuple of tuple of float
        Of these. [-]
    other_width : float
        Standard deviation of the logarithm of the factor of a plastic nobody timed. [-]
    scatter : float
        Standard deviation of the logarithm of one sheet's time. [-]
    reach : float
        How many standard deviations to either side nine cases of ten lie. [-]
    n_notes : int
        How many sheets were timed.

    Notes
    -----
    .. math:: \ln \frac{\text{right time}}{\text{computed}} = a + b_{plastic}
       + c \ln \frac{\text{gauge}}{1.5\,\text{mm}}
    """

    plastics: tuple[str, ...]
    means: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    other_width: float
    scatter: float
    reach: float
    n_notes: int

    def factor(self, sheet: Sheet) -> NoteEstimate:
        """Return the time that is right for a sheet, over what is computed for it. [-]."""
        return self._estimate(*self._mean_and_width(sheet))

    def next_factor(self, sheet: Sheet) -> NoteEstimate:
        """Return the same of the next such sheet, which may be thicker or thinner. [-]."""
        mean, width = self._mean_and_width(sheet)
        return self._estimate(mean, hypot(width, self.scatter))

    @property
    def table_factor(self) -> NoteEstimate:
        """The same for the usual gauge of any plastic. [-]."""
        return self._estimate(self.means[0], sqrt(self.covariance[0][0]))

    def _mean_and_width(self, sheet: Sheet) -> tuple[float, float]:
        name = sheet.plastic.name
        row = (
            1.0,
            log(sheet.gauge_mm / USUAL_mm),
            *(float(name == one) for one in self.plastics),
        )
        mean = sum(share * one for share, one in zip(row, self.means, strict=True))
        variance = sum(
            first * second * one
            for first, line in zip(row, self.covariance, strict=True)
            for second, one in zip(row, line, strict=True)
        )
        other = 0.0 if name in self.plastics else self.other_width
        return mean, hypot(sqrt(variance), other)

    def _estimate(self, mean: float, width: float) -> NoteEstimate:
        off = self.reach * width
        return NoteEstimate(
            value=exp(mean), low=exp(mean - off), high=exp(mean + off), n_notes=self.n_notes
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CyclesStood:
    """How many cycles molds of a filament stand.

    Attributes
    ----------
    filament : str
        What they were printed from.
    cycles : NoteEstimate
        On average; its notes are molds.
    n_ended : int
        How many of them were given up.
    n_cycles : int
        Cycles that all of them have behind them.
    """

    filament: str
    cycles: NoteEstimate
    n_ended: int
    n_cycles: int


def stood_of(lives: Iterable[CyclesStood], filament: str) -> CyclesStood | None:
    """Return what is known of molds of a filament, by its name in stock; None if nothing."""
    return next((one for one in lives if one.filament == filament), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """Notes that do not go with the others, and are not counted.

    Attributes
    ----------
    notes : tuple of str
        Each by its day, its job and what it says. One is wrong by itself; of several nothing tells
        which is.
    about : str
        What they are about, such as ``cooling``; empty for heating.
    foretold_s, foretold_mm, foretold_cycles : float or None
        What the others foretell of a time, a thickness or cycles; None for several. [s] [mm] [-]
    """

    notes: tuple[str, ...]
    about: str = ""
    foretold_s: float | None = None
    foretold_mm: float | None = None
    foretold_cycles: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PrinterExperience:
    """What the notes say of one printer, whatever is formed where.

    Attributes
    ----------
    printer : str
        Its name in stock.
    printing : NoteEstimate
        Hours of printing over the estimate. [-]
    """

    printer: str
    printing: NoteEstimate


@dataclass(frozen=True, slots=True, kw_only=True)
class TableExperience:
    """What the notes of one forming table say.

    Attributes
    ----------
    machine : str
        Its name in stock.
    heating : HeatingRecord or None
        Right over computed heating times; None, as in the others, if no note tells.
    cooling, thickness : NoteEstimate or None
        Time on the mold over what is computed; measured over computed thickness. [-]
    printing : NoteEstimate or None
        Hours of printing over the estimate, on printers that the notes do not name. [-]
    lives : tuple of CyclesStood
        By filament.
    left_out : tuple of Contradiction
        Notes that are not counted for what they say of it.
    """

    machine: str
    heating: HeatingRecord | None = None
    cooling: NoteEstimate | None = None
    thickness: NoteEstimate | None = None
    printing: NoteEstimate | None = None
    lives: tuple[CyclesStood, ...] = ()
    left_out: tuple[Contradiction, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Experience:
    """What the notes of all tables say."""

    tables: tuple[TableExperience, ...] = ()
    printers: tuple[PrinterExperience, ...] = ()

    def of(self, machine: str) -> TableExperience | None:
        """Return what is known of a table, by its name in stock; None if there are no notes."""
        return next((one for one in self.tables if one.machine == machine), None)

    def printing(self, printer: str, machine: str = "") -> NoteEstimate | None:
        """Return hours of printing over the estimate: of a printer, by its name in stock. [-].

        Where no note names it, what notes of the table say that name no printer.
        """
        own = next((one.printing for one in self.printers if one.printer == printer), None)
        table = self.of(machine)
        return own or (None if table is None else table.printing)

    @property
    def of_molds(self) -> Experience:
        """What of it changes what is told of a mold: all but the notes that are not counted."""
        tables = (replace(one, left_out=()) for one in self.tables)
        told = (one for one in tables if one != TableExperience(machine=one.machine))
        return replace(self, tables=tuple(told))


def experience_words(experience: Experience) -> dict[str, Any]:
    """Return what is known of molds in words that JSON can hold; none without notes."""
    told = experience.of_molds
    return {} if told == NO_NOTES else asdict(told)


def experience_from_words(words: Mapping[str, Any]) -> Experience:
    """Return the experience of molds that `experience_words` tells of."""
    return Experience(
        tables=tuple(map(_table_from_words, words.get("tables", ()))),
        printers=tuple(
            PrinterExperience(printer=one["printer"], printing=NoteEstimate(**one["printing"]))
            for one in words.get("printers", ())
        ),
    )


def _table_from_words(words: Mapping[str, Any]) -> TableExperience:
    cooling, thickness, printing = (
        None if words[name] is None else NoteEstimate(**words[name])
        for name in ("cooling", "thickness", "printing")
    )
    return TableExperience(
        machine=words["machine"],
        heating=words["heating"] and _heating_from_words(words["heating"]),
        lives=tuple(
            CyclesStood(**{**one, "cycles": NoteEstimate(**one["cycles"])})
            for one in words["lives"]
        ),
        cooling=cooling,
        thickness=thickness,
        printing=printing,
    )


def _heating_from_words(words: Mapping[str, Any]) -> HeatingRecord:
    told = dict(words)
    for name in ("plastics", "means"):
        told[name] = tuple(told[name])
    told["covariance"] = tuple(map(tuple, told["covariance"]))
    return HeatingRecord(**told)


NO_NOTES = Experience()
"""What is known without a log."""
