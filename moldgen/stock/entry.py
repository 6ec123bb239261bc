"""An entry of the stock: a name, other names, its values and where each comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Spec


class Structure(StrEnum):
    """How a plastic is built, which decides how it softens and shrinks."""

    AMORPHOUS = "amorphous"
    """Softens over a wide window; shrinks little."""
    CRYSTALLINE = "crystalline"
    """Keeps its shape nearly to melting; narrow window; shrinks much."""


Family = Annotated[str, Meaning("polymer it is made of: two of one kind weld when both are hot")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Spec):
    """What every entry of the stock has.

    Attributes
    ----------
    sources : mapping of field name to text
        Where each value comes from, ending in ``(published)``, ``(from memory)``,
        ``(common practice)`` or ``(derived)`` for the entries that come with moldgen.
    bands : mapping of field name to pair of float
        Between what a value lies, in its unit, where its sources differ.
    """

    name: Annotated[str, Meaning("the short name it is asked for by")]
    title: Annotated[str, Meaning("the name in words")] = ""
    aliases: Annotated[tuple[str, ...], Meaning("other names it is found by")] = ()
    based_on: Annotated[str, Meaning("the entry it takes its other values from")] = ""
    sources: Mapping[str, str] = field(default_factory=dict, hash=False, repr=False)
    bands: Mapping[str, tuple[float, float]] = field(default_factory=dict, hash=False, repr=False)

    def ends(self, field_name: str) -> tuple[float, float] | None:
        """Return between what a value lies; None if nothing is said, or of another value."""
        band, value = self.bands.get(field_name), getattr(self, field_name)
        return band if band and band[0] <= value <= band[1] else None


def check_rising(entry: Entry, *fields: str, unit: str) -> None:
    """Raise `SpecError` unless the named fields do not fall from one to the next.

    Raises
    ------
    SpecError
        Naming the first field that is lower than the one before it.
    """
    for lower, upper in pairwise(fields):
        floor, value = getattr(entry, lower), getattr(entry, upper)
        if value < floor:
            raise SpecError(
                upper,
                f"at least {lower}, {floor:g} {unit}",
                f"{value:g} {unit}",
                "Correct one of the two.",
            )
