"""How closely a mold is built: to be looked at while it changes, or to be printed."""

from __future__ import annotations

from enum import StrEnum


class Quality(StrEnum):
    """How closely every geometric stage of a mold works."""

    PREVIEW = "preview"
    """Walls of coarser chords, and nothing cut from below: quick, to be looked at."""
    FINAL = "final"
    """As it is printed."""

    @property
    def chord_mm(self) -> float:
        """Greatest distance between a wall's profile and its chords. [mm]."""
        return 0.06 if self is Quality.PREVIEW else 0.01

    @property
    def cuts_underside(self) -> bool:
        """Whether bores, underside, label and insert are cut into the bodies."""
        return self is Quality.FINAL
