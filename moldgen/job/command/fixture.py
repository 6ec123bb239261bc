"""What can be typed after the fixture command: the fields of every fixture together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, make_dataclass, replace
from enum import StrEnum
from typing import Annotated, Any, cast, get_type_hints

from moldgen.errors import SpecError
from moldgen.fixture.kinds import KINDS, Kind, kind_named
from moldgen.fixture.spec import FixtureSpec
from moldgen.fixture.trim.choices import TrimLineKind
from moldgen.job.command.mold import PlanCommand
from moldgen.job.command.shop import MeshUnit
from moldgen.job.spec import Flange
from moldgen.quantity import Meaning, Quantity, marks


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedFixture(PlanCommand):
    """What the fixture command can say about any fixture."""

    fixture: Annotated[
        str, Meaning("fixture to make; left out, all are listed: what they are for, how to be safe")
    ] = ""
    file: Annotated[str, Meaning("job file of the mold whose vents a drill guide is for")] = ""


def _own_fields() -> Iterator[tuple[str, Any, Any]]:
    """Yield each field of any fixture once, to be left out where it does not belong."""
    owners: dict[str, list[Kind]] = {}
    for kind in KINDS:
        for name in marks(kind.spec):
            owners.setdefault(name, []).append(kind)
    for name, kinds in owners.items():
        mark = marks(kinds[0].spec)[name]
        own = get_type_hints(kinds[0].spec)[name]
        about = f"{', '.join(kind.name for kind in kinds)}: {mark.about}"
        if own is bool:
            yield name, Annotated[bool, replace(mark, about=about)], False
            continue
        meaning = f"{about}{_usual(name, kinds)}"
        yield name, Annotated[own | None, replace(mark, about=meaning)], None


def _usual(name: str, kinds: list[Kind]) -> str:
    """Return the usual values of a field, once if the same for all."""
    values = [
        next(entry.default for entry in fields(kind.spec) if entry.name == name) for kind in kinds
    ]
    if MISSING in values or not all(values):
        return ""
    words = [f"{value:g}" if isinstance(value, float) else str(value) for value in values]
    shown = words[:1] if len(set(words)) == 1 else words
    return f" (usual: {', '.join(shown)})"


FixtureCommand = make_dataclass(
    "FixtureCommand",
    list(_own_fields()),
    bases=(NamedFixture,),
    namespace={
        "__doc__": "What the fixture command can say.",
        "__module__": __name__,
    },
    frozen=True,
    slots=True,
    kw_only=True,
)


def spec_from_words(command: NamedFixture) -> tuple[Kind, FixtureSpec]:
    """Return which fixture is wanted, and what is chosen about it.

    Raises
    ------
    SpecError
        If there is no such fixture, a value is out of range, or one belongs to another fixture.
    """
    kind = kind_named(command.fixture)
    known = marks(kind.spec)
    given = {}
    for name, mark in marks(cast(Any, FixtureCommand)).items():
        if name in marks(NamedFixture):
            continue
        value = getattr(command, name)
        if value is None or value is False:
            continue
        if name not in known:
            unit = f" {mark.unit}" if isinstance(mark, Quantity) else ""
            shown = f"{value:g}" if isinstance(value, float) else f"{value}"
            raise SpecError(name, f"left out for {kind.name}", f"{shown}{unit}", "Leave it out.")
        given[name] = value
    if command.file and kind.name != "drill-guide":
        raise SpecError("file", f"left out for {kind.name}", repr(command.file), "Leave it out.")
    return kind, kind.spec(**given)


class Fixing(StrEnum):
    """What the flange is for."""

    GLUED = "glued"
    SCREWED = "screwed"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimCommand(PlanCommand):
    """What the trim command can say."""

    file: Annotated[
        str, Meaning("job file, a mold (STL, 3MF, OBJ, PLY, GLB) or its outline (SVG, DXF)")
    ]
    line: Annotated[
        TrimLineKind | None,
        Meaning(
            "height (round the wall), straight, rounded, offset, oval or own; left out, that of "
            "the job's plan, else offset"
        ),
    ] = None
    height_mm: Annotated[
        float | None, Quantity("mm", "height of a line round the wall", above=0, at_most=1000)
    ] = None
    flange_mm: Flange = None
    fixing: Annotated[
        Fixing | None, Meaning("glued or screwed: sets the flange where none is given")
    ] = None
    corner_mm: Annotated[
        float, Quantity("mm", "corners of a rounded line", at_least=0, at_most=500)
    ] = 10.0
    own: Annotated[str, Meaning("drawing (SVG, DXF) of your own trim line")] = ""
    every: Annotated[
        bool, Meaning("whether templates and cradles are made that are not worth their filament")
    ] = False
    unit: Annotated[
        MeshUnit | None, Meaning("unit of a mesh that does not say its own; mm if left out")
    ] = None

    def __post_init__(self) -> None:
        PlanCommand.__post_init__(self)
        at_height = self.line is TrimLineKind.HEIGHT
        _go_together("height_mm", self.height_mm is not None, "line height", at_height)
        _go_together("own", bool(self.own), "line own", self.line is TrimLineKind.OWN)
        if at_height and (self.flange_mm is not None or self.fixing is not None):
            raise SpecError("flange_mm", "left out with line height", "a flange", "Leave it out.")


def _go_together(field: str, given: bool, other: str, wanted: bool) -> None:
    if given and not wanted:
        raise SpecError(field, f"used with {other}", "another line", "Leave it out.")
    if wanted and not given:
        raise SpecError(field, f"given with {other}", "nothing", "Say where the line runs.")
