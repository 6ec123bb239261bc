"""What can be typed after the fixture command: the fields of every fixture together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, make_dataclass, replace
from typing import Annotated, Any, cast, get_type_hints

from moldgen.errors import SpecError
from moldgen.fixture.kinds import KINDS, Kind, kind_named
from moldgen.fixture.spec import FixtureSpec
from moldgen.job.command_words import ShopWords
from moldgen.quantity import Meaning, Quantity, marks


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedFixture(ShopWords):
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
        told = f"{about}{_usual(name, kinds)}"
        yield name, Annotated[own | None, replace(mark, about=told)], None


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


FixtureWords = make_dataclass(
    "FixtureWords",
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


def spec_from_words(words: NamedFixture) -> tuple[Kind, FixtureSpec]:
    """Return which fixture is wanted, and what is chosen about it.

    Raises
    ------
    SpecError
        If there is no such fixture, a value is out of range, or one belongs to another fixture.
    """
    kind = kind_named(words.fixture)
    known = marks(kind.spec)
    given = {}
    for name, mark in marks(cast(Any, FixtureWords)).items():
        if name in marks(NamedFixture):
            continue
        value = getattr(words, name)
        if value is None or value is False:
            continue
        if name not in known:
            unit = f" {mark.unit}" if isinstance(mark, Quantity) else ""
            shown = f"{value:g}" if isinstance(value, float) else f"{value}"
            raise SpecError(name, f"left out for {kind.name}", f"{shown}{unit}", "Leave it out.")
        given[name] = value
    if words.file and kind.name != "drill-guide":
        raise SpecError("file", f"left out for {kind.name}", repr(words.file), "Leave it out.")
    return kind, kind.spec(**given)
