"""A wooden mold: its layers, its dowels and its bores, and what they come to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely

from moldgen.mold.features import Feature
from moldgen.mold.vents.vent import Vent
from moldgen.mold.wood.bores import WoodBore, wood_bores
from moldgen.mold.wood.dowels import DowelPlan, plan_dowels
from moldgen.mold.wood.layers import WoodLayer, wood_layers
from moldgen.stock.board import MDF, BoardSystem

SPARE_MM = 10.0
"""Board round an outline, to hold it by; common practice, no source. [mm]."""

BLADE_MM = 1.0
"""Concave corners rounder than this can be sawn; common practice for a scroll saw. [mm]."""

_LEAST_MM2 = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WoodMold:
    """A mold as it is built from boards.

    Attributes
    ----------
    layers : tuple of WoodLayer
        From the bottom.
    dowels : DowelPlan
        What keeps them in place.
    bores : tuple of WoodBore
        How each vent is drilled.
    """

    layers: tuple[WoodLayer, ...]
    dowels: DowelPlan
    bores: tuple[WoodBore, ...]

    @property
    def height_mm(self) -> float:
        """Greatest height above the table. [mm]."""
        return max(layer.top_mm for layer in self.layers)

    @property
    def board_mm2(self) -> float:
        """Board that is cut off for its layers. [mm²]."""
        sizes = [board_size_mm(layer) for layer in self.layers]
        return sum(width * depth for width, depth in sizes)

    @property
    def mass_g(self) -> float:
        """Mass as MDF. [g]."""
        return sum(layer.volume_mm3 for layer in self.layers) * MDF.density_kg_m3 * 1e-6


def build_wood(bodies: Sequence[Feature], vents: Iterable[Vent], system: BoardSystem) -> WoodMold:
    """Return how a mold is built from boards.

    Parameters
    ----------
    bodies : sequence of Feature
        What stands on the table, with all that is raised from it or sunk into it.
    vents : iterable of Vent
        Where its air goes.
    system : BoardSystem
        Which boards there are.
    """
    layers, bores = wood_layers(bodies, system), wood_bores(vents)
    return WoodMold(layers=layers, dowels=plan_dowels(layers, bores), bores=bores)


def board_size_mm(layer: WoodLayer) -> tuple[float, float]:
    """Return width and depth of the board to cut a layer from. [mm]."""
    x0, y0, x1, y1 = layer.lower.bounds
    return x1 - x0 + 2 * SPARE_MM, y1 - y0 + 2 * SPARE_MM


def tight_corners(layer: WoodLayer) -> int:
    """Return how many concave corners of a layer are too tight for a blade."""
    wood = layer.wood_above
    closed = shapely.buffer(shapely.buffer(wood, BLADE_MM), -BLADE_MM)
    left = shapely.get_parts(shapely.difference(closed, wood))
    return int((shapely.area(left) > _LEAST_MM2).sum())
