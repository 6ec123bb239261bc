"""Dowels that keep the layers of a wooden mold in place while the glue dries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from moldgen.mold.wood.bores import WIDE_MM, WoodBore
from moldgen.mold.wood.layers import WoodLayer
from moldgen.solid.polygons import polygons_of

SIZES_MM = (6.0, 4.0, 3.0, 2.0)
"""Dowels, skewers and pins, thickest first; common practice, no source. [mm]."""

WALL_MM = 2.0
"""Wood that stays beside a dowel; half its diameter where that is less. [mm]."""

APART_SHARE = 2.5
"""Two dowels are at least so many diameters apart. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WoodDowel:
    """One place of a dowel.

    Attributes
    ----------
    x_mm, y_mm : float
        Its middle. [mm]
    diameter_mm : float
        Its diameter. [mm]
    layers : tuple of int
        Numbers of the layers it goes into, the lowest first.
    """

    x_mm: float
    y_mm: float
    diameter_mm: float
    layers: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DowelPlan:
    """Where dowels go, and where there is no room for any.

    Attributes
    ----------
    dowels : tuple of WoodDowel
        Two for each piece.
    without : tuple of int
        Numbers of layers that hold a piece without: it is placed by the line drawn round it.
    """

    dowels: tuple[WoodDowel, ...]
    without: tuple[int, ...]


def plan_dowels(layers: Sequence[WoodLayer], bores: Sequence[WoodBore]) -> DowelPlan:
    """Return two dowels for every piece that is glued onto another.

    Each keeps its distance from the edges of every layer it goes into, and from vents.
    """
    dowels: list[WoodDowel] = []
    without: list[int] = []
    for stack in _stacks(layers):
        below = _under(stack[0], layers)
        through = [*([below] if below else []), *stack]
        if len(through) < 2:
            continue
        for piece in stack[0].lower.geoms:
            placed = _placed(piece, through, _kept_off(bores, dowels))
            dowels += placed
            without += [] if placed else [stack[0].number]
    return DowelPlan(dowels=tuple(dowels), without=tuple(dict.fromkeys(without)))


def _stacks(layers: Sequence[WoodLayer]) -> Iterator[list[WoodLayer]]:
    """Yield the layers of each feature, from the bottom."""
    for name in dict.fromkeys(layer.feature for layer in layers):
        yield [layer for layer in layers if layer.feature == name]


def _under(layer: WoodLayer, layers: Sequence[WoodLayer]) -> WoodLayer | None:
    """Return the layer that one is glued on, if it is not the table."""
    parents = [
        one for one in layers if one.feature == layer.stands_on and one.z_mm < layer.z_mm - 1e-6
    ]
    return max(parents, key=lambda one: one.z_mm, default=None)


def _placed(
    piece: Polygon, through: Sequence[WoodLayer], taken: shapely.Geometry
) -> list[WoodDowel]:
    free = shapely.intersection_all([piece, *(_free(layer) for layer in through)])
    free = shapely.difference(free, taken)
    for size_mm in SIZES_MM:
        beside_mm = size_mm / 2 + min(WALL_MM, size_mm / 2)
        pair = _farthest(polygons_of(shapely.buffer(free, -beside_mm)))
        if pair is not None and np.hypot(*(pair[1] - pair[0])) >= APART_SHARE * size_mm:
            numbers = tuple(layer.number for layer in through)
            return [
                WoodDowel(x_mm=float(x), y_mm=float(y), diameter_mm=size_mm, layers=numbers)
                for x, y in pair
            ]
    return []


def _kept_off(bores: Sequence[WoodBore], dowels: Sequence[WoodDowel]) -> shapely.Geometry:
    """Return what vents and other dowels take, over the whole height. [mm]."""
    holes = [(bore.x_mm, bore.y_mm, WIDE_MM) for bore in bores]
    holes += [(dowel.x_mm, dowel.y_mm, dowel.diameter_mm) for dowel in dowels]
    return shapely.union_all([shapely.Point(x, y).buffer(size / 2) for x, y, size in holes])


def _free(layer: WoodLayer) -> MultiPolygon:
    """Return where a hole may go through a layer: both its faces, less recesses cut from above."""
    return polygons_of(shapely.intersection(layer.wood_below, layer.wood_above))


def _farthest(room: MultiPolygon) -> NDArray[np.float64] | None:
    """Return the two points of a region that lie farthest apart, shape (2, 2), or None. [mm]."""
    if room.is_empty:
        return None
    corners: NDArray[np.float64] = shapely.get_coordinates(shapely.convex_hull(room))
    far = np.hypot(*(corners[:, None] - corners[None]).transpose(2, 0, 1))
    pair: NDArray[np.float64] = corners[list(np.unravel_index(far.argmax(), far.shape))]
    return pair
