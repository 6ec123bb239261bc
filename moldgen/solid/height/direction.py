"""Which way a part comes off best: with the least undercut, then the least draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.arrays import Floats
from moldgen.solid.height.relief import cell_for, relief_of
from moldgen.solid.mesh import Mesh

_N_AROUND = 200
_N_FACES = 24
_N_CELLS = 6_000
_N_CELLS_FINE = 60_000
_MOST_TRIANGLES = 60_000
_EVEN_SHARE = 0.005
"""Directions whose filled shares differ by less than this are told apart by their draw."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionScore:
    """One way to take a part off.

    Attributes
    ----------
    direction : tuple of three floats
        Unit vector along which the part comes off, in the mesh's own axes.
    filled : float
        Undercut to be filled down to the table, as a share of the volume of the part (of its
        area, where the mesh is open).
    draw : float
        Area of what the sheet covers over the area it stands on.
    """

    direction: tuple[float, float, float]
    filled: float
    draw: float


def turned(mesh: Mesh, direction: tuple[float, float, float]) -> Mesh:
    """Return a mesh turned so that a direction points up, standing on the table, middle at 0.

    Parameters
    ----------
    direction : tuple of three floats
        Any length but 0.
    """
    points = mesh.points_mm @ axes_of(direction).T
    low, high = points.min(axis=0), points.max(axis=0)
    shift = np.array([*((low + high) / 2)[:2], low[2]])
    return Mesh(points - shift, mesh.triangles)


def axes_of(direction: tuple[float, float, float]) -> Floats:
    """Return unit vectors across, along and up a direction, as rows, shape (3, 3).

    Straight up leaves everything as it is; straight down turns it over about x.
    """
    up = np.array(direction, dtype=np.float64)
    up /= np.linalg.norm(up)
    if up[2] > 1 - 1e-12:
        return np.eye(3)
    if up[2] < -1 + 1e-12:
        return np.diag([1.0, -1.0, -1.0])
    # Turn about the level line square to it: what is level there stays level.
    across = np.cross([0.0, 0.0, 1.0], up)
    across /= np.linalg.norm(across)
    cosine, sine = up[2], np.hypot(up[0], up[1])
    x, y, z = across
    skew = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    # Rodrigues' formula for the turn back that takes ``up`` to z.
    turn = np.eye(3) * cosine + (1 - cosine) * np.outer(across, across) - sine * skew
    return np.asarray(turn)


def best_direction(mesh: Mesh, *, closed: bool) -> DirectionScore:
    """Return the direction that needs the least filling; among equals, the one that draws least.

    Tried are directions all around, the six axes and the mesh's own largest faces, either way.

    Parameters
    ----------
    mesh : Mesh
        The part in any position. [mm]
    closed : bool
        Whether it encloses a volume.
    """
    coarse = _thinned(mesh) if len(mesh.triangles) > _MOST_TRIANGLES else mesh
    tried = [score_of(coarse, d, closed=closed) for d in _directions(mesh)]
    # The few that look best are looked at more closely.
    first = sorted(tried, key=lambda score: (score.filled, score.draw))[:12]
    fine = [score_of(mesh, p.direction, closed=closed, n_cells=_N_CELLS_FINE) for p in first]
    least = min(score.filled for score in fine)
    even = [score for score in fine if score.filled <= least + _EVEN_SHARE]
    return min(even, key=lambda score: (round(score.draw, 2), round(score.filled, 4)))


def score_of(
    mesh: Mesh, direction: tuple[float, float, float], *, closed: bool, n_cells: int = _N_CELLS
) -> DirectionScore:
    """Measure one way to take a part off."""
    stood = turned(mesh, direction)
    relief = relief_of(stood, cell_mm=cell_for(stood, n_cells=n_cells))
    area = relief.cell_mm**2
    covered = float(relief.covered.sum()) * area
    up = stood.area_vectors_mm2[:, 2]
    heights = relief.on_table_mm
    steps = np.abs(np.diff(heights, axis=0)).sum() + np.abs(np.diff(heights, axis=1)).sum()
    rim = heights[0].sum() + heights[-1].sum() + heights[:, 0].sum() + heights[:, -1].sum()
    draw = 1 + float(steps + rim) * relief.cell_mm / max(covered, 1e-12) * np.pi / 4
    if closed:
        volume = abs(stood.volume_mm3)
        filled = (float(heights.sum()) * area - volume) / max(volume, 1e-12)
    else:
        whole = float(np.abs(up).sum())
        away = float(-up[up < 0].sum())
        hidden = max(0.0, float(up[up > 0].sum()) - covered)
        filled = (away + hidden) / max(whole, 1e-12)
    return DirectionScore(direction=direction, filled=max(0.0, filled), draw=float(draw))


def _thinned(mesh: Mesh) -> Mesh:
    """Return a mesh with its points on a coarse lattice: fewer triangles, nearly the same shape."""
    span = float(np.ptp(mesh.bounds_mm, axis=0).max())
    lattice = np.round((mesh.points_mm - mesh.bounds_mm[0]) / max(span / 120, 1e-12))
    cells, number = np.unique(lattice, axis=0, return_inverse=True)
    faces = number.ravel()[mesh.triangles]
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (a != c)]
    if not len(faces):
        return mesh
    return Mesh(cells * (span / 120) + mesh.bounds_mm[0], faces.astype(np.int32))


def _directions(mesh: Mesh) -> list[tuple[float, float, float]]:
    """Return the axes, the normals of the largest faces and directions spread evenly."""
    k = np.arange(_N_AROUND) + 0.5
    height = 1 - 2 * k / _N_AROUND
    turn = k * np.pi * (3 - np.sqrt(5))
    level = np.sqrt(1 - height**2)
    around = np.column_stack([level * np.cos(turn), level * np.sin(turn), height])
    areas = mesh.areas_mm2
    normals = mesh.area_vectors_mm2[areas > 0] / areas[areas > 0][:, None]
    kinds, number = np.unique(np.round(normals, 3) + 0.0, axis=0, return_inverse=True)
    weight = np.bincount(number.ravel(), weights=areas[areas > 0])
    largest = np.argsort(-weight, kind="stable")[:_N_FACES]
    # The mean of a kind of face is truer than its rounded name.
    sums = np.zeros((len(kinds), 3))
    np.add.at(sums, number.ravel(), mesh.area_vectors_mm2[areas > 0])
    faces = sums[largest] / np.maximum(np.linalg.norm(sums[largest], axis=1), 1e-12)[:, None]
    axes = np.vstack([np.eye(3)[[2, 1, 0]], -np.eye(3)[[2, 1, 0]]])
    every = np.vstack([axes, faces, -faces, around])
    every = every[np.abs(np.linalg.norm(every, axis=1) - 1) < 1e-6]
    return [(float(x), float(y), float(z)) for x, y, z in every]
