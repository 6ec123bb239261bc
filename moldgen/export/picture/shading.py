"""The compiled part of a picture: light, shade, hollows and lines, pixel by pixel.

Lengths are pixels of the fine picture, four of which make one pixel of the result; rows count
downward and heights toward the viewer.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, sin
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numba import njit
from numpy.typing import NDArray

from moldgen.arrays import Floats

# Looks, chosen by eye on molds of 60 to 400 mm.
_KEY, _FILL, _SKY, _GROUND_LIGHT, _GLOSS = 0.78, 0.12, 0.42, 0.22, 0.06
_HOLLOW_REACH, _HOLLOW_WEIGHT, _HOLLOW_BIAS = 26.0, 1.15, 0.06
# A pixel lies in a bore if on all sides it is this deep, as depth over distance, squared.
_BORE = 2.6
_SHADOW_BIAS = 4.0
_CREASE_COS, _STEP = 0.85, 5.0
_LINE_DARK = 0.45
# Side of the blocks in which the solid's neighborhood is told; no less than the reach.
BLOCK = 32
# Rows and columns of the samples that tell how open the surroundings are: three rings of eight.
_STAR = np.array(
    [
        [
            (round(reach * _HOLLOW_REACH * sin(a)), round(reach * _HOLLOW_REACH * cos(a)))
            for a in (pi / 16 + k * pi / 4 for k in range(8))
        ]
        for reach in (0.12, 0.4, 1.0)
    ]
)


class Scene(NamedTuple):
    """Everything a picture is computed from.

    Attributes
    ----------
    corners, normals : ndarray, shape (m, 3, 3)
        Corner places as column, row, height, and unit normals in the same axes.
    colors : ndarray, shape (m, 3)
        Linear light by triangle.
    depths, seen : ndarray, shape (n_rows, n_columns)
        Height of what is seen, ground included, and its triangle, -1 for the ground.
    near : ndarray of bool
        Blocks of the picture that show the solid or its neighborhood.
    shadow : ndarray
        Heights as seen from the lamp, in pixels of the fine picture.
    to_shadow : ndarray, shape (3, 4)
        From column, row, height to those of ``shadow``.
    lamp, sky : ndarray, shape (3,)
        Unit vectors toward the lamp and straight up from the ground.
    background : ndarray, shape (3,)
        Linear light of the unshaded ground.
    screen : ndarray of uint8, shape (4096,)
        Screen value of each step of linear light.
    even : bool
        Show colors as they are, only hollows darker: for maps with a legend.
    """

    corners: Floats
    normals: Floats
    colors: Floats
    depths: Floats
    seen: NDArray[np.int32]
    near: NDArray[np.bool_]
    shadow: Floats
    to_shadow: Floats
    lamp: Floats
    sky: Floats
    background: Floats
    screen: NDArray[np.uint8]
    even: bool


# Without reference counts, because two threads that count the same arrays wait for each other
# (nothing compiled this way makes an array), and in one piece, because handing the scene on
# costs as much as the work. Together they make a picture three times faster. The machine code
# is put in one piece, not the source: each loop is then compiled once.
_OPTIONS: dict[str, Any] = {"cache": True, "nogil": True, "_nrt": False}
_INNER: dict[str, Any] = {"forceinline": True, "no_cpython_wrapper": True}
_Kernel = TypeVar("_Kernel", bound=Callable[..., Any])


def _outer(function: _Kernel) -> _Kernel:
    compiled: _Kernel = njit(**_OPTIONS)(function)
    return compiled


def _inner(function: _Kernel) -> _Kernel:
    compiled: _Kernel = njit(**_OPTIONS, **_INNER)(function)
    return compiled


@_outer
def paint(scene: Scene, picture: NDArray[np.uint8], first: int, end: int) -> None:
    """Fill the rows of ``picture`` from ``first`` to before ``end``."""
    for i in range(first, end):
        for j in range(picture.shape[1]):
            near = scene.near[2 * i // BLOCK, 2 * j // BLOCK]
            red, green, blue = _pixel(scene, 2 * i, 2 * j, near)
            picture[i, j, 0] = scene.screen[int(min(red, 1.0) * 4095.0)]
            picture[i, j, 1] = scene.screen[int(min(green, 1.0) * 4095.0)]
            picture[i, j, 2] = scene.screen[int(min(blue, 1.0) * 4095.0)]


def near_solid(seen: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Return for each block of pixels whether it or a neighbor shows any of the solid."""
    n_rows, n_columns = seen.shape
    in_rows = np.maximum.reduceat(seen, np.arange(0, n_rows, BLOCK), axis=0)
    shown = np.maximum.reduceat(in_rows, np.arange(0, n_columns, BLOCK), axis=1) >= 0
    around = np.pad(shown, 1)
    near = np.zeros_like(shown)
    for i in range(3):
        for j in range(3):
            near |= around[i : i + len(near), j : j + near.shape[1]]
    return near


