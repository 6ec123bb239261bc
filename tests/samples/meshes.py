"""Meshes of other people, checked, measured and adapted."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import trimesh

from moldgen.arrays import Floats

from .run import Outcome, outcome_of

_METERS = 3.0
"""A mesh smaller than this is told in meters."""

_WITH_UNITS = {".3mf", ".glb"}
"""Files that state their unit."""

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
    unit = [] if path.suffix.lower() in _WITH_UNITS else ["--unit", _unit_of(path)]
    ran = {
        "check": outcome_of("check", path, out / "check", unit),
        "measure": outcome_of("measure", path, out / "measure", unit),
        "adapt": outcome_of("adapt", path, out / "adapt", ["--width", "100"]),
    }
    return Sample(name=path.name, ran=ran, is_sound=_is_sound(path))


def _unit_of(path: Path) -> str:
    """Return what the numbers of a file are likely in: parts of robots are told in meters."""
    corners = _corners_of(path)
    return "m" if len(corners) and np.ptp(corners, axis=(0, 1)).max() < _METERS else "mm"


def _is_sound(path: Path) -> bool:
    """Ask another library whether every edge has two triangles, near corners made one."""
    corners = _corners_of(path)
    if not len(corners):
        return False
    step = float(np.ptp(corners, axis=(0, 1)).max()) * _CLOSE_SHARE
    rounded = np.round(corners.reshape(-1, 3) / max(step, 1e-300)) + 0.0
    points, number = np.unique(rounded, axis=0, return_inverse=True)
    faces = number.reshape(-1, 3)
    whole = np.array([len(set(face)) == 3 for face in faces.tolist()], dtype=bool)
    closed = trimesh.Trimesh(points, faces[whole], process=False)
    return bool(closed.is_watertight and closed.is_winding_consistent)


def _corners_of(path: Path) -> Floats:
    """Return the corners of every triangle, shape (m, 3, 3); none of what cannot be read."""
    try:
        mesh: Any = trimesh.load(path, force="mesh", process=False)
        return np.asarray(mesh.triangles, dtype=np.float64)
    except Exception:  # whatever another library trips over is nothing to compare with
        return np.empty((0, 3, 3))
