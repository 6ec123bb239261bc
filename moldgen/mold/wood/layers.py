"""Layers of a wooden mold: the sharp walls of its features, cut at the thicknesses of boards."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import radians, tan

import shapely
from shapely import MultiPolygon

from moldgen.mold.features import Direction, Feature, WallEnd
from moldgen.solid.loft.loft import inset
from moldgen.solid.polygons import polygons_of
from moldgen.stock.board import Board, BoardSystem, boards_for

SAME_MM = 0.02
"""Heights nearer than this are one: far below what a plane takes off. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerCut:
    """What a recess takes out of one layer.

    Attributes
    ----------
    feature : str
        The recess.
    draft_deg : float
        Lean of its wall. [°]
    lower, upper : MultiPolygon
        Its outline at its lowest in this layer, and at its highest there. [mm]
    depth_mm : float
        From the layer's upper face down. [mm]
    through : bool
        Whether it goes through the layer; otherwise it is cut to its depth from above.
    """

    feature: str
    draft_deg: float
    lower: MultiPolygon
    upper: MultiPolygon
    depth_mm: float
    through: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WoodLayer:
    """One layer of a wooden mold, as it is sawn.

    Attributes
    ----------
    number : int
        From the bottom, from 1 on.
    feature : str
        Whose wall it is a part of.
    stands_on : str
        The feature that the stack of this one stands on; empty for the table.
    board : Board
        What it is sawn from.
    z_mm, thickness_mm : float
        Height of its lower face above the table; its thickness when it is planed. [mm]
    draft_deg : float
        Lean of its outside: the angle of the saw. [°]
    lower, upper : MultiPolygon
        Outside at the lower and at the upper face, sharp, recesses not taken out. [mm]
    cuts : tuple of LayerCut
        What recesses take out of it.
    """

    number: int
    feature: str
    stands_on: str
    board: Board
    z_mm: float
    thickness_mm: float
    draft_deg: float
    lower: MultiPolygon
    upper: MultiPolygon
    cuts: tuple[LayerCut, ...]

    @property
    def top_mm(self) -> float:
        """Height of its upper face above the table. [mm]."""
        return self.z_mm + self.thickness_mm

    @property
    def planed_mm(self) -> float:
        """What is planed off its board. [mm]."""
        off = self.board.thickness_mm - self.thickness_mm
        return off if off > SAME_MM else 0.0

    @property
    def angles_deg(self) -> tuple[float, ...]:
        """Every angle it is sawn at, the outside's first. [°]."""
        through = [cut.draft_deg for cut in self.cuts if cut.through]
        return tuple(dict.fromkeys((self.draft_deg, *through)))

    @property
    def wood_below(self) -> MultiPolygon:
        """Its lower face when it is cut. [mm]."""
        return _without(self.lower, [cut.lower for cut in self.cuts if cut.through])

    @property
    def wood_above(self) -> MultiPolygon:
        """Its upper face when it is cut. [mm]."""
        return _without(self.upper, [cut.upper for cut in self.cuts])

    @property
    def volume_mm3(self) -> float:
        """Wood in it, by the mean of its faces. [mm³]."""
        area_mm2 = float(self.wood_below.area + self.wood_above.area) / 2
        return area_mm2 * self.thickness_mm


def wood_layers(bodies: Sequence[Feature], system: BoardSystem) -> tuple[WoodLayer, ...]:
    """Return the layers of a mold from the bottom, numbered.

    Parameters
    ----------
    bodies : sequence of Feature
        What stands on the table, with all that is raised from it or sunk into it.
    system : BoardSystem
        Which boards there are.

    Notes
    -----
    Every raised feature is a stack of its own on the flat of its parent; a recess is cut through
    the layers it reaches. Radii are not in the outlines: they are filed and filled afterwards.
    """
    stacks = [layer for body in bodies for layer in _stack(body, "", 0.0, system)]
    ordered = sorted(stacks, key=lambda layer: round(layer.z_mm, 6))
    return tuple(replace(layer, number=n) for n, layer in enumerate(ordered, start=1))


def sharp_outline(feature: Feature, above_foot_mm: float) -> MultiPolygon:
    """Return the outline of a feature's wall without its radii, so far above its lower end.

    Parameters
    ----------
    feature : Feature
        Raised or sunk.
    above_foot_mm : float
        Height above the lower end of its wall. [mm]
    """
    wall = feature.wall
    read_mm = wall.height_mm if feature.read_at is WallEnd.TOP else 0.0
    inward_mm = (above_foot_mm - read_mm) * tan(radians(wall.draft_deg))
    return inset(feature.region, -inward_mm if feature.direction is Direction.SUNK else inward_mm)


