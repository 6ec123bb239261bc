"""Sheets and molds for the tests of the forming run: turned, drawn out, and flat."""

import numpy as np

from moldgen.physics.membrane.sheet_mesh import SheetMesh
from moldgen.physics.membrane.touch import MoldFaces


def quads(grid):
    """Return the triangles of a grid of points, shape (rows, columns, 3), its upper side out."""
    a, b = grid[:-1, :-1], grid[:-1, 1:]
    c, d = grid[1:, 1:], grid[1:, :-1]
    corners = np.stack([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)], axis=2)
    return corners.reshape(-1, 3, 3)


def turned(profile, *, n_around=180, **setting):
    """Return the faces of a profile (r, z), from the middle out, turned about the z axis."""
    r, z = np.array(profile, dtype=float).T
    angles = np.linspace(0, 2 * np.pi, n_around + 1)
    grid = np.stack(
        [
            r * np.cos(angles)[:, None],
            r * np.sin(angles)[:, None],
            np.broadcast_to(z, (n_around + 1, len(z))),
        ],
        axis=2,
    )
    return MoldFaces(corners_mm=quads(grid), **setting)


def drawn_out(profile, *, length, **setting):
    """Return the faces of a profile (x, z), from left to right, drawn out along y."""
    x, z = np.array(profile, dtype=float).T
    grid = np.empty((2, len(x), 3))
    grid[..., 0], grid[..., 2] = x, z
    grid[0, :, 1], grid[1, :, 1] = -length / 2, length / 2
    return MoldFaces(corners_mm=quads(grid), **setting)


def strip(width, length, *, n_across, n_along):
    """Return a long sheet of crossed rectangles, its middle over the origin, all edges held."""
    x = np.linspace(-width / 2, width / 2, n_across + 1)
    y = np.linspace(-length / 2, length / 2, n_along + 1)
    corners = np.stack(np.meshgrid(x, y), axis=2).reshape(-1, 2)
    middles = np.stack(np.meshgrid(0.5 * (x[1:] + x[:-1]), 0.5 * (y[1:] + y[:-1])), axis=2).reshape(
        -1, 2
    )
    first = (np.arange(n_along)[:, None] * (n_across + 1) + np.arange(n_across)).ravel()
    around = [first, first + 1, first + n_across + 2, first + n_across + 1]
    middle = len(corners) + np.arange(len(middles))
    triangles = [np.column_stack([middle, around[k], around[(k + 1) % 4]]) for k in range(4)]
    points = np.concatenate([corners, middles])
    held = (np.abs(points[:, 0]) > width / 2 - 1e-9) | (np.abs(points[:, 1]) > length / 2 - 1e-9)
    return SheetMesh(
        points_mm=points, triangles=np.concatenate(triangles).astype(np.int32), held=held
    )


def across(run, *, within):
    """Return place and thickness of the middle of a strip: flat x, formed x and z, thickness.

    One row for each column of cells: the four triangles of a cell are taken together.
    """
    mesh = run.mesh
    middles = mesh.points_mm[mesh.triangles].mean(axis=1)
    near = np.abs(middles[:, 1]) < within
    cell = mesh.triangles[:, 0]  # each fan's middle
    wanted = np.unique(cell[near])
    flat = np.bincount(cell, mesh.areas_mm2)[wanted]
    formed = np.bincount(cell, run.areas_mm2)[wanted]
    order = np.argsort(mesh.points_mm[wanted, 0], kind="stable")
    places = run.points_mm[wanted]
    table = np.column_stack([mesh.points_mm[wanted, 0], places[:, 0], places[:, 2], flat / formed])
    return table[order]


def trough(profile, *, length, **setting):
    """Return the faces of a profile (x, z) drawn out along y, level ground rising to its ends.

    Its ends slope over a tenth of the length each, so that a sheet finds ground all around.
    """
    x, z = np.array(profile, dtype=float).T
    grid = np.empty((4, len(x), 3))
    grid[..., 0] = x
    grid[..., 1] = np.array([-0.5, -0.4, 0.4, 0.5])[:, None] * length
    grid[..., 2] = np.array([0.0, 1.0, 1.0, 0.0])[:, None] * z
    return MoldFaces(corners_mm=quads(grid), **setting)


def block(x, y, z):
    """Return the twelve triangles of a box, each of x, y and z from one value to another."""
    corners = np.array([[a, b, c] for c in z for b in y for a in x], dtype=float)
    sides = ["0231", "4576", "0154", "2673", "0462", "1375"]
    return corners[
        np.array([[[*map(int, s[:3])], [int(s[0]), *map(int, s[2:])]] for s in sides])
    ].reshape(-1, 3, 3)
