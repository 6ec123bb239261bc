"""The compiled part of a picture: light, shade, hollows and lines, pixel by pixel.

Lengths are pixels of the fine picture, four of which make one pixel of the result; rows count
downward and heights toward the viewer.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, sin
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit

# Looks, chosen by eye on molds of 60 to 400 mm.
_KEY, _FILL, _SKY, _GROUND_LIGHT, _GLOSS = 0.78, 0.12, 0.42, 0.22, 0.06
_HOLLOW_REACH, _HOLLOW_WEIGHT, _HOLLOW_BIAS = 26.0, 1.15, 0.06
# A pixel lies in a bore if on all sides it is this deep, as depth over distance, squared.
_BORE = 2.6
_SHADOW_BIAS = 4.0
_CREASE_COS, _STEP = 0.85, 5.0
_LINE_DARK = 0.45
# Fine pixels between the places at which openness to the sky is surveyed; an eighth of a block.
SURVEY_STEP = 4
# It is taken from the survey where the places round a pixel agree this well, and it lies as deep.
_SKY_AGREES, _SKY_DEPTH = 0.04, 3.0
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
    corners : ndarray, shape (m, 3, 3)
        Corner places as column, row, height.
    normals : ndarray, shape (m, 3, 3)
        Unit normals of the corners as the mesh has them.
    axes : ndarray, shape (3, 3)
        Directions of columns, rows and heights as the mesh has them, as rows.
    faces : ndarray, shape (m, 3)
        Unit normal of each triangle along columns, rows and heights, toward the viewer.
    colors : ndarray, shape (m, 3)
        Linear light by triangle.
    depths, seen : ndarray, shape (n_rows, n_columns)
        Height of what is seen, ground included, and its triangle, -1 for the ground.
    near : ndarray of bool
        Blocks of the picture that show the solid or its neighborhood.
    survey : ndarray, shape (n_rows / 4 + 2, n_columns / 4 + 2)
        Openness to the sky at every fourth row and column; see `survey_sky`.
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
    axes: Floats
    faces: Floats
    colors: Floats
    depths: Floats
    seen: NDArray[np.int32]
    near: NDArray[np.bool_]
    survey: Floats
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
_OPTIONS: dict[str, Any] = {"cache": True, "nogil": True, "_nrt": False, "error_model": "numpy"}
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
            if scene.near[2 * i // BLOCK, 2 * j // BLOCK]:
                red, green, blue = _solid(scene, 2 * i, 2 * j)
            else:
                red, green, blue = _far_ground(scene, 2 * i, 2 * j)
            picture[i, j, 0] = scene.screen[int(min(red, 1.0) * 4095.0)]
            picture[i, j, 1] = scene.screen[int(min(green, 1.0) * 4095.0)]
            picture[i, j, 2] = scene.screen[int(min(blue, 1.0) * 4095.0)]


@_outer
def survey_sky(scene: Scene, survey: Floats, first: int, end: int) -> None:
    """Fill the rows of ``survey`` from ``first`` to before ``end``: how open the sky is there."""
    n_rows, n_columns = scene.depths.shape
    for i in range(first, end):
        row = min(SURVEY_STEP * i, n_rows - 1)
        for j in range(survey.shape[1]):
            column = min(SURVEY_STEP * j, n_columns - 1)
            survey[i, j] = 1.0
            if scene.near[row // BLOCK, column // BLOCK]:
                nx, ny, nz = _normal(scene, row + 0.5, column + 0.5, scene.seen[row, column])
                survey[i, j] = _open_sky(scene, row, column, nx, ny, nz)


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
def _far_ground(scene: Scene, row: int, column: int) -> tuple[float, float, float]:
    """Return the light of a pixel of bench that has nothing but bench round it."""
    nx, ny, nz = scene.sky
    lit = _lit(scene, row, column, nx, ny, nz)
    return _light(scene, -1, nx, ny, nz, lit, 1.0)


@_inner
def _solid(scene: Scene, top: int, left: int) -> tuple[float, float, float]:
    """Return the light of a pixel of the result, the mean of its four fine pixels."""
    t = scene.seen[top, left]
    right, below = scene.seen[top, left + 1], scene.seen[top + 1, left]
    if t == right and t == below and t == scene.seen[top + 1, left + 1]:
        return _one_surface(scene, top, left, t)
    red, green, blue = 0.0, 0.0, 0.0
    lit, open_sky, known = 1.0, 1.0, -1e18
    known_t = -2
    for k in range(4):
        row, column = top + k // 2, left + k % 2
        t = scene.seen[row, column]
        nx, ny, nz = _normal(scene, row + 0.5, column + 0.5, t)
        # Shade changes slowly: fine pixels on the same surface share it.
        if abs(scene.depths[row, column] - known) > 3.0 or (t < 0) != (known_t < 0):
            known, known_t = scene.depths[row, column], t
            lit = _lit(scene, row, column, nx, ny, nz)
            open_sky = _sky_at(scene, row, column, nx, ny, nz)
        r, g, b = _light(scene, t, nx, ny, nz, lit, open_sky)
        line = 0.25 * _line(scene, row, column) if t >= 0 else 0.25
        red += r * line
        green += g * line
        blue += b * line
    return red, green, blue


@_inner
def _one_surface(scene: Scene, top: int, left: int, t: int) -> tuple[float, float, float]:
    """Return the light of a pixel of the result all of which shows one triangle, or ground."""
    nx, ny, nz = _normal(scene, top + 1.0, left + 1.0, t)
    lit = _lit(scene, top, left, nx, ny, nz)
    open_sky = _sky_at(scene, top, left, nx, ny, nz)
    r, g, b = _light(scene, t, nx, ny, nz, lit, open_sky)
    line = 1.0
    if t >= 0 and not _surrounded(scene, top, left, t):
        line = 0.0
        for k in range(4):
            line += 0.25 * _line(scene, top + k // 2, left + k % 2)
    return r * line, g * line, b * line


@_inner
def _surrounded(scene: Scene, top: int, left: int, t: int) -> bool:
    """Tell whether all that borders on a pixel of the result shows the same triangle."""
    seen = scene.seen
    if top == 0 or left == 0 or top + 2 >= seen.shape[0] or left + 2 >= seen.shape[1]:
        return False
    for k in range(2):
        if seen[top - 1, left + k] != t or seen[top + 2, left + k] != t:
            return False
        if seen[top + k, left - 1] != t or seen[top + k, left + 2] != t:
            return False
    return True


@_inner
def _normal(scene: Scene, y: float, x: float, t: int) -> tuple[float, float, float]:
    """Return the normal at a place, between those of the triangle's corners; up on the ground."""
    if t < 0:
        return scene.sky[0], scene.sky[1], scene.sky[2]
    n = scene.normals[t]
    if n[0, 0] == n[1, 0] == n[2, 0] and n[0, 1] == n[1, 1] == n[2, 1] and n[0, 2] == n[1, 2]:
        return _in_axes(scene.axes, n[0, 0], n[0, 1], n[0, 2])
    ax, ay = scene.corners[t, 0, 0], scene.corners[t, 0, 1]
    bx, by = scene.corners[t, 1, 0], scene.corners[t, 1, 1]
    cx, cy = scene.corners[t, 2, 0], scene.corners[t, 2, 1]
    twice_area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    u = ((bx - x) * (cy - y) - (cx - x) * (by - y)) / twice_area
    v = ((cx - x) * (ay - y) - (ax - x) * (cy - y)) / twice_area
    w = 1.0 - u - v
    nx = u * n[0, 0] + v * n[1, 0] + w * n[2, 0]
    ny = u * n[0, 1] + v * n[1, 1] + w * n[2, 1]
    nz = u * n[0, 2] + v * n[1, 2] + w * n[2, 2]
    length = max(np.sqrt(nx * nx + ny * ny + nz * nz), 1e-12)
    return _in_axes(scene.axes, nx / length, ny / length, nz / length)


