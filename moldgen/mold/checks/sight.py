"""Where the sheet can lie: what is seen along the draw direction, what is hidden, and what grips.

The sheet comes from above, so it lies on what can be seen from above. Surface that faces down, or
lies under such surface, is hidden. A hidden place grips the part only if the sheet gets there:
through a *mouth*, an edge where the surface turns from a face that does not look down to one that
does. Three kinds of hidden surface have no mouth and are left out:

* the underside, and what is hollowed into it, because the sheet seals on the table at the foot;
* what has its mouth lower than `LOW_MM` (or two gauges): the sheet is too stiff to turn in there;
* the inside of a hole or a slit not wider than two gauges: the sheet spans it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.arrays import Flags, Floats, Indices
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.rays import Targets, targets
from moldgen.solid.topology import groups

LOW_MM = 4.0
"""Gap above the table that the sheet does not turn in under. Common practice, no source. [mm]."""

LEVEL_DEG = -89.0
"""Lean below which low surface is an underside on feet, and no part of a wall above it. [°]."""

LEAST_TURN_DEG = 0.05
"""Lean past the draw direction, over and above the triangle's own uncertainty, that counts. [°]."""

_STEEP = 0.7
"""Sine of the lean from the draw direction up to which a face is a wall rather than a floor."""

_FACING = 0.9
"""Cosine from which a wall is one that faces a ray."""

_NUDGE_MM = 1e-3


@dataclass(frozen=True, eq=False, kw_only=True)
class Mouths:
    """Edges through which the sheet gets under a body.

    Attributes
    ----------
    ends_mm : ndarray, shape (k, 2, 3)
        Ends of the edges. [mm]
    patch : ndarray, shape (k,)
        Number of the patch each one leads to.
    """

    ends_mm: Floats
    patch: Indices


@dataclass(frozen=True, eq=False, kw_only=True)
class Sight:
    """What is seen along the draw direction and what is not, per triangle.

    Attributes
    ----------
    down : ndarray, shape (m,)
        Whether the triangle faces away from the draw direction, beyond doubt.
    patch : ndarray, shape (m,)
        Number of the connected patch of facing-down triangles above the table; -1 for none.
    open_patches : ndarray, shape (n_patches,)
        Whether the sheet gets under the patch.
    cover : ndarray, shape (m,)
        Facing-down triangle that hides the triangle's middle; -1 for none.
    bore : ndarray, shape (m,)
        Whether the triangle is an upright wall of a hole or a slit that the sheet spans.
    mouths : Mouths
        Where the sheet gets under the open patches.
    ceilings, ceiling : Targets, ndarray
        The facing-down triangles ready to look at, and their numbers.
    """

    down: Flags
    patch: Indices
    open_patches: Flags
    cover: Indices
    bore: Flags
    mouths: Mouths
    ceilings: Targets
    ceiling: Indices

    @property
    def seen(self) -> Flags:
        """Triangles that the sheet comes to lie on from above."""
        return np.asarray(~self.down & (self.cover < 0) & ~self.bore)

    @property
    def grips(self) -> Flags:
        """Facing-down triangles that the sheet gets under."""
        return np.asarray((self.patch >= 0) & np.append(self.open_patches, False)[self.patch])

    def covers(self, places_mm: Floats) -> Indices:
        """Return the facing-down triangle first met above each place; -1 for open sky.

        Parameters
        ----------
        places_mm : ndarray, shape (n, 3)
            Places to look up from. [mm]
        """
        up = np.broadcast_to([0.0, 0.0, 1.0], places_mm.shape)
        _, hit = self.ceilings.hits(places_mm, up, np.inf)
        return np.asarray(np.append(self.ceiling, -1)[hit], np.int64)


def sight(case: Case) -> Sight:
    """Sort the triangles of a case by what the sheet can do with them."""
    down = case.leans_deg < -(LEAST_TURN_DEG + np.minimum(case.uncertainty_deg, 5.0))
    corners = case.mesh.corners_mm
    top = np.maximum.reduce([corners[:, k, 2] for k in range(3)]) - case.floor_mm
    lifted = np.flatnonzero(down & (top > _NUDGE_MM))
    level = case.leans_deg < LEVEL_DEG
    patch = _patches(case, down & (top > np.where(level, _low_mm(case), _NUDGE_MM)))
    walls = targets(corners[_upright(case)])
    mouths = _mouths(case, down, patch, walls)
    open_patches = np.zeros(int(patch.max(initial=-1)) + 1, bool)
    open_patches[mouths.patch] = True
    seen = Sight(
        down=down,
        patch=patch,
        open_patches=open_patches,
        cover=np.full(len(corners), -1),
        bore=_bores(case, walls),
        mouths=mouths,
        ceilings=targets(corners[lifted]),
        ceiling=lifted,
    )
    if len(lifted):
        rest = np.flatnonzero(~down)
        seen.cover[rest] = seen.covers(case.middles_mm[rest] + _NUDGE_MM * case.normals[rest])
    return seen


