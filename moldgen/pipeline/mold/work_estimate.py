"""How long a mold will take, foreseen from its outlines before anything is built of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon

from moldgen.errors import SpecError
from moldgen.execution import limits_now
from moldgen.mold.features import Direction, Feature
from moldgen.wording import clock_text

WORTH_TELLING_s = 60.0
"""Work of less is not told beforehand."""

# Measured on one processor: words of 100 to 1000 letters, trays of 64 and 196 places. A place of a
# tray of 400 takes longer than one of 64, so that it is set for the larger ones.
_CORNER_s = 4e-4
_RECESS_s = 0.2


@dataclass(slots=True)
class WorkEstimate:
    """What is to be built, counted while outlines are laid.

    Attributes
    ----------
    n_pieces, n_recesses, n_corners : int
        Pieces of outlines, those that are sunk among them, and their corners.
    """

    n_pieces: int = 0
    n_recesses: int = 0
    n_corners: int = 0

    @property
    def time_s(self) -> float:
        """About how long it takes; half or three times that for odd shapes. [s]."""
        return _CORNER_s * self.n_corners + _RECESS_s * self.n_recesses

    def add(self, region: MultiPolygon, direction: Direction) -> None:
        """Count an outline.

        Raises
        ------
        SpecError
            If it makes the work longer than may be begun.
        """
        n_pieces = len(region.geoms)
        self.n_pieces += n_pieces
        self.n_recesses += n_pieces if direction is Direction.SUNK else 0
        self.n_corners += int(shapely.get_num_coordinates(region))
        most_s = limits_now().work_s
        if self.time_s > most_s:
            raise SpecError(
                "the job",
                f"work for at most {clock_text(most_s)}",
                f"more than that: {self.n_pieces:,} pieces with {self.n_corners:,} corners",
                "Make several jobs of it, or take fewer and plainer outlines.",
            )

    def told(self, doing: str) -> str:
        """Return what a stage is called, with the time if it is long."""
        if self.time_s < WORTH_TELLING_s:
            return doing
        return f"{doing}; all of it takes about {clock_text(self.time_s)}"


def refuse_wide(bodies: Sequence[Feature]) -> None:
    """Raise `SpecError` if bodies reach farther across than may be built."""
    x0, y0, x1, y1 = shapely.total_bounds([body.region for body in bodies])
    widest_mm, most_mm = max(x1 - x0, y1 - y0), limits_now().mold_mm
    if widest_mm > most_mm:
        raise SpecError(
            "the mold", f"at most {most_mm:g} mm across", f"{widest_mm:.0f} mm",
            "Make it smaller, or move its bodies nearer.",
        )  # fmt: skip
