"""Choices: what a person may choose about molds; imports nothing heavy, for the sake of help."""

from __future__ import annotations

from enum import StrEnum


class UndersideKind(StrEnum):
    """What lies between the mold and the table."""

    RELIEF = "relief"
    """Shallow channels between pads, within a closed rim with air notches to the foot line."""
    FEET = "feet"
    """Small feet all over: air passes everywhere under the mold."""
    FLAT = "flat"
    """Nothing: the mold stands flat on the table."""


class VentKind(StrEnum):
    """How vents are opened."""

    SLITS = "slits"
    """Slits that the printer leaves open; a drilled hole where none has room."""
    DRILLED = "drilled"
    """Holes drilled after printing, from a cone underneath that guides the drill."""
    PRINTED = "printed"
    """Round holes as small as the printer makes them; they mark the part."""


class BuildWay(StrEnum):
    """How a mold is made."""

    PRINTED = "printed"
    """By a printer, in layers of plastic."""
    WOOD = "wood"
    """By hand, in layers sawn from boards of MDF or plywood."""


class HangingHoles(StrEnum):
    """How many holes a part is hung by."""

    NONE = "none"
    ONE = "one"
    """One, in the middle."""
    TWO = "two"
    """Two, as far apart as there is room."""


class FormingLook(StrEnum):
    """How closely the hot sheet is followed before anything is printed."""

    AUTO = "auto"
    """Where the mold is deep, as a preview that tells what is thin and changes nothing."""
    OFF = "off"
    """Not at all; vents are found by a rolling ball."""
    PREVIEW = "preview"
    """With few triangles, in a moment."""
    FINE = "fine"
    """As finely as the radii need, in a few seconds."""

    @property
    def is_asked(self) -> bool:
        """Whether a run is asked for, whatever the mold: vents and day then go by it."""
        return self in {FormingLook.PREVIEW, FormingLook.FINE}
