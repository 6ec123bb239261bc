"""Hypothesis strategies and plain makers of outlines for the property tests."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box, unary_union
from shapely.affinity import rotate, translate

from moldgen.outline.region import as_region


def as_multi(geometry) -> MultiPolygon:
    """Every polygon of a geometry, as one MultiPolygon."""
    if geometry.geom_type == "Polygon":
        return MultiPolygon([geometry])
    return MultiPolygon([part for part in geometry.geoms if part.geom_type == "Polygon"])


def rectangle(width_mm: float, depth_mm: float) -> MultiPolygon:
    """A rectangle centerd on the origin."""
    return as_multi(box(-width_mm / 2, -depth_mm / 2, width_mm / 2, depth_mm / 2))


def regular(radius_mm: float, n: int) -> MultiPolygon:
    """A regular polygon with its corners on a circle."""
    turns = 2 * np.pi * np.arange(n) / n
    return as_multi(Polygon(radius_mm * np.column_stack([np.cos(turns), np.sin(turns)])))


@st.composite
def blobs(draw):
    """A wavy closed curve, finely flattened."""
    size = draw(st.floats(8, 60))
    waves = draw(st.integers(2, 7))
    depth = draw(st.floats(0, 0.45))
    turns = np.linspace(0, 2 * np.pi, draw(st.integers(40, 300)), endpoint=False)
    radii = size * (1 + depth * np.sin(waves * turns))
    return Polygon(np.column_stack([radii * np.cos(turns), radii * np.sin(turns)]))


@st.composite
def stars(draw):
    """A star with sharp spikes and sharp inner corners."""
    n = draw(st.integers(3, 9))
    outer = draw(st.floats(10, 70))
    inner = outer * draw(st.floats(0.2, 0.8))
    turns = np.pi * np.arange(2 * n) / n
    radii = np.where(np.arange(2 * n) % 2, inner, outer)
    return Polygon(np.column_stack([radii * np.cos(turns), radii * np.sin(turns)]))


@st.composite
def plates(draw):
    """A rectangle with slots and round holes, some of them nearly touching."""
    width, depth = draw(st.floats(15, 120)), draw(st.floats(15, 120))
    plate = box(0, 0, width, depth)
    for _ in range(draw(st.integers(0, 4))):
        x, y = draw(st.floats(0.1, 0.9)) * width, draw(st.floats(0.1, 0.9)) * depth
        hole = Point(x, y).buffer(draw(st.floats(0.5, 12)), quad_segs=draw(st.integers(2, 12)))
        plate = plate.difference(hole)
    return plate


@st.composite
def outlines(draw):
    """One or more islands of any of these kinds, turned and moved, sometimes nearly touching."""
    shapes = draw(st.lists(st.one_of(blobs(), stars(), plates()), min_size=1, max_size=3))
    placed = [
        translate(
            rotate(shape, draw(st.floats(0, 360)), origin=(0, 0)),
            draw(st.floats(-60, 60)),
            draw(st.floats(-60, 60)),
        )
        for shape in shapes
    ]
    region = unary_union(placed)
    return as_region(region)