def _low_mm(case: Case) -> float:
    """Height of a gap over the table that the sheet does not turn in under. [mm]."""
    return max(LOW_MM, 2 * case.sheet.gauge_mm)


def _patches(case: Case, member: Flags) -> Indices:
    """Return the connected group of each triangle that belongs; -1 for the others."""
    patch = np.full(len(member), -1)
    pairs = case.edges.triangles
    number = groups(len(member), pairs[member[pairs].all(axis=1)])[member]
    _, patch[member] = np.unique(number, return_inverse=True)
    return patch


def _mouths(case: Case, down: Flags, patch: Indices, walls: Targets) -> Mouths:
    """Find the edges where the surface turns in under a patch, unless they rim a narrow hole."""
    pairs, points = case.edges.triangles, case.edges.points
    sure = ~down & (case.uncertainty_deg < 5.0)
    first = (patch[pairs[:, 0]] >= 0) & sure[pairs[:, 1]]
    second = (patch[pairs[:, 1]] >= 0) & sure[pairs[:, 0]]
    below = np.r_[pairs[first, 0], pairs[second, 1]]
    beside = np.r_[pairs[first, 1], pairs[second, 0]]
    ends = case.mesh.points_mm[np.r_[points[first], points[second]]]
    middle = ends.mean(axis=1)
    away = case.middles_mm[below] - middle
    convex = np.einsum("ij,ij->i", away, case.normals[beside]) <= 0
    high = ends[..., 2].max(axis=1) - case.floor_mm > _low_mm(case)
    own = convex & high
    ends, middle, below, away = (part[own] for part in (ends, middle, below, away))
    wide = ~_spanned(case, ends, middle, away, walls)
    return Mouths(ends_mm=ends[wide], patch=patch[below[wide]])


def _spanned(case: Case, ends: Floats, middle: Floats, away: Floats, walls: Targets) -> Flags:
    """Whether walls stand across each edge, or beside it, so near that the sheet spans the gap."""
    run = ends[:, 1] - ends[:, 0]
    across = np.stack([-run[:, 1], run[:, 0], np.zeros(len(run))], axis=1)
    across *= -np.sign(np.einsum("ij,ij->i", across, away))[:, None]
    across /= np.maximum(np.linalg.norm(across, axis=1), 1e-300)[:, None]
    narrow = np.zeros(len(ends), bool)
    # The wall across may lie just above the edge (under a land) or just below it (a flared hole).
    for lift in (-10 * _NUDGE_MM, 10 * _NUDGE_MM):
        start = middle + _NUDGE_MM * across + [0, 0, lift]
        narrow |= np.isfinite(walls.hits(start, across, case.narrow_mm)[0])
        ends_slit = ~narrow
        narrow[ends_slit] = _between_walls(case, start[ends_slit], across[ends_slit], walls)
    return narrow


def _bores(case: Case, walls: Targets) -> Flags:
    """Find upright walls that face another wall across a hole the sheet spans, or end a slit."""
    bore = np.zeros(len(case.normals), bool)
    steep = np.abs(case.leans_deg) <= LEAST_TURN_DEG + case.uncertainty_deg
    upright = np.flatnonzero(steep & (case.mesh.areas_mm2 > 0))
    ahead = case.normals[upright] * [1, 1, 0]
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1), 1e-300)[:, None]
    start = case.middles_mm[upright] + _NUDGE_MM * ahead
    bore[upright] = np.isfinite(walls.hits(start, ahead, case.narrow_mm)[0])
    ends = ~bore[upright]
    bore[upright[ends]] = _between_walls(case, start[ends], ahead[ends], walls)
    return bore


def _between_walls(case: Case, start: Floats, ahead: Floats, walls: Targets) -> Flags:
    """Tell which places at the end of a slit have its two sides so near that the sheet spans it.

    The sides face each other; in a round hole the facets beside a place do not.
    """
    aside = np.stack([-ahead[:, 1], ahead[:, 0], np.zeros(len(ahead))], axis=1)
    sides = np.append(case.normals[_upright(case)], [[0.0, 0.0, 0.0]], axis=0)
    gap = np.zeros(len(start))
    facing = np.ones(len(start), bool)
    for way in (aside, -aside):
        away, wall = walls.hits(start, way, case.narrow_mm)
        gap += away
        facing &= np.einsum("ij,ij->i", sides[wall], way) < -_FACING
    return np.asarray(facing & (gap <= case.narrow_mm))


def _upright(case: Case) -> Flags:
    """Tell which triangles are walls rather than floors."""
    return np.asarray(np.abs(case.normals[:, 2]) < _STEEP)
