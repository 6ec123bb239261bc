"""Choices: what a person may choose about strips; imports nothing heavy, for the sake of help."""

from __future__ import annotations

from enum import StrEnum


class Turn(StrEnum):
    """Which way the rest of the strip goes, seen flat, first leg at the left, marks on top."""

    UP = "up"
    """Towards the face with the marks, which becomes the inside of the bend."""
    DOWN = "down"
    """Away from the marks, which end up on the outside of the bend."""


class LegsBy(StrEnum):
    """Where a leg is measured from and to at its bends; at an end of the strip, to the end."""

    OUTSIDE = "outside"
    """The corner in which the outer faces meet if lengthened; at a closed fold, its crest."""
    INSIDE = "inside"
    """The corner in which the inner faces meet; at a closed fold, the bottom of its gap."""
    FLAT = "flat"
    """The middle of the bend on the flat strip: the legs add up to the strip's length."""
