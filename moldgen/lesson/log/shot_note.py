"""What was seen at one forming shot: the note that the log keeps."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from moldgen.quantity import Meaning, Quantity, Spec


class Outcome(StrEnum):
    """What a formed part was like when it came off."""

    GOOD = "good"
    WEB = "web"
    HOLE = "hole"
    THIN = "thin"
    LUMPS = "lumps"
    MARKS = "marks"
    STUCK = "stuck"
    SOFT_MOLD = "soft-mold"


@dataclass(frozen=True, slots=True, kw_only=True)
class CaliperReading(Spec):
    """The thickness of a part, measured at one place.

    Attributes
    ----------
    place : str
        Where, in words.
    thickness_mm : float
        What the caliper told. [mm]
    computed_mm : float or None
        What the forming run told for that place, if there was one. [mm]
    """

    place: Annotated[str, Meaning("where it was measured, in words")]
    thickness_mm: Annotated[float, Quantity("mm", "thickness measured", above=0, at_most=25)]
    computed_mm: Annotated[
        float | None, Quantity("mm", "thickness computed there", above=0, at_most=25)
    ] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotNote(Spec):
    """What happened at one shot.

    Attributes
    ----------
    noted : str
        Day and time, as ISO 8601 says them, without zone.
    job : str
        The job that the mold was made by: its name.
    cycle : int
        The how-manieth shot on this mold, from 1.
    machine, plastic : str
        Forming machine and plastic, as the stock calls them.
    thickness_mm : float
        Gauge of the sheet. [mm]
    heated_s, formed_s, cooled_s : float or None
        How long the sheet was heated until it was right, how long the vacuum held, how long the
        part cooled on the mold; None if nobody looked. [s]
    told_heat_s, told_cool_s : float or None
        What the job card said. [s]
    computed_cool_s : float or None
        What was computed for the cooling, where the log had corrected the card. [s]
    seen : tuple of Outcome
        What the part was like; ``(Outcome.GOOD,)`` if nothing was wrong.
    readings : tuple of CaliperReading
        Thicknesses that were measured.
    printed_h, told_print_h : float or None
        How long the mold really took to print, and what was told. [h]
    computed_print_h : float or None
        The estimate, where the log had corrected what was told. [h]
    printer : str
        What printed the mold, as the stock calls it; empty if that is not known.
    filament : str
        Of the printed mold, as the stock calls it; empty if it is not printed.
    mold_ended : bool
        Whether the mold was given up after this shot.
    who, remark, photo : str
        Who noted it, in their own words, and the name of a picture; empty if none.
    mold : str
        Which of several molds of that job, in words such as a name; empty if there is one. The
        cycles of each are counted by themselves.
    """

    noted: Annotated[str, Meaning("day and time of the shot, such as 2026-03-04T10:20")]
    job: Annotated[str, Meaning("name of the job that the mold was made by")]
    machine: Annotated[str, Meaning("forming machine, as the stock calls it")]
    plastic: Annotated[str, Meaning("plastic of the sheet, as the stock calls it")]
    thickness_mm: Annotated[float, Quantity("mm", "gauge of the sheet", above=0, at_most=25)]
    cycle: Annotated[
        int, Quantity("", "shot on this mold, from 1", at_least=1, at_most=100_000)
    ] = 1
    heated_s: Annotated[
        float | None, Quantity("s", "heated until it was right", above=0, at_most=3600)
    ] = None
    formed_s: Annotated[float | None, Quantity("s", "vacuum held", above=0, at_most=3600)] = None
    cooled_s: Annotated[
        float | None, Quantity("s", "cooled on the mold", above=0, at_most=3600)
    ] = None
    told_heat_s: Annotated[
        float | None, Quantity("s", "heating time on the card", above=0, at_most=3600)
    ] = None
    told_cool_s: Annotated[
        float | None, Quantity("s", "cooling time on the card", above=0, at_most=3600)
    ] = None
    computed_cool_s: Annotated[
        float | None, Quantity("s", "cooling time without the log", above=0, at_most=3600)
    ] = None
    seen: Annotated[tuple[Outcome, ...], Meaning("what the part was like")] = (Outcome.GOOD,)
    readings: Annotated[tuple[CaliperReading, ...], Meaning("thicknesses measured")] = ()
    printed_h: Annotated[
        float | None, Quantity("h", "printing of the mold, really", above=0, at_most=500)
    ] = None
    told_print_h: Annotated[
        float | None, Quantity("h", "printing of the mold, estimated", above=0, at_most=500)
    ] = None
    computed_print_h: Annotated[
        float | None, Quantity("h", "printing of the mold, without the log", above=0, at_most=500)
    ] = None
    printer: Annotated[str, Meaning("printer of the mold, as the stock calls it")] = ""
    filament: Annotated[str, Meaning("filament of the mold, as the stock calls it")] = ""
    mold_ended: Annotated[bool, Meaning("whether the mold was given up after it")] = False
    who: Annotated[str, Meaning("who noted it")] = ""
    remark: Annotated[str, Meaning("in own words")] = ""
    photo: Annotated[str, Meaning("name of a picture of it")] = ""
    mold: Annotated[str, Meaning("which of several molds of that job, such as a name")] = ""


def has_trouble(note: ShotNote) -> bool:
    """Tell whether anything was wrong with the part."""
    return note.seen != (Outcome.GOOD,)
