"""Compiled: masses with which a sheet comes to rest soon, and how far its points could go.

A step of 1 must be stable, so a point is as heavy as what it hangs on is stiff. In its plane a
sheet is stiff at any stretch; square to it only its tension counts, next to nothing while the sheet
is slack. Were points as heavy in every direction, a wave would need hundreds of steps across it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit
from moldgen.physics.membrane.force_kernel import (
    AT_ONCE,
    FREE,
    LOOSE,
    SheetConstants,
)
from moldgen.physics.membrane.part_kernel import (
    Indices,
    MovingPart,
    State,
    edges_of,
    section_of,
)
from moldgen.physics.membrane.rows import give_masses, take_sides
from moldgen.physics.membrane.touch import Buckets
from moldgen.physics.membrane.touch_kernel import room_mm

_SLACK = 0.05
"""Least stiffness square to the sheet as a share of that in its plane. [-].

Slack sheet turns before its masses are worked out anew, by the arc sine of the root of this.
"""


@njit(cache=True, nogil=True, error_model="numpy")
def weigh_band(
    sheet: SheetConstants, state: State, part: MovingPart, buckets: Buckets, band: int, turn: int
) -> None:
    """Give a band's points their masses and rooms."""
    first, end = section_of(part, band)
    pulls, areas = part.pulls[band], part.areas[band]
    weigh(
        part.corners[first:end], part.metric[first // AT_ONCE : end // AT_ONCE], sheet.law,
        part.points[turn], pulls, areas,
    )  # fmt: skip
    first, end = edges_of(part, band)
    _turn_masses(pulls, areas, part.ease, part.cross, part.momenta, part.drifts, first, end)
    _make_room(state.touches, part.number, part.points[turn], part.rooms_mm, buckets, first, end)
    part.traveled_mm[band] = 0.0


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _turn_masses(
    along: Floats,
    cross: Floats,
    ease: Floats,
    rest: Floats,
    momenta: Floats,
    drifts: Floats,
    first: int,
    end: int,
) -> None:
    """Put new masses in place of the old, speeds as they were; leave the sums of masses at 0.

    Points that are not free have no ease, and keep none.
    """
    for k in range(first, end):
        xx, yy, zz = along[k, 0], along[k, 1], along[k, 2]
        xy, yz, zx = cross[k, 0], cross[k, 1], cross[k, 2]
        for d in range(4):
            along[k, d] = cross[k, d] = 0.0
        if ease[k, 0] == 0.0:
            continue
        a, b, c = ease[k, 0], ease[k, 1], ease[k, 2]
        f, g, h = rest[k, 0], rest[k, 1], rest[k, 2]
        px, py, pz = momenta[k, 0], momenta[k, 1], momenta[k, 2]
        vx, vy, vz = a * px + f * py + h * pz, f * px + b * py + g * pz, h * px + g * py + c * pz
        momenta[k, 0] = xx * vx + xy * vy + zx * vz
        momenta[k, 1] = xy * vx + yy * vy + yz * vz
        momenta[k, 2] = zx * vx + yz * vy + zz * vz
        px, py, pz = drifts[k, 0], drifts[k, 1], drifts[k, 2]
        vx, vy, vz = a * px + f * py + h * pz, f * px + b * py + g * pz, h * px + g * py + c * pz
        drifts[k, 0] = xx * vx + xy * vy + zx * vz
        drifts[k, 1] = xy * vx + yy * vy + yz * vz
        drifts[k, 2] = zx * vx + yz * vy + zz * vz
        a, f, h = yy * zz - yz * yz, yz * zx - xy * zz, xy * yz - yy * zx
        per = 1.0 / (xx * a + xy * f + zx * h)
        ease[k, 0], ease[k, 1] = a * per, (xx * zz - zx * zx) * per
        ease[k, 2] = (xx * yy - xy * xy) * per
        rest[k, 0], rest[k, 1], rest[k, 2] = f * per, (xy * zx - xx * yz) * per, h * per


@njit(cache=True, nogil=True, error_model="numpy")
def _make_room(
    touches: NDArray[np.int8],
    number: Indices,
    points: Floats,
    rooms: Floats,
    buckets: Buckets,
    first: int,
    end: int,
) -> None:
    """Work out how far each point of a band could go before it could meet anything."""
    tops, frame = buckets.rooms_mm, buckets.frame
    for k in range(first, end):
        if touches[number[k]] == FREE:
            rooms[k] = room_mm(points[k, 0], points[k, 1], points[k, 2], tops, frame)
        else:
            rooms[k] = np.inf


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def weigh(
    corners: Indices,
    metric: Floats,
    law: Floats,
    points: Floats,
    along: Floats,
    cross: Floats,
) -> None:
    """Add up masses with which a step of 1 is stable: symmetric matrices, one for each point.

    A quarter of the sum of a row of the stiffness matrix, entries taken without sign, is enough
    (Gershgorin); a triangle's entries are at most its area times the lengths of two gradients
    times its stiffness. In its plane that is the greatest of the law at its stretches, square to
    it only the greater tension: sheet that is hardly stretched is as light there as it is slack.

    Parameters
    ----------
    corners, metric, law, points
        As for `pull`.
    along, cross : ndarray, shape (n, 4)
        The diagonals xx, yy, zz, and the rest xy, yz, zx.
    """
    sides, parts = np.empty((6, AT_ONCE)), np.empty((9, AT_ONCE))
    for start in range(0, len(corners), AT_ONCE):
        for k in range(0, AT_ONCE, 4):
            take_sides(points, corners, start + k, sides, k)  # type: ignore[call-arg]
        _weigh(sides, metric, start // AT_ONCE, law, parts)
        for k in range(0, AT_ONCE, 4):
            give_masses(along, cross, corners, start + k, parts, k)  # type: ignore[call-arg]


@njit(cache=True, nogil=True, error_model="numpy", fastmath=LOOSE)
def _weigh(sides: Floats, metric: Floats, at: int, law: Floats, parts: Floats) -> None:
    """Work out what the corners of a batch of triangles have to weigh."""
    c1, c2, taut2 = law[0], law[1], law[2] * law[2]
    for k in range(AT_ONCE):
        ux, uy, uz = sides[0, k], sides[1, k], sides[2, k]
        vx, vy, vz = sides[3, k], sides[4, k], sides[5, k]
        h_uu, h_uv, h_vv, per = (
            metric[at, 0, k],
            metric[at, 1, k],
            metric[at, 2, k],
            metric[at, 3, k],
        )
        uu = ux * ux + uy * uy + uz * uz
        uv = ux * vx + uy * vy + uz * vz
        vv = vx * vx + vy * vy + vz * vz
        i = (h_uu * uu + 2.0 * h_uv * uv + h_vv * vv) * per * taut2
        squared = uu * vv - uv * uv
        j = squared * 0.25 * per * per * taut2 * taut2
        greater = 0.5 * i + np.sqrt(max(0.25 * i * i - j, 0.0))
        lesser = j / greater
        first = 1.0 + 5.0 / (j * lesser)
        second = greater + 5.0 / (lesser * lesser)
        gi = np.sqrt(max(h_uu + 2.0 * h_uv + h_vv, 0.0))
        gj, gl = np.sqrt(h_uu), np.sqrt(h_vv)
        stiff = c1 * first + c2 * second
        tense = max(
            c1 * (1.0 - 1.0 / (j * greater)) + c2 * (lesser - 1.0 / (greater * greater)),
            c1 * (1.0 - 1.0 / (j * lesser)) + c2 * (greater - 1.0 / (lesser * lesser)),
        )
        whole = 0.25 * taut2 * (gi + gj + gl)
        parts[0, k], parts[1, k], parts[2, k] = whole * gi, whole * gj, whole * gl
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        tense = max(tense, 0.0) + _SLACK * stiff
        less = (min(tense, stiff) - stiff) / squared
        parts[3, k] = stiff + less * nx * nx
        parts[4, k] = stiff + less * ny * ny
        parts[5, k] = stiff + less * nz * nz
        parts[6, k], parts[7, k], parts[8, k] = less * nx * ny, less * ny * nz, less * nz * nx
