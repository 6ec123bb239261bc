"""How much sheet stays round a formed part: by what the part is; all of it common practice."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

BASIS = "common practice, no source"

DEEP_MM = 25.0
"""Height from which a part is a tray with a flange, and not a sign in a trimmed sheet. [mm]."""

TRAY_FLANGE_MM = 50.0
"""Flange left all round a deep part after trimming. [mm]."""

SIGN_FLANGE_MM = 25.0
"""Border left all round raised letters after trimming: 25 to 30 mm. [mm]."""

PLAQUE_FLANGE_MM = 10.0
"""Border left round the foot of a plaque. [mm]."""

RIM_MM = 10.0
"""Rim of a tray formed in a female mold, on the top of its block: 10 to 15 mm. [mm]."""

RIM_UP_TO_MM = 15.0


class TrimUse(StrEnum):
    """What stands in the sheet, as far as its trim line goes."""

    LETTERS = "letters"
    """Letters that stand on the table: the sheet is the plate."""
    PLAQUE = "plaque"
    """A low body that carries what is raised on it."""
    RELIEF = "relief"
    """Any other low body."""
    TRAY = "tray"
    """A deep body that the sheet is drawn over."""
    RIM = "rim"
    """A recess that the sheet is drawn into."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlangeRule:
    """How much sheet stays, and why.

    Attributes
    ----------
    flange_mm : float
        From where the part ends to the line. [mm]
    place : str
        What it is measured from, in words.
    because : str
        The reason; empty where there is none beyond the habit.
    """

    flange_mm: float
    place: str
    because: str = ""


FLANGES = {
    TrimUse.LETTERS: FlangeRule(
        flange_mm=SIGN_FLANGE_MM,
        place="outside the letters",
        because="the sheet is the plate, and a straight-edge lies on it beside them",
    ),
    TrimUse.PLAQUE: FlangeRule(
        flange_mm=PLAQUE_FLANGE_MM,
        place="outside the plaque's foot",
        because="the plaque is the border, and the blade clears the bend",
    ),
    TrimUse.RELIEF: FlangeRule(
        flange_mm=SIGN_FLANGE_MM,
        place="outside the mold",
        because="a straight-edge lies on the sheet beside it",
    ),
    TrimUse.TRAY: FlangeRule(
        flange_mm=TRAY_FLANGE_MM,
        place="outside the bend",
        because="a tray lies flat on so much flange",
    ),
    TrimUse.RIM: FlangeRule(
        flange_mm=RIM_MM,
        place="outside the recess, on the flat top of the block",
        because=f"the rim of a tray is {RIM_MM:g} to {RIM_UP_TO_MM:g} mm, and what hangs down "
        "outside the block is no part of it",
    ),
}


def flange_mm(height_mm: float) -> float:
    """Return the flange that a part of this height is trimmed to. [mm]."""
    return TRAY_FLANGE_MM if height_mm >= DEEP_MM else SIGN_FLANGE_MM
