"""Selectors of style sheets: compounds of tag, classes and id, and what they stand in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from xml.etree.ElementTree import Element

_COMPOUND = re.compile(r"(?P<tag>\*|[A-Za-z][\w-]*)?(?P<marks>(?:[.#][\w-]+)*)\Z")
_MARK = re.compile(r"[.#][\w-]+")

Parents = Mapping[Element, Element]
"""The element that each element of a drawing stands in."""


@dataclass(frozen=True, slots=True)
class Compound:
    """Tag, classes and id that one element must have, and whether it must be a direct child."""

    tag: str
    marks: frozenset[str]
    is_child: bool

    @property
    def key(self) -> str:
        """What an element must at least be or have: an id, a class or a tag."""
        return min(self.marks) if self.marks else self.tag or "*"

    def matches(self, element: Element) -> bool:
        """Tell whether an element has them."""
        if self.tag not in {"", "*", element.tag.rpartition("}")[2]}:
            return False
        classes = element.get("class", "").split() if self.marks else []
        return all(
            mark[1:] in classes if mark[0] == "." else mark[1:] == element.get("id")
            for mark in self.marks
        )


@dataclass(frozen=True, slots=True)
class Selector:
    """Compounds from the outermost inward."""

    compounds: tuple[Compound, ...]

    @property
    def key(self) -> str:
        """What an element that is meant must at least be or have, whatever it stands in."""
        return self.compounds[-1].key

    @property
    def weight(self) -> tuple[int, int, int]:
        """Specificity: ids, classes, tags (Selectors Level 3, section 9)."""
        marks = [mark for one in self.compounds for mark in one.marks]
        ids = sum(mark.startswith("#") for mark in marks)
        tags = sum(one.tag not in {"", "*"} for one in self.compounds)
        return ids, len(marks) - ids, tags

    def matches(self, element: Element, parents: Parents) -> bool:
        """Tell whether an element is meant, by what it is and by what it stands in."""
        *outer, own = self.compounds
        if not own.matches(element):
            return False
        if not outer:
            return True
        around = _around(element, parents)
        # Numbers of the elements around, from the inside, at which the selector may have come to.
        places, direct = {-1}, own.is_child
        for compound in reversed(outer):
            within = {at + 1 for at in places} if direct else range(min(places) + 1, len(around))
            places = {at for at in within if at < len(around) and compound.matches(around[at])}
            direct = compound.is_child
            if not places:
                return False
        return True


def selector_of(text: str) -> Selector | None:
    """Return a selector of compounds, descendants and children; None for any other."""
    compounds: list[Compound] = []
    is_child = False
    for word in text.replace(">", " > ").split():
        if word == ">":
            if is_child or not compounds:
                return None
            is_child = True
            continue
        match = _COMPOUND.match(word)
        if match is None:
            return None
        marks = frozenset(_MARK.findall(match["marks"]))
        compounds.append(Compound(match["tag"] or "", marks, is_child))
        is_child = False
    return None if is_child or not compounds else Selector(tuple(compounds))


def _around(element: Element, parents: Parents) -> list[Element]:
    around = []
    while (parent := parents.get(element)) is not None:
        around.append(parent)
        element = parent
    return around