@_inner
def _pixel(scene: Scene, top: int, left: int, near: bool) -> tuple[float, float, float]:
    """Return the light of a pixel of the result, the mean of its four fine pixels.

    Where there is nothing but bench all round, one of them stands for all.
    """
    red, green, blue = 0.0, 0.0, 0.0
    lit, open_sky, known = 1.0, 1.0, -1e18
    last = -2
    n_fine = 4 if near else 1
    weight = 1.0 / n_fine
    for k in range(n_fine):
        row, column = top + k // 2, left + k % 2
        t = scene.seen[row, column]
        nx, ny, nz = _normal(scene, row, column, t)
        # Shade changes slowly: fine pixels on the same surface share it.
        if abs(scene.depths[row, column] - known) > 3.0 or (t < 0) != (last < 0):
            known, last = scene.depths[row, column], t
            lit = _lit(scene, row, column, nx, ny, nz)
            if near:
                open_sky = _open_sky(scene, row, column, nx, ny, nz)
        r, g, b = _light(scene, t, nx, ny, nz, lit, open_sky)
        line = weight * _line(scene, row, column) if t >= 0 else weight
        red += r * line
        green += g * line
        blue += b * line
    return red, green, blue


@_inner
def _normal(scene: Scene, row: int, column: int, t: int) -> tuple[float, float, float]:
    """Return the normal at a pixel, between those of the triangle's corners; up on the ground."""
    if t < 0:
        return scene.sky[0], scene.sky[1], scene.sky[2]
    x, y = column + 0.5, row + 0.5
    ax, ay = scene.corners[t, 0, 0], scene.corners[t, 0, 1]
    bx, by = scene.corners[t, 1, 0], scene.corners[t, 1, 1]
    cx, cy = scene.corners[t, 2, 0], scene.corners[t, 2, 1]
    twice_area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    u = ((bx - x) * (cy - y) - (cx - x) * (by - y)) / twice_area
    v = ((cx - x) * (ay - y) - (ax - x) * (cy - y)) / twice_area
    w = 1.0 - u - v
    n = scene.normals[t]
    nx = u * n[0, 0] + v * n[1, 0] + w * n[2, 0]
    ny = u * n[0, 1] + v * n[1, 1] + w * n[2, 1]
    nz = u * n[0, 2] + v * n[1, 2] + w * n[2, 2]
    length = max(np.sqrt(nx * nx + ny * ny + nz * nz), 1e-12)
    return nx / length, ny / length, nz / length


@_inner
def _lit(scene: Scene, row: int, column: int, nx: float, ny: float, nz: float) -> float:
    """Return the share of the lamp that reaches a pixel, softened over a small square."""
    toward = nx * scene.lamp[0] + ny * scene.lamp[1] + nz * scene.lamp[2]
    if scene.even or toward <= 0.0 or scene.depths[row, column] < -1e8:
        return 0.0 if toward <= 0.0 else 1.0
    # A step along the normal keeps a surface from shading itself.
    x = column + 0.5 + nx * _SHADOW_BIAS
    y = row + 0.5 + ny * _SHADOW_BIAS
    z = scene.depths[row, column] + nz * _SHADOW_BIAS
    m = scene.to_shadow
    u = m[0, 0] * x + m[0, 1] * y + m[0, 2] * z + m[0, 3] - 2.0
    v = m[1, 0] * x + m[1, 1] * y + m[1, 2] * z + m[1, 3] - 2.0
    height = m[2, 0] * x + m[2, 1] * y + m[2, 2] * z + m[2, 3] + 0.5
    n_rows, n_columns = scene.shadow.shape
    if not (0.0 <= u < n_columns - 5.0 and 0.0 <= v < n_rows - 5.0):
        return 1.0
    # The mean over a square of 4 by 4 cells, its border cells counted in part.
    i, j = int(v), int(u)
    down, across = v - i, u - j
    free = 0.0
    for p in range(5):
        weight = (1.0 - down if p == 0 else (down if p == 4 else 1.0)) / 16.0
        for q in range(5):
            share = weight * (1.0 - across if q == 0 else (across if q == 4 else 1.0))
            if scene.shadow[i + p, j + q] <= height:
                free += share
    return free


