"""Curves cut into chords that stay within a stated distance of the true curve.

Every bound below holds by construction, not by trial: no curve is so odd that a chord
strays farther than asked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import acos, atan, ceil, comb, cos, hypot, pi, sin, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moldgen.errors import OutlineError
from moldgen.execution import limits_now

Points = NDArray[np.float64]

_FINER = 6
"""Times that chords are halved so that the edges of a line along a curve are close."""

_NEAR_END = 64
"""Part of a step that is cut off at the ends of a curve with a line along it."""

_HALVINGS = 40
"""Halvings of a rational curve; a millionth of a millionth of it is the shortest chord."""


def bezier_points(controls: ArrayLike, *, chord: float, beside: float = 0.0) -> Points:
    """Return points along a polynomial Bézier curve, both ends included.

    Parameters
    ----------
    controls : array_like, shape (d + 1, 2)
        Control points of a curve of degree d, in any unit of length.
    chord : float
        Largest distance between curve and chords, in the same unit.
    beside : float, default 0
        Half the width of a line along it whose edges are to be as close, in the same unit.

    Returns
    -------
    ndarray, shape (n, 2)

    Notes
    -----
    Between parameters a step ``h`` apart a chord misses its curve by at most
    ``h^2/8 max|B''|``, and ``|B''|`` is at most ``d (d-1)`` times the largest second
    difference of the control points.
    """
    P = np.asarray(controls, dtype=np.float64)
    degree = len(P) - 1
    bends = np.hypot(*np.diff(P, n=2, axis=0).T) if degree > 1 else np.zeros(1)
    steps = _counted(sqrt(degree * (degree - 1) * float(bends.max()) / (8 * chord)))
    slopes = np.diff(P, axis=0)
    shares = _shares(steps, lambda t: _bezier_at(slopes, t), chord=chord, beside=beside)
    points = _bezier_at(P, shares)
    points[[0, -1]] = P[[0, -1]]
    return points


def _bezier_at(controls: Points, t: Points) -> Points:
    degree = len(controls) - 1
    powers = np.arange(degree + 1)
    counts = np.array([comb(degree, int(k)) for k in powers])
    share = t[:, None]
    return np.asarray((counts * share**powers * (1 - share) ** (degree - powers)) @ controls)


def _shares(
    steps: int, tangents: Callable[[Points], Points], *, chord: float, beside: float
) -> Points:
    """Return the shares of a curve at which it is cut, so that the edges of a line are close too.

    The edge of a line strays from that of its chords by its half width times ``1/cos(h/2) - 1``,
    where the curve turns by ``h`` from chord to chord, however small its own radius is. Where such
    a line ends or has a corner, it points as the curve does, not as a chord. What turns as far
    after six halvings is a cusp.
    """
    shares = np.linspace(0.0, 1.0, steps + 1)
    if beside <= 0:
        return shares
    widest_rad = 2 * acos(1 / (1 + chord / beside))
    for _ in range(_FINER):
        x, y = tangents(shares).T
        along = x + 1j * y
        turning = np.abs(np.angle(along[1:] * along[:-1].conj())) > widest_rad
        if not turning.any():
            break
        _counted(2.0 * len(shares))
        shares = np.sort(np.r_[shares, (shares[1:] + shares[:-1])[turning] / 2])
    near = np.array([shares[1], 1 - shares[-2]]) / _NEAR_END
    return np.concatenate([[0.0, near[0]], shares[1:-1], [1 - near[1], 1.0]])


def arc_points(
    center: ArrayLike,
    u: ArrayLike,
    v: ArrayLike,
    *,
    start_rad: float,
    sweep_rad: float,
    chord: float,
    beside: float = 0.0,
) -> Points:
    """Return points along ``center + u cos t + v sin t``, both ends included.

    Circles, ellipses and whatever an affine map makes of them are all of this form.

    Parameters
    ----------
    center, u, v : array_like, shape (2,)
        Center and any two conjugate half axes.
    start_rad, sweep_rad : float
        First parameter and how far it runs; a negative sweep turns from v to u. [rad]
    chord : float
        Largest distance between curve and chords, in the unit of the points.
    beside : float, default 0
        Half the width of a line along it whose edges are to be as close, in the same unit.

    Returns
    -------
    ndarray, shape (n, 2)

    Notes
    -----
    The curve is the image of a unit circle, so the sagitta ``1 - cos(h/2)`` grows at most
    by the largest singular value of ``[u v]``.
    """
    steps = _counted(abs(sweep_rad) / _widest_step_rad(u, v, chord))

    def tangents(t: Points) -> Points:
        return _on_ellipse((0, 0), v, np.negative(u), start_rad + sweep_rad * t)

    shares = _shares(steps, tangents, chord=chord, beside=beside)
    return _on_ellipse(center, u, v, start_rad + sweep_rad * shares)


def full_turn(
    center: ArrayLike, u: ArrayLike, v: ArrayLike, *, chord: float, beside: float = 0.0
) -> Points:
    """Return points round a whole circle or ellipse; the last repeats the first exactly.

    The ends of both axes are among them, so that a drawn circle measures what it should.
    """
    steps = _counted(pi / 2 / _widest_step_rad(u, v, chord))

    def tangents(t: Points) -> Points:
        return _on_ellipse((0, 0), v, np.negative(u), pi / 2 * t)

    turns = np.linspace(0.0, 4.0, 4 * steps + 1)
    if beside > 0:
        quarter = _shares(steps, tangents, chord=chord, beside=beside)
        turns = np.r_[0.0, (np.arange(4)[:, None] + quarter[1:]).ravel()]
    points = _on_ellipse(center, u, v, pi / 2 * turns)
    points[-1] = points[0]
    return points


def _widest_step_rad(u: ArrayLike, v: ArrayLike, chord: float) -> float:
    axes = np.stack([np.asarray(u, dtype=np.float64), np.asarray(v, dtype=np.float64)])
    radius = float(np.linalg.norm(axes, ord=2))
    widest_rad = 2 * acos(1 - chord / radius) if radius > chord else pi / 2
    return max(min(widest_rad, pi / 2), 1e-9)


def _on_ellipse(center: ArrayLike, u: ArrayLike, v: ArrayLike, t: Points) -> Points:
    axes = np.stack([np.asarray(u, dtype=np.float64), np.asarray(v, dtype=np.float64)])
    return np.asarray(center) + np.stack([np.cos(t), np.sin(t)], axis=1) @ axes


def _counted(steps: float) -> int:
    if not steps <= limits_now().chords:
        raise OutlineError(
            "A curve of the drawing is far larger than any mold or has a broken number; "
            "check the unit, or export the drawing again."
        )
    return max(1, ceil(steps))


def bulge_points(start: ArrayLike, end: ArrayLike, bulge: float, *, chord: float) -> Points:
    """Return points along the arc that a drawing-exchange bulge stands for.

    Parameters
    ----------
    start, end : array_like, shape (2,)
        Ends of the arc.
    bulge : float
        Tangent of a quarter of the angle the arc spans, positive when it runs
        counter-clockwise: 0 is straight, 1 a half circle. [-]
    chord : float
        Largest distance between curve and chords.

    References
    ----------
    .. [1] Public DXF reference, group code 42 of LWPOLYLINE and VERTEX.
    """
    a, b = np.asarray(start, dtype=np.float64), np.asarray(end, dtype=np.float64)
    span = b - a
    if abs(bulge) < 1e-12 or not span.any():
        return np.stack([a, b])
    across = np.array([-span[1], span[0]])
    center = (a + b) / 2 + across * (1 - bulge**2) / (4 * bulge)
    u = a - center
    points = arc_points(
        center, u, (-u[1], u[0]), start_rad=0.0, sweep_rad=4 * atan(bulge), chord=chord
    )
    points[[0, -1]] = a, b
    return points


def endpoint_arc_points(
    start: tuple[float, float],
    end: tuple[float, float],
    *,
    radii: tuple[float, float],
    turn_rad: float,
    large: bool,
    sweep: bool,
    chord: float,
    beside: float = 0.0,
) -> Points:
    """Return points along an elliptical arc given by its ends, as SVG path data give it.

    Radii too small to reach are enlarged just enough; a zero radius is a straight line.

    Parameters
    ----------
    start, end : tuple[float, float]
        Ends of the arc.
    radii : tuple[float, float]
        Radii of the ellipse, in the unit of the ends.
    turn_rad : float
        Turn of its first radius from x. [rad]
    large : bool
        Whether the longer of two arcs is meant.
    sweep : bool
        Whether the angle grows along it.
    chord : float
        Farthest that a chord may lie from the arc, in the unit of the ends.
    beside : float, default 0
        Half the width of a line along it whose edges are to be as close, in the unit of the ends.

    References
    ----------
    .. [1] W3C, "Scalable Vector Graphics (SVG) 2", section 9.5.1 and appendix B.2.4.
    """
    rx, ry = abs(radii[0]), abs(radii[1])
    if start == end or rx == 0 or ry == 0:
        return np.array([start, end])
    turn = np.array([[cos(turn_rad), -sin(turn_rad)], [sin(turn_rad), cos(turn_rad)]])
    a, b = np.asarray(start), np.asarray(end)
    # In the frame where the ellipse is a unit circle, half the chord is `half`.
    half = (turn.T @ (a - b)) / 2 / (rx, ry)
    reach = hypot(*half)
    if reach > 1:
        rx, ry, half = rx * reach, ry * reach, half / reach
    away = sqrt(max(0.0, 1 / float(half @ half) - 1)) * (-1 if large == sweep else 1)
    middle = away * np.array([half[1], -half[0]])
    first, last = half - middle, -half - middle
    start_rad = float(np.arctan2(first[1], first[0]))
    sweep_rad = float(np.arctan2(last[1], last[0])) - start_rad
    sweep_rad = sweep_rad % (2 * pi) if sweep else -((-sweep_rad) % (2 * pi))
    center = (a + b) / 2 + turn @ (middle * (rx, ry))
    points = arc_points(
        center, turn[:, 0] * rx, turn[:, 1] * ry,
        start_rad=start_rad, sweep_rad=sweep_rad, chord=chord, beside=beside,
    )  # fmt: skip
    points[[0, -1]] = a, b
    return points


def spline_points(
    controls: ArrayLike, *, knots: Sequence[float], weights: Sequence[float], chord: float
) -> Points:
    """Return points along a B-spline, rational or not, both ends included.

    Parameters
    ----------
    controls : array_like, shape (n, 2)
        Control points.
    knots : sequence of float, length n + degree + 1
        Knots, never falling; the degree follows from the count.
    weights : sequence of float, length n
        Positive weights; all equal for a plain spline. [-]
    chord : float
        Largest distance between curve and chords.

    Raises
    ------
    OutlineError
        If the knots fall, or are too few for the control points.

    Notes
    -----
    Knots are inserted until every span is a Bézier curve (W. Boehm, "Inserting new knots
    into B-spline curves", Computer-Aided Design 12, 1980); each is halved until its control
    points lie within ``chord`` of the straight line between its ends. With positive
    weights the curve stays inside the hull of its control points, so the bound holds.
    """
    P = np.asarray(controls, dtype=np.float64)
    U = np.asarray(knots, dtype=np.float64)
    if len(P) < 2 or len(knots) <= len(P) + 1 or not (np.diff(U) >= 0).all() or U[0] == U[-1]:
        raise OutlineError(
            "The drawing has a spline whose knots do not fit its points; redraw that curve."
        )
    w = np.asarray(weights, dtype=np.float64)[:, None]
    pieces = _bezier_pieces(np.hstack([P * w, w]), list(knots))
    for piece in pieces:
        _counted(sqrt(_farthest(piece[:, :2] / piece[:, 2:]) / chord))
    runs = [_halved(piece, chord, _HALVINGS) for piece in pieces]
    return np.vstack([runs[0][:1], *[run[1:] for run in runs]])


def _bezier_pieces(homogeneous: Points, knots: list[float]) -> list[Points]:
    degree = len(knots) - len(homogeneous) - 1
    first, last = knots[degree], knots[-degree - 1]
    inside = sorted({knot for knot in knots if first <= knot <= last})
    for knot in inside:
        for _ in range(degree - knots.count(knot)):
            homogeneous, knots = _with_knot(homogeneous, knots, degree, knot)
    starts = [_span_start(knots, degree, low) for low in inside[:-1]]
    return [homogeneous[at : at + degree + 1] for at in starts]


def _span_start(knots: list[float], degree: int, low: float) -> int:
    """Return the first control point of the span that begins at a knot."""
    return max(at for at, knot in enumerate(knots) if knot == low) - degree


def _with_knot(
    homogeneous: Points, knots: list[float], degree: int, knot: float
) -> tuple[Points, list[float]]:
    U = np.asarray(knots)
    # The last knot belongs to the span on its left, every other to the one on its right.
    k = int(np.searchsorted(U, knot, side="right")) - 1
    if knot == knots[len(homogeneous)]:
        k = int(np.searchsorted(U, knot, side="left")) - 1
    i = np.arange(k - degree + 1, k + 1)
    share = ((knot - U[i]) / (U[i + degree] - U[i]))[:, None]
    new = share * homogeneous[i] + (1 - share) * homogeneous[i - 1]
    grown = np.vstack([homogeneous[: k - degree + 1], new, homogeneous[k:]])
    return grown, [*knots[: k + 1], knot, *knots[k + 1 :]]


def _halved(piece: Points, chord: float, depth: int) -> Points:
    P = piece[:, :2] / piece[:, 2:]
    if depth == 0 or _farthest(P) <= chord:
        return P[[0, -1]]
    left, right = _halves(piece)
    first, second = _halved(left, chord, depth - 1), _halved(right, chord, depth - 1)
    return np.vstack([first, second[1:]])


def _halves(piece: Points) -> tuple[Points, Points]:
    """Return both halves of a Bézier curve by de Casteljau's construction."""
    left, right, row = [piece[0]], [piece[-1]], piece
    while len(row) > 1:
        row = (row[:-1] + row[1:]) / 2
        left.append(row[0])
        right.append(row[-1])
    return np.array(left), np.array(right[::-1])


def _farthest(P: Points) -> float:
    """Return how far control points stray from the straight line between the ends."""
    along = P[-1] - P[0]
    length2 = float(along @ along)
    share = np.clip((P - P[0]) @ along / length2, 0, 1) if length2 > 0 else np.zeros(len(P))
    return float(np.hypot(*(P - P[0] - share[:, None] * along).T).max())
