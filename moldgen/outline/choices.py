"""Choices: what a person may choose about outlines; imports nothing heavy, for the sake of help."""

from __future__ import annotations

from enum import StrEnum


class Align(StrEnum):
    """Where the lines of a text meet: measured on the ink, as the eye does."""

    LEFT = "left"
    CENTER = "center"
    RIGHT = "right"

    @classmethod
    def _missing_(cls, value: object) -> Align | None:
        return cls.CENTER if value == "centre" else None


class StrokeUse(StrEnum):
    """What becomes of the painted width of a line."""

    AUTO = "auto"
    """As outline where nothing is filled and the lines are drawn broad, else as ignore."""
    IGNORE = "ignore"
    """Only filled shapes count; lines without a fill count when nothing is filled."""
    OUTLINE = "outline"
    """A painted line is an area as wide as the line is drawn."""


class Along(StrEnum):
    """What line words follow."""

    LINE = "line"
    """A straight one."""
    EDGE = "edge"
    """The upper edge of what they stand on."""
    CIRCLE = "circle"
    """The top of the largest circle in what they stand on."""
