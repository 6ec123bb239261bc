"""An example of what another package adds: a shape, a check, a fixture and a format."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from moldgen import Body, Finding, Severity
from moldgen.fixture.kinds import Kind
from moldgen.fixture.spec import FixtureSpec
from moldgen.mold.checks.case import Case
from moldgen.quantity import Quantity

BUOY = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 100">
<title>Spar buoy</title><desc>A spar buoy.</desc>
<path d="M20 0 L40 0 L60 60 L40 100 L20 100 L0 60 Z"/></svg>"""
TORN_SAIL = "<svg"


def check_name_plate(case: Case) -> Iterator[Finding]:
    """Yield a note on how wide the mold is, for the plate on its shelf."""
    yield Finding(
        code="shed-name-plate",
        severity=Severity.NOTE,
        says=f"{len(case.bodies)} to go on the shelf",
        basis="the shed's own shelf",
    )


def check_leaky(case: Case) -> Iterator[Finding]:
    """Fail."""
    raise ZeroDivisionError("the bilge is full")


@dataclass(frozen=True, slots=True, kw_only=True)
class WedgeSpec(FixtureSpec):
    """A wedge to level the table with."""

    rise_mm: Annotated[float, Quantity("mm", "rise of the wedge", above=0, at_most=50)] = 8.0


WEDGE = Kind(
    name="wedge",
    title="Leveling wedge",
    use="Push it under a leg of the table until the sheet lies level.",
    safety="Lift the table with two people.",
    spec=WedgeSpec,
    build="boat_shed_extras.wedge:build_wedge",
    package="",
)


def corner_text(bodies: Sequence[Body], title: str) -> bytes:
    """Return the number of corners of every body, as text."""
    rows = (f"{body.name}: {len(body.mesh.points_mm)}" for body in bodies)
    return "\n".join((title, *rows)).encode()
