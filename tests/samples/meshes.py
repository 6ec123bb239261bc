"""Meshes of other people, checked, measured and adapted."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import trimesh

from .run import Outcome, outcome_of

_CLOSE_SHARE = 1e-9
"""Corners nearer than this share of a mesh are one, in the second opinion."""


@dataclass(frozen=True, kw_only=True)
class Sample:
    """What became of one mesh.

    Attributes
    ----------
    name : str
        Of its file.
    ran : dict
        Outcome of each command.
    is_sound : bool
        Whether another library finds it closed.
    """

    name: str
    ran: dict[str, Outcome]
    is_sound: bool

    @property
    def is_told_open(self) -> bool:
        """Whether a sound solid is told to have holes."""
        return self.is_sound and "mesh-open" in self.ran["check"].codes


def sample_of(path: Path, out: Path) -> Sample:
    """Check, measure and adapt one mesh."""
    unit = _unit_of(path)
    ran = {
        "check": outcome_of("check", path, out / "check", ["--unit", unit]),
        "measure": outcome_of("measure", path, out / "measure", ["--unit", unit]),
        "adapt": outcome_of("adapt", path, out / "adapt", ["--width", "100"]),
    }
    return Sample(name=path.name, ran=ran, is_sound=_is_sound(path))


def _unit_of(path: Path) -> str:
    """Return what the numbers of a file are likely in: parts of robots are told in meters."""
    try:
        return "m" if np.ptp(trimesh.load(path, force="mesh").bounds, axis=0).max() < 3 else "mm"
    except Exception:  # what cannot be read has no unit
        return "mm"


def _is_sound(path: Path) -> bool:
    """Ask another library whether every edge has two triangles, near corners made one."""
    try:
        mesh = trimesh.load(path, force="mesh", process=False)
        span = float(np.ptp(mesh.bounds, axis=0).max())
        _, first, number = np.unique(
            np.round(mesh.vertices / (span * _CLOSE_SHARE)),
            axis=0, return_index=True, return_inverse=True,
        )  # fmt: skip
        faces = number.ravel()[mesh.faces]
        whole = np.array([len(set(face)) == 3 for face in faces.tolist()], dtype=bool)
        closed = trimesh.Trimesh(mesh.vertices[first], faces[whole], process=False)
        return bool(closed.is_watertight and closed.is_winding_consistent)
    except Exception:  # another library's word only: whatever it trips over is not sound
        return False
