"""A logbook stand of two bends."""

from dataclasses import replace

from moldgen.bend.strip.part import Bend, StripSpec

STAND = StripSpec(
    name="logbook stand",
    thickness_mm=3.0,
    width_mm=120.0,
    plastic="PMMA cast",
    legs_mm=(80.0, 120.0, 60.0),
    bends=(Bend(angle_deg=90), Bend(angle_deg=110)),
)


def strip(**changed):
    """A logbook stand, 3 mm acrylic, two bends."""
    return replace(STAND, **changed)
