"""How far a level ceiling spans: its widest places, and the shortest way over each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from moldgen.arrays import Flags, Floats, Indices
from moldgen.compiling import njit
from moldgen.solid.polygons import polygons_of

_WAYS = 36
_CORNER_MM = 0.01
_MOST_CORNERS = 40
_MOST_LOOKS = 600_000
_PLACES = (60, 400)
_BORDER_POINTS = 3000
_FINE_MM = 0.5
_TOUCH = 1.05
_HALF_ROUND_DEG = 190.0


def spans_mm(places: Floats, border: Floats, held: Flags) -> Floats:
    """Return how far a ceiling spans at each place; infinite where nothing holds two sides. [mm].

    Parameters
    ----------
    places : ndarray, shape (n, 2)
        Where to look. [mm]
    border : ndarray, shape (k, 2, 2)
        Edges all round the ceiling. [mm]
    held : ndarray, shape (k,)
        Which of them are held.

    Notes
    -----
    The widest span is exact. One that is less may be told as more, up to the widest.
    """
    touches = _touches(places, border)
    circles = _circles(places, touches, held)
    return _chords(places, border, held, touches=touches, circles=circles)


def widest_places(region: shapely.Geometry, n_edges: int) -> Floats:
    """Return where a ceiling is widest: middles of circles that touch its border all round.

    They are the corners of the cells around points of the border (the medial axis).
    """
    parts = polygons_of(region)
    if parts.is_empty:
        return np.array(shapely.get_coordinates(region.centroid))
    hearts = shapely.maximum_inscribed_circle(shapely.get_parts(parts), tolerance=1e-3)
    border = shapely.boundary(parts)
    fine = shapely.segmentize(border, max(_FINE_MM, border.length / _BORDER_POINTS))
    points = shapely.multipoints(np.unique(shapely.get_coordinates(fine), axis=0))
    cells = shapely.get_coordinates(shapely.voronoi_polygons(points, only_edges=True))
    inside = cells[shapely.contains_xy(parts, cells)]
    inside = np.unique(np.round(inside, 4), axis=0)
    room = shapely.distance(border, shapely.points(inside))
    widest = np.argsort(-room, kind="stable")[: int(np.clip(_MOST_LOOKS // n_edges, *_PLACES))]
    near = _just_inside(list(parts.geoms))
    return np.concatenate(
        [shapely.get_coordinates(shapely.get_point(hearts, 0)), inside[widest], near]
    )


def _just_inside(parts: list[Polygon]) -> Floats:
    """Return places close to the corners, where a bridge may be widest."""
    inner = shapely.buffer(np.array(parts), -_CORNER_MM, join_style="mitre")
    corners = shapely.get_coordinates(shapely.simplify(inner, _CORNER_MM))
    return np.asarray(corners[:: max(1, len(corners) // _MOST_CORNERS)])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Touches:
    """Where the circle round each place that just fits touches the border.

    Attributes
    ----------
    reach_mm : ndarray, shape (places,)
        Radius of the circles. [mm]
    place, edge : ndarray, shape (touches,)
        The place and the border edge of every touch, the places in their order.
    angle : ndarray, shape (touches,)
        Which way from the place it is, rising within a place. [rad]
    """

    reach_mm: Floats
    place: Indices
    edge: Indices
    angle: Floats

    @property
    def first(self) -> Indices:
        """Number of the first touch of every place, shape (places,)."""
        return np.searchsorted(self.place, np.arange(len(self.reach_mm)))


def _touches(places: Floats, border: Floats) -> _Touches:
    """Return where the circles round places touch; a circle may be a little wider than fits."""
    tree = shapely.STRtree(shapely.linestrings(border))
    points = shapely.points(places)
    _, fits_mm = tree.query_nearest(points, return_distance=True, all_matches=False)
    place, edge = tree.query(points, "dwithin", _TOUCH * fits_mm + _FINE_MM / 2)
    start, run = border[edge, 0], border[edge, 1] - border[edge, 0]
    to = places[place] - start
    share = np.clip((to * run).sum(axis=1) / np.maximum((run**2).sum(axis=1), 1e-18), 0, 1)
    away = share[:, None] * run - to
    distance = np.hypot(away[:, 0], away[:, 1])
    reach = np.full(len(places), np.inf)
    np.minimum.at(reach, place, distance)
    touch = distance <= _TOUCH * reach[place] + _FINE_MM / 4
    place, edge, away = place[touch], edge[touch], away[touch]
    angle = np.arctan2(away[:, 1], away[:, 0])
    order = np.lexsort((angle, place))
    return _Touches(reach_mm=reach, place=place[order], edge=edge[order], angle=angle[order])


def _circles(places: Floats, touches: _Touches, held: Flags) -> Floats:
    """Return the width of the widest circle round each place that is held all round; inf for none.

    Between pads a line that is drawn straight may slip past many of them, but what sags is no
    wider than the largest circle that fits between them.
    """
    reach, round_ = touches.reach_mm, np.flatnonzero(_held_all_round(touches, held))
    apart = np.hypot(*np.moveaxis(places[:, None] - places[None, round_], -1, 0))
    within = apart <= reach[round_] + 1e-9
    widths = np.where(within, 2 * reach[round_], -np.inf).max(axis=1, initial=-np.inf)
    return np.where(np.isfinite(widths), widths, np.inf)


def _held_all_round(touches: _Touches, held: Flags) -> Flags:
    """Tell of which places held edges alone touch the circle, no half of it without a touch."""
    first, angle = touches.first, touches.angle
    last = np.append(first[1:], len(angle)) - 1
    gap = 2 * np.pi - (angle[last] - angle[first])
    between = np.flatnonzero(np.diff(touches.place) == 0)
    np.maximum.at(gap, touches.place[between], np.diff(angle)[between])
    free = np.zeros(len(first), bool)
    free[touches.place[~held[touches.edge]]] = True
    all_round: Flags = ~free & (gap <= np.radians(_HALF_ROUND_DEG))
    return all_round


def _chords(
    places: Floats, border: Floats, held: Flags, *, touches: _Touches, circles: Floats
) -> Floats:
    """Return the shortest way between held edges through each place, or its circle if less.

    In mm; infinite for a place without either. A place that is bridged at all counts for nothing
    but the widest, so a way that is no longer than the widest so far is short enough.
    """
    runs = border[:, 1] - border[:, 0]
    long = runs[np.argsort(-np.hypot(*runs.T))[:8]]
    square = np.arctan2(long[:, 0], -long[:, 1]) % np.pi
    ways = np.unique(np.round(np.concatenate([np.arange(_WAYS) * np.pi / _WAYS, square]), 9))
    # Straight to where the border is nearest is likely the shortest.
    nearest = np.searchsorted(ways, touches.angle[touches.first] % np.pi) % len(ways)
    turned = np.stack([np.cos(ways), np.sin(ways)], axis=1)
    return _shortest(places, border, held, turned, nearest, circles)


@njit(cache=True)
def _shortest(
    places: Floats,
    border: Floats,
    held: Flags,
    ways: Floats,
    nearest: Indices,
    circles: Floats,
) -> Floats:
    """Return the shortest line through each place whose first borders ahead and behind are held.

    The ways are gone through from the nearest one on to both sides, as long as the line is longer
    than the widest before.
    """
    spans, widest = circles.copy(), -np.inf
    for k in range(len(places)):
        for turn in range(len(ways)):
            if spans[k] <= widest:
                break
            aside = (turn + 1) // 2 if turn % 2 else -(turn // 2)
            way = ways[(nearest[k] + aside) % len(ways)]
            spans[k] = min(spans[k], _line(places[k], way, border, held))
        if np.isfinite(spans[k]):
            widest = max(widest, spans[k])
    return spans


@njit(cache=True)
def _line(place: Floats, way: Floats, border: Floats, held: Flags) -> float:
    """Return the line through a place from border to border; infinite if an end is not held."""
    x, y = way
    fore, back, fore_held, back_held = np.inf, np.inf, False, False
    for e in range(len(border)):
        run_x, run_y = border[e, 1, 0] - border[e, 0, 0], border[e, 1, 1] - border[e, 0, 1]
        to_x, to_y = border[e, 0, 0] - place[0], border[e, 0, 1] - place[1]
        across = x * run_y - y * run_x
        if across == 0:
            continue
        share = (to_x * y - to_y * x) / across
        if share < -1e-9 or share > 1 + 1e-9:
            continue
        along = (to_x * run_y - to_y * run_x) / across
        if 0 <= along < fore:
            fore, fore_held = along, held[e]
        elif 0 < -along < back:
            back, back_held = -along, held[e]
    return fore + back if fore_held and back_held else np.inf