@_inner
def _in_axes(axes: Floats, x: float, y: float, z: float) -> tuple[float, float, float]:
    return (
        axes[0, 0] * x + axes[0, 1] * y + axes[0, 2] * z,
        axes[1, 0] * x + axes[1, 1] * y + axes[1, 2] * z,
        axes[2, 0] * x + axes[2, 1] * y + axes[2, 2] * z,
    )


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
            square = dx * dx + dy * dy + dz * dz
            # Most samples lie on the same flat, which hides nothing.
            if above <= 0.0 or above * above <= _HOLLOW_BIAS * _HOLLOW_BIAS * square:
                continue
            distance = np.sqrt(square)
            near = max(0.0, 1.0 - distance / (2.0 * _HOLLOW_REACH))
            hidden += (above / distance - _HOLLOW_BIAS) * near
        walls += steep
    # Far down between walls all round: in a vent it is dark, however deep.
    bore = 0.25 if walls >= 7 else 1.0
    return bore * max(0.0, 1.0 - _HOLLOW_WEIGHT * hidden / 12.0)


@_inner
def _sky_at(scene: Scene, row: int, column: int, nx: float, ny: float, nz: float) -> float:
    """Return how open the sky is over a pixel: from the survey, or where that is vague afresh."""
    surveyed = _surveyed_sky(scene, row, column)
    return surveyed if surveyed >= 0.0 else _open_sky(scene, row, column, nx, ny, nz)


@_inner
def _surveyed_sky(scene: Scene, row: int, column: int) -> float:
    """Return what the survey says of a pixel, or -1 where its surroundings must be looked at."""
    n_rows, n_columns = scene.depths.shape
    i, j = row // SURVEY_STEP, column // SURVEY_STEP
    least, most, low, high = 2.0, -1.0, 1e18, -1e18
    for k in range(4):
        p, q = i + k // 2, j + k % 2
        sky = scene.survey[p, q]
        depth = scene.depths[min(SURVEY_STEP * p, n_rows - 1), min(SURVEY_STEP * q, n_columns - 1)]
        least, most = min(least, sky), max(most, sky)
        low, high = min(low, depth), max(high, depth)
    depth = scene.depths[row, column]
    if most - least > _SKY_AGREES or depth < low - _SKY_DEPTH or depth > high + _SKY_DEPTH:
        return -1.0
    down, across = row / SURVEY_STEP - i, column / SURVEY_STEP - j
    above = scene.survey[i, j] * (1.0 - across) + scene.survey[i, j + 1] * across
    below = scene.survey[i + 1, j] * (1.0 - across) + scene.survey[i + 1, j + 1] * across
    return float(above * (1.0 - down) + below * down)


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
    nx, ny, nz = scene.faces[s]
    if nz < 1e-6:
        return True
    a = scene.corners[s, 0]
    plane = a[2] - (nx * (j + 0.5 - a[0]) + ny * (i + 0.5 - a[1])) / nz
    return bool(plane - scene.depths[i, j] > _STEP)


@_inner
def _crease(scene: Scene, s: int, t: int) -> float:
    a, b = scene.faces[s], scene.faces[t]
    turn = a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    return 0.78 if turn < _CREASE_COS else 1.0
