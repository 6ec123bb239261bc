"""A logbook stand of two bends."""

from moldgen.bend.strip.part import Bend, StripSpec


def strip(**changed):
    """A logbook stand, 3 mm acrylic, two bends."""
    values = {
        "name": "logbook stand",
        "thickness_mm": 3.0,
        "width_mm": 120.0,
        "plastic": "PMMA cast",
        "legs_mm": (80.0, 120.0, 60.0),
        "bends": (Bend(angle_deg=90), Bend(angle_deg=110)),
    }
    return StripSpec(**(values | changed))
