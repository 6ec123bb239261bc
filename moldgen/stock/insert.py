"""Inserts: what the screw that lifts a mold goes through or into."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.entry import Entry


class InsertKind(StrEnum):
    """How the thread is held."""

    NUT = "nut"
    """A hexagon nut held in a pocket."""
    HEAT_SET = "heat-set"
    """A brass insert melted into a hole."""
    CLEARANCE = "clearance"
    """No thread: the hole the screw passes through."""


_NEEDS = {
    InsertKind.NUT: ("across_flats_mm", "thickness_mm"),
    InsertKind.HEAT_SET: ("hole_mm", "thickness_mm"),
    InsertKind.CLEARANCE: ("hole_mm",),
}


def _size(about: str) -> Quantity:
    return Quantity("mm", about, above=0, at_most=100)


@dataclass(frozen=True, slots=True, kw_only=True)
class Insert(Entry):
    """The sizes of a nut, a heat-set insert or a clearance hole, without allowance for printing.

    Raises
    ------
    SpecError
        If a value is out of range, or a size this kind needs is not given.
    """

    thread: Annotated[str, Meaning("thread, such as M4")]
    kind: Annotated[InsertKind, Meaning("nut, heat-set or clearance")]
    across_flats_mm: Annotated[float | None, _size("nut, width across flats")] = None
    thickness_mm: Annotated[float | None, _size("nut thickness, or depth of the hole")] = None
    hole_mm: Annotated[float | None, _size("diameter of the hole")] = None
    hole_fine_mm: Annotated[float | None, _size("diameter, close fit")] = None
    hole_coarse_mm: Annotated[float | None, _size("diameter, loose fit")] = None

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        for field in _NEEDS[self.kind]:
            if getattr(self, field) is None:
                raise SpecError(field, f"given for a {self.kind}", "nothing", "Write it.")