@_inner
def _open_sky(scene: Scene, row: int, column: int, nx: float, ny: float, nz: float) -> float:
    """Return the share of the surroundings that a pixel sees, from the depths round it.

    After M. McGuire and others, "The Alchemy screen-space ambient obscurance algorithm",
    High Performance Graphics 2011, from memory, with a fixed star of samples.
    """
    z = scene.depths[row, column]
    if z < -1e8:
        return 1.0
    n_rows, n_columns = scene.depths.shape
    hidden, walls = 0.0, 0
    for k in range(8):
        steep = False
        for ring in range(3):
            i = min(max(row + _STAR[ring, k, 0], 0), n_rows - 1)
            j = min(max(column + _STAR[ring, k, 1], 0), n_columns - 1)
            dx, dy, dz = j - column, i - row, scene.depths[i, j] - z
            steep = steep or (dz > 0.0 and dz * dz > _BORE * (dx * dx + dy * dy))
            dz = min(dz, _HOLLOW_REACH)
            above = nx * dx + ny * dy + nz * dz
            if above <= 0.0:
                continue
            distance = np.sqrt(dx * dx + dy * dy + dz * dz)
            near = max(0.0, 1.0 - distance / (2.0 * _HOLLOW_REACH))
            hidden += max(0.0, above / distance - _HOLLOW_BIAS) * near
        walls += steep
    # Far down between walls all round: in a vent it is dark, however deep.
    bore = 0.25 if walls >= 7 else 1.0
    return bore * max(0.0, 1.0 - _HOLLOW_WEIGHT * hidden / 12.0)


@_inner
def _light(
    scene: Scene, t: int, nx: float, ny: float, nz: float, lit: float, open_sky: float
) -> tuple[float, float, float]:
    """Return the linear light of a pixel by the surface there."""
    if scene.even:
        r, g, b = scene.background if t < 0 else scene.colors[t]
        shade = 0.4 + 0.6 * open_sky if t >= 0 or open_sky < 0.25 else 1.0
        return r * shade, g * shade, b * shade
    if t < 0:
        shade = (1.0 - 0.5 * (1.0 - lit)) * (0.1 + 0.9 * open_sky)
        # Shadows on a bench in daylight lean to blue.
        cool = 0.08 * (1.0 - shade)
        r, g, b = scene.background
        return r * shade, g * (shade + cool * 0.5), b * (shade + cool)
    toward = nx * scene.lamp[0] + ny * scene.lamp[1] + nz * scene.lamp[2]
    up = 0.5 + 0.5 * (nx * scene.sky[0] + ny * scene.sky[1] + nz * scene.sky[2])
    ambient = (_GROUND_LIGHT + (_SKY - _GROUND_LIGHT) * up) * open_sky
    key = _KEY * max(toward, 0.0) * lit
    fill = _FILL * max(0.75 * nx + 0.2 * ny + 0.63 * nz, 0.0) * open_sky
    mirror = 2.0 * toward * nz - scene.lamp[2]
    gloss = _GLOSS * lit * max(mirror, 0.0) ** 12
    r, g, b = scene.colors[t]
    return (
        r * (key * 1.03 + fill + ambient * 0.96) + gloss,
        g * (key + fill + ambient) + gloss,
        b * (key * 0.95 + fill + ambient * 1.08) + gloss,
    )


@_inner
def _line(scene: Scene, row: int, column: int) -> float:
    """Darken where an outline or a crease passes between a pixel and its neighbors."""
    dark = 1.0
    for k in range(4):
        i = row + (k == 0) - (k == 1)
        j = column + (k == 2) - (k == 3)
        if not (0 <= i < scene.seen.shape[0] and 0 <= j < scene.seen.shape[1]):
            continue
        s, t = scene.seen[row, column], scene.seen[i, j]
        if s == t:
            continue
        step = scene.depths[row, column] - scene.depths[i, j]
        if s >= 0 and step > _STEP and _falls_away(scene, s, i, j):
            return _LINE_DARK
        if s >= 0 and t >= 0 and k % 2 == 0 and abs(step) < _STEP:
            dark = min(dark, _crease(scene, s, t))
    return dark


@_inner
def _falls_away(scene: Scene, s: int, i: int, j: int) -> bool:
    """Tell whether the neighbor lies well below the plane of triangle ``s``."""
    nx, ny, nz = _face(scene, s)
    if nz < 1e-6:
        return True
    a = scene.corners[s, 0]
    plane = a[2] - (nx * (j + 0.5 - a[0]) + ny * (i + 0.5 - a[1])) / nz
    return bool(plane - scene.depths[i, j] > _STEP)


@_inner
def _crease(scene: Scene, s: int, t: int) -> float:
    ax, ay, az = _face(scene, s)
    bx, by, bz = _face(scene, t)
    turn = ax * bx + ay * by + az * bz
    return 0.78 if turn < _CREASE_COS else 1.0


@_inner
def _face(scene: Scene, t: int) -> tuple[float, float, float]:
    """Return the unit normal of a triangle from its corners, toward the viewer."""
    ax, ay, az = scene.corners[t, 0]
    bx, by, bz = scene.corners[t, 1]
    cx, cy, cz = scene.corners[t, 2]
    x = (by - ay) * (cz - az) - (bz - az) * (cy - ay)
    y = (bz - az) * (cx - ax) - (bx - ax) * (cz - az)
    z = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    length = max(np.sqrt(x * x + y * y + z * z), 1e-300)
    if z < 0.0:
        length = -length
    return x / length, y / length, z / length
