"""Bent strips for tests: by legs and angles, as they come out, and a closed fold."""

from dataclasses import replace

from moldgen.bend.strip.choices import Turn
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.part import Bend, StripSpec
from moldgen.bend.strip.shape import formed


def strip(legs, angles, *, radius_mm=6.0, **more):
    """Return a strip with these legs, and bends of these angles, positive up."""
    bends = tuple(
        Bend(
            angle_deg=abs(angle),
            turn=Turn.UP if angle > 0 else Turn.DOWN,
            inside_radius_mm=radius_mm,
        )
        for angle in angles
    )
    values = {
        "name": "tray hook",
        "thickness_mm": 3.0,
        "width_mm": 60.0,
        "plastic": "PMMA cast",
        "legs_mm": tuple(legs),
        "bends": bends,
    }
    return StripSpec(**{**values, **more})


def bent(spec, **how):
    return formed(spec, build_layout(spec), **how)


def fold(gap_mm=2.0, **more):
    spec = strip([40.0, 80.0], [90.0])
    return replace(spec, bends=(Bend(angle_deg=180, gap_mm=gap_mm),), **more)
