"""The solid of the wedge."""

from manifold3d import Manifold

from boat_shed_extras import WedgeSpec
from moldgen.fixture.fixture import Bench, Fixture, finished


def build_wedge(spec: WedgeSpec, bench: Bench) -> Fixture:
    """Build a wedge 60 mm long."""
    ends = [(x, y, z) for y in (0.0, 20.0) for x, z in ((0, 0), (60, 0), (60, spec.rise_mm))]
    solid = Manifold.hull_points(ends)
    facts = (("Rise", f"{spec.rise_mm:g} mm"),)
    return finished("wedge", "Leveling wedge", [("wedge", solid)], bench.printer, facts=facts)
