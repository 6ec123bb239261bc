"""How much of an SVG drawing was met, counted, so that no drawing goes on without end."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from moldgen.errors import OutlineError
from moldgen.execution import checkpoint
from moldgen.limits import Limits
from moldgen.outline.svg.tree import spoken

_CHARACTERS = 1000
"""An element with longer attributes counts once more for each so many characters."""


class Tally:
    """Counts visits, shapes and corners of one drawing, and stops at the limits."""

    def __init__(self, limits: Limits) -> None:
        self._limits = limits
        self._visits = self._shapes = self._points = 0

    def visit(self, element: Element, depth: int) -> None:
        """Count an element that is met, however often it is used.

        Raises
        ------
        OutlineError
            If that is too often, or it lies too deep.
        """
        checkpoint()
        most = self._limits.nesting
        if depth > most:
            raise OutlineError(
                f"{spoken(element)} lies more than {most:g} levels deep, or uses itself; "
                "break the loop or flatten the groups."
            )
        self._visits += 1 + sum(map(len, element.attrib.values())) // _CHARACTERS
        if self._visits > self._limits.visits:
            raise OutlineError(
                f"The drawing uses its groups and shapes more than {self._limits.visits:,.0f} "
                "times; export only the outlines."
            )

    def shape(self) -> None:
        """Count a shape.

        Raises
        ------
        OutlineError
            If there are too many.
        """
        self._shapes += 1
        if self._shapes > self._limits.shapes:
            raise OutlineError(
                f"The drawing has more than {self._limits.shapes:g} shapes; "
                "export only the outlines."
            )

    def points(self, count: int) -> None:
        """Count corners.

        Raises
        ------
        OutlineError
            If there are too many.
        """
        self._points += count
        if self._points > self._limits.points:
            raise OutlineError(
                f"The drawing has {self._points:,} corners, more than "
                f"{self._limits.points:,.0f}; simplify its outlines."
            )
