"""Pictures of a forming run: maps of how thick the sheet comes out, and of when it arrives."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.arrays import Floats
from moldgen.export.picture.forming_scales import (
    HELD_SHARE,
    THIN_SHARE,
    arrival_scale,
    arrival_values,
    thickness_scale,
)
from moldgen.export.picture.mark import Mark, with_ring_number
from moldgen.export.picture.sheet_map import SheetMap, sheet_map_png
from moldgen.export.picture.value_scale import ValueScale
from moldgen.export.report.report import Picture
from moldgen.mold.sheet.formed import FormedSheet, SheetBridge
from moldgen.physics.membrane.holding import pressure_at_arrival
from moldgen.physics.membrane.run import FormingRun
from moldgen.solid.polygons import polygons_of

_CLOSE_MM = 0.05
"""How closely lines are drawn. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetThickness:
    """How thick a formed sheet comes out: all that a map of it shows.

    Attributes
    ----------
    gauge_mm : float
        Thickness before. [mm]
    points_mm : ndarray, shape (n, 2)
        The formed sheet's points from above. [mm]
    triangles : ndarray, shape (m, 3)
        Which points make its triangles.
    at_points_mm : ndarray, shape (n,)
        Thickness at each point. [mm]
    part_mm, part_mm2 : ndarray, shape (p,)
        Thickness and area of each triangle of the part. [mm, mm²]
    """

    gauge_mm: float
    points_mm: Floats
    triangles: NDArray[np.int32]
    at_points_mm: Floats
    part_mm: Floats
    part_mm2: Floats


def thickness_of(formed: FormedSheet) -> SheetThickness:
    """Return how thick a formed sheet comes out."""
    run, part, gauge_mm = formed.run, formed.part, formed.sheet.gauge_mm
    return SheetThickness(
        gauge_mm=gauge_mm,
        points_mm=run.points_mm[:, :2],
        triangles=run.mesh.triangles,
        at_points_mm=run.thickness_at_points * gauge_mm,
        part_mm=formed.thickness_mm[part],
        part_mm2=run.areas_mm2[part],
    )


def forming_pictures(
    formed: FormedSheet,
    trim: MultiPolygon,
    title: str,
    *,
    outlines: Sequence[MultiPolygon] = (),
    vents_mm: Sequence[tuple[float, float]] = (),
    rings: Mapping[str, tuple[float, float]] | None = None,
) -> tuple[Picture, ...]:
    """Return the maps of thickness and arrival.

    Parameters
    ----------
    trim, outlines, vents_mm
        Those of `base_map`.
    rings : mapping of str to (x, y), optional
        Places of findings by their numbers, which the marks there carry. [mm]
    """
    thickness, thinnest = thickness_of(formed), formed.thinnest
    plain = base_map(thickness, trim, title, outlines=outlines, vents_mm=vents_mm)
    x, y, _ = thinnest.where_mm
    thin = Mark(x_mm=x, y_mm=y, words=_thin_words(formed))
    return (
        Picture(
            name="thickness",
            caption="How thick the sheet comes out, seen from above within the trim line: the "
            "darker, the thinner; within a red line less than a quarter of the gauge is left. "
            "Small circles are vents; the bars tell how much of the part is how thick.",
            png=_png(thickness_map(thickness, plain, marks=(thin,)), rings or {}),
        ),
        Picture(
            name="arrival",
            caption="When the sheet comes to rest: the darker, the later. Air must get out "
            "where it is dark; where it is darkest, the sheet comes to rest or rounds a corner "
            "only while the full vacuum holds it; where it is rust red it bridges.",
            png=_png(arrival_map(formed, plain), rings or {}),
        ),
    )


def _png(shown: SheetMap, rings: Mapping[str, tuple[float, float]]) -> bytes:
    marks = tuple(with_ring_number(mark, rings) for mark in shown.marks)
    return sheet_map_png(replace(shown, marks=marks))


def base_map(
    thickness: SheetThickness,
    trim: MultiPolygon,
    title: str,
    *,
    outlines: Sequence[MultiPolygon] = (),
    vents_mm: Sequence[tuple[float, float]] = (),
) -> Callable[..., SheetMap]:
    """Return what makes a map of a formed sheet, once it is told of what.

    Parameters
    ----------
    trim : MultiPolygon
        What is cut out of the sheet. [mm]
    outlines : sequence of MultiPolygon
        Outlines of the mold to be drawn in. [mm]
    vents_mm : sequence of (x, y)
        Vents to be drawn in. [mm]
    """
    return partial(
        SheetMap,
        title=title,
        points_mm=thickness.points_mm,
        triangles=thickness.triangles,
        trim=_thinned(trim),
        outlines=tuple(map(_thinned, outlines)),
        vents_mm=np.array(vents_mm, float).reshape(-1, 2),
    )


def thickness_map(
    thickness: SheetThickness,
    plain: Callable[..., SheetMap],
    *,
    scale: ValueScale | None = None,
    marks: tuple[Mark, ...] = (),
) -> SheetMap:
    """Return how thick a sheet comes out; on its gauge's own scale if none is given."""
    scale = scale or thickness_scale(thickness.gauge_mm)
    return plain(
        about="thickness of the formed sheet, from above",
        values=np.clip(thickness.at_points_mm, 0.0, scale.edges[-1]),
        scale=scale,
        areas_cm2=scale.areas_cm2(thickness.part_mm, thickness.part_mm2),
        marks=marks,
        limit=THIN_SHARE * thickness.gauge_mm,
    )


def _thin_words(formed: FormedSheet) -> str:
    """Return how thin the thinnest place is, which the map's own color does not say by notes."""
    words = f"thin: {formed.thinnest.thin_mm:.2f} mm"
    return words if formed.measured is None else f"{words} by notes"


def arrival_map(formed: FormedSheet, plain: Callable[..., SheetMap]) -> SheetMap:
    """Return when a sheet comes to rest."""
    run, scale = formed.run, arrival_scale()
    values = arrival_values(np.where(formed.reach.rounds, HELD_SHARE, vacuum_at_arrival(run)))
    means = values[run.mesh.triangles].mean(axis=1)[formed.part]
    return plain(
        about="share of the vacuum at which the sheet comes to rest, from above",
        values=values,
        scale=scale,
        areas_cm2=scale.areas_cm2(means, run.areas_mm2[formed.part]),
        marks=tuple(map(_bridge_mark, formed.bridges[:1])),
    )


def _bridge_mark(bridge: SheetBridge) -> Mark:
    x, y, _ = bridge.where_mm
    return Mark(x_mm=x, y_mm=y, words=f"bridges: {bridge.gap_mm:.1f} mm off")


def vacuum_at_arrival(run: FormingRun) -> Floats:
    """Return the share of the full vacuum at which each point came to rest, shape (n,).

    -1 while the mold rose and where the clamp holds it, more than 1 while the sheet relaxed under
    the full vacuum, inf where it touches nothing.
    """
    share = pressure_at_arrival(run) / max(run.spec.drawn_per_mm, 1e-12)
    return np.where(share < 0.0, -1.0, np.maximum(share, 1e-6))


def _thinned(region: MultiPolygon) -> MultiPolygon:
    return polygons_of(shapely.simplify(region, _CLOSE_MM))