@dataclass(frozen=True, slots=True, eq=False)
class _Recess:
    """A sunk feature in its place: between which heights it lies. [mm]."""

    feature: Feature
    floor_mm: float
    mouth_mm: float


def _stack(
    feature: Feature, stands_on: str, z_mm: float, system: BoardSystem
) -> Iterator[WoodLayer]:
    """Yield the layers of a raised feature, and of all that is raised from it or in it."""
    top_mm = z_mm + feature.wall.height_mm
    recesses = list(_recesses(feature, top_mm))
    floors = [recess.floor_mm for recess in recesses]
    low_mm = z_mm
    for board, thickness_mm in _boards(z_mm, top_mm, floors, system):
        yield _layer(
            feature, recesses, board, low_mm=low_mm, high_mm=low_mm + thickness_mm,
            foot_mm=z_mm, stands_on=stands_on,
        )  # fmt: skip
        low_mm += thickness_mm
    yield from _raised_from(feature, feature.name, top_mm, system)
    for recess in recesses:
        yield from _raised_from(recess.feature, feature.name, recess.floor_mm, system)


def _raised_from(
    feature: Feature, stands_on: str, z_mm: float, system: BoardSystem
) -> Iterator[WoodLayer]:
    for child in feature.children:
        if child.direction is Direction.RAISED:
            yield from _stack(child, stands_on, z_mm, system)


def _recesses(feature: Feature, mouth_mm: float) -> Iterator[_Recess]:
    """Yield what is sunk into a feature, and what is sunk into the floors of that."""
    for child in feature.children:
        if child.direction is Direction.SUNK:
            floor_mm = mouth_mm - child.wall.height_mm
            yield _Recess(child, floor_mm, mouth_mm)
            yield from _recesses(child, floor_mm)


def _layer(
    feature: Feature, recesses: Iterable[_Recess], board: Board, *, low_mm: float, high_mm: float,
    foot_mm: float, stands_on: str,
) -> WoodLayer:  # fmt: skip
    return WoodLayer(
        number=0,
        feature=feature.name,
        stands_on=stands_on,
        board=board,
        z_mm=low_mm,
        thickness_mm=high_mm - low_mm,
        draft_deg=feature.wall.draft_deg,
        lower=sharp_outline(feature, low_mm - foot_mm),
        upper=sharp_outline(feature, high_mm - foot_mm),
        cuts=tuple(_cuts(recesses, low_mm, high_mm)),
    )


def _cuts(recesses: Iterable[_Recess], low_mm: float, high_mm: float) -> Iterator[LayerCut]:
    for one in recesses:
        bottom, top = max(low_mm, one.floor_mm), min(high_mm, one.mouth_mm)
        if top - bottom > SAME_MM:
            yield LayerCut(
                feature=one.feature.name,
                draft_deg=one.feature.wall.draft_deg,
                lower=sharp_outline(one.feature, bottom - one.floor_mm),
                upper=sharp_outline(one.feature, top - one.floor_mm),
                depth_mm=high_mm - bottom,
                through=one.floor_mm <= low_mm + SAME_MM,
            )


def _boards(
    low_mm: float, high_mm: float, floors_mm: Iterable[float], system: BoardSystem
) -> tuple[tuple[Board, float], ...]:
    """Return boards and finished thicknesses from one height to another.

    Where the boards allow it without planing, floors of recesses fall between two layers.
    """
    inside = {round(z, 2) for z in floors_mm if low_mm + SAME_MM < z < high_mm - SAME_MM}
    levels = [low_mm, *sorted(inside), high_mm]
    parts = [boards_for(b - a, system) for a, b in pairwise(levels)]
    exact = all(
        sum(board.thickness_mm for board in part) - (b - a) <= SAME_MM
        for part, (a, b) in zip(parts, pairwise(levels), strict=True)
    )
    boards = [b for part in parts for b in part] if exact else boards_for(high_mm - low_mm, system)
    over_mm = sum(board.thickness_mm for board in boards) - (high_mm - low_mm)
    planed = max(range(len(boards)), key=lambda n: boards[n].thickness_mm)
    return tuple(
        (board, board.thickness_mm - (over_mm if n == planed else 0.0))
        for n, board in enumerate(boards)
    )


def _without(region: MultiPolygon, holes: Sequence[MultiPolygon]) -> MultiPolygon:
    return polygons_of(shapely.difference(region, shapely.union_all(holes))) if holes else region
