"""Radius of the corners of an outline, seen from above: by the sheet, where strokes allow it."""

from __future__ import annotations

from math import floor

from shapely import MultiPolygon

from moldgen.mold.rules import radius_rule

STROKE_SHARE = 0.3
"""A radius on a thin stroke is at most this share of it; twice as much would leave no flat. [-]."""

RADIUS_STEP_MM = 0.25
"""Steps of a radius that is fitted to strokes. [mm]."""


def plan_radius_mm(piece: MultiPolygon, *, gauge_mm: float, height_mm: float) -> float:
    """Return the radius that the corners of one piece of an outline are given. [mm].

    Parameters
    ----------
    piece : MultiPolygon
        The piece; its neighbors have no say. [mm]
    gauge_mm : float
        Thickness of the sheet. [mm]
    height_mm : float
        Height of the wall. [mm]
    """
    return min(radius_rule(gauge_mm, height_mm).value, stroke_radius_mm(piece))


def stroke_mm(region: MultiPolygon) -> float:
    """Return the mean stroke width of an outline: twice its area over its border. [mm]."""
    return float(2 * region.area / region.length)


def stroke_radius_mm(region: MultiPolygon) -> float:
    """Return the largest radius that the strokes of an outline leave room for. [mm].

    Three tenths of the mean stroke, from one step on in whole steps of `RADIUS_STEP_MM`: letters
    of about the same stroke have the same.
    """
    most_mm = STROKE_SHARE * stroke_mm(region)
    steps = floor(most_mm / RADIUS_STEP_MM)
    return steps * RADIUS_STEP_MM if steps else most_mm
