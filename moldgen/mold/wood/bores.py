"""Vents of a wooden mold: a fine hole from above, a wide bore from below to just under it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import shapely

from moldgen.mold.vents.vent import Vent
from moldgen.mold.wood.layers import SAME_MM, WoodLayer
from moldgen.stock.drill import nearest_drill

LEAST_VENT_MM = 0.8
"""Thinnest drill that is worth its price in wood; common practice, no source. [mm]."""

WIDE_MM = 5.0
"""The bore from below; common practice, no source. [mm]."""

SKIN_MM = 4.0
"""So much wood stays over the wide bore: a fine drill gets through it; common practice. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WoodBore:
    """One vent, as it is drilled.

    Attributes
    ----------
    name : str
        The vent.
    x_mm, y_mm, z_mm : float
        Its mouth. [mm]
    fine, fine_inch : str
        The fine drills, metric and inch.
    fine_mm : float
        Diameter of the fine hole. [mm]
    deep_mm : float
        How deep the wide bore goes from the underside; 0 for none. [mm]
    """

    name: str
    x_mm: float
    y_mm: float
    z_mm: float
    fine: str
    fine_inch: str
    fine_mm: float
    deep_mm: float


def wood_bores(vents: Iterable[Vent]) -> tuple[WoodBore, ...]:
    """Return how each vent is drilled."""
    return tuple(_bore(vent) for vent in vents)


def _bore(vent: Vent) -> WoodBore:
    fine_mm = max(LEAST_VENT_MM, vent.diameter_mm)
    metric = nearest_drill(fine_mm, "metric", at_most=True)
    return WoodBore(
        name=vent.name, x_mm=vent.x_mm, y_mm=vent.y_mm, z_mm=vent.z_mm,
        fine=metric.name, fine_inch=nearest_drill(fine_mm, "inch", at_most=True).name,
        fine_mm=metric.diameter_mm, deep_mm=max(0.0, vent.z_mm - SKIN_MM),
    )  # fmt: skip


def bores_in(layer: WoodLayer, bores: Iterable[WoodBore]) -> tuple[tuple[WoodBore, float], ...]:
    """Return the bores that go into a layer, each with its diameter at the upper face. [mm].

    Where the wide bore ends in a layer its upper face has the fine hole alone.
    """
    wood = layer.wood_below
    found = []
    for bore in bores:
        inside = bore.z_mm > layer.z_mm + SAME_MM
        if inside and shapely.covers(wood, shapely.Point(bore.x_mm, bore.y_mm)):
            wide = bore.deep_mm > layer.top_mm - SAME_MM
            found.append((bore, WIDE_MM if wide else bore.fine_mm))
    return tuple(found)
