"""The section of a wall: floor, base fillet, straight wall at its draft, top fillet, top."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sin, tan

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import SpecError
from moldgen.solid.arcs import chords_for

SHARP_MM = 0.02
"""A radius smaller than this is no fillet: its bands would be finer than any printer. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """One smooth curve ``z(d)`` from the floor to the top of a wall.

    ``d`` is the distance inward from the outline, which is read where the sharp wall (no
    fillets) is ``read_mm`` above the floor. The curve rises from ``z = 0`` to ``z = height_mm``.

    Attributes
    ----------
    height_mm : float
        Top above the floor. [mm]
    draft_deg : float
        Lean of the straight wall from the upright. [°]
    base_radius_mm, top_radius_mm : float
        Radius of the concave fillet at the floor and of the convex one at the top; less than
        ``SHARP_MM`` is taken as 0. [mm]
    read_mm : float
        Height at which the outline is read: 0 at the foot, ``height_mm`` at the top. [mm]

    Raises
    ------
    SpecError
        If the two fillets do not fit on a wall of this height and draft.
    """

    height_mm: float
    draft_deg: float
    base_radius_mm: float
    top_radius_mm: float
    read_mm: float

    def __post_init__(self) -> None:
        for field in ("base_radius_mm", "top_radius_mm"):
            if 0 < getattr(self, field) < SHARP_MM:
                object.__setattr__(self, field, 0.0)
        most = fillet_room_mm(self.height_mm, self.draft_deg)
        if self.base_radius_mm + self.top_radius_mm > most * (1 + 1e-9):
            raise SpecError(
                "top and base radius together",
                f"at most {most:.3g} mm on a wall {self.height_mm:g} mm tall at "
                f"{self.draft_deg:g}° draft",
                f"{self.top_radius_mm:g} + {self.base_radius_mm:g} mm",
                "Use smaller radii or a taller wall.",
            )

    @property
    def foot_mm(self) -> float:
        """Where the wall leaves the floor; negative is outside the outline. [mm]."""
        return self._wall_at_mm(0.0) - self.base_radius_mm * self._half_turn

    @property
    def inset_mm(self) -> float:
        """Where the wall reaches the top flat, inward from the outline. [mm]."""
        return self._wall_at_mm(self.height_mm) + self.top_radius_mm * self._half_turn

    @property
    def _half_turn(self) -> float:
        return tan(radians(90 - self.draft_deg) / 2)

    def _wall_at_mm(self, z_mm: float) -> float:
        return (z_mm - self.read_mm) * tan(radians(self.draft_deg))

    def height_at_mm(self, inset_mm: float) -> float:
        """Return how high the wall stands at a distance inward from the outline. [mm]."""
        d, z = self.stations(chord_mm=0.002)
        return float(np.interp(inset_mm, d, z))

    def stations(
        self, *, chord_mm: float = 0.01
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return points on the curve that no chord leaves by more than ``chord_mm``.

        Returns
        -------
        d_mm, z_mm : ndarray, shape (k,)
            Inward distance (never falling) and height (rising). [mm]
        """
        turn = radians(90 - self.draft_deg)
        base = np.linspace(0.0, turn, _steps(self.base_radius_mm, turn, chord_mm) + 1)
        top = np.linspace(turn, 0.0, _steps(self.top_radius_mm, turn, chord_mm) + 1)
        foot_d = self._wall_at_mm(0.0) - self.base_radius_mm * tan(turn / 2)
        top_d = self._wall_at_mm(self.height_mm) + self.top_radius_mm * tan(turn / 2)
        d = np.concatenate(
            [foot_d + self.base_radius_mm * np.sin(base), top_d - self.top_radius_mm * np.sin(top)]
        )
        z = np.concatenate(
            [
                self.base_radius_mm * (1 - np.cos(base)),
                self.height_mm - self.top_radius_mm * (1 - np.cos(top)),
            ]
        )
        keep = np.concatenate([[True], np.hypot(np.diff(d), np.diff(z)) > 1e-6])
        return d[keep], z[keep]


def fillet_room_mm(height_mm: float, draft_deg: float) -> float:
    """Return the greatest sum of base and top radius on a wall. [mm].

    Each fillet of radius ``r`` takes ``r (1 - sin a)`` of the height, ``a`` being the draft
    (plane geometry).
    """
    return height_mm / (1 - sin(radians(draft_deg)))


def _steps(radius_mm: float, turn: float, chord_mm: float) -> int:
    """Return into how many chords an arc is cut so that none strays further than allowed."""
    if radius_mm == 0:
        return 0
    return chords_for(radius_mm, turn, chord_mm=chord_mm)
