"""A thing that gets a nest in a tray, read from a few words."""

from __future__ import annotations

import re
from dataclasses import dataclass

from moldgen.errors import SpecError
from moldgen.file_value import read_number
from moldgen.quantity import Quantity
from moldgen.wording import shown

_USUAL_THICK_MM = 20.0
_SIZE = Quantity("mm", "a size of a thing", at_least=5, at_most=1000)
_FILE = re.compile(r"(?P<file>.+?\.(?P<kind>svg|dxf|png|jpe?g|tiff?))\s*(?P<sizes>.*)", re.I)
_NUMBER = r"\d+(?:\.\d+)?(?:[ -]\d+/\d+|/\d+)?"
_NAMED = re.compile(
    rf"(?P<name>.*?)[\s:,]*(?P<sizes>(?<!\d){_NUMBER}\s*(?:[cm]?m|in|inch|inches|ft|\")?\s*"
    r"(?:x|×|dia|round|ø).*)",
    re.IGNORECASE | re.DOTALL,
)
_ROUND = re.compile(r"\s*(?:diameter|dia\.?|round|ø)\s*", re.IGNORECASE)
_BY = re.compile(r"\s*[x×]\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class NestedThing:
    """A thing that gets a nest.

    Attributes
    ----------
    name : str
        What the feature is called.
    wide_mm, deep_mm, thick_mm : float
        Left to right, front to back, and as high as it lies. [mm]
    is_round : bool
        Whether it is a circle seen from above.
    file : str
        Drawing or photograph of its outline; empty for a box.
    """

    name: str
    wide_mm: float
    deep_mm: float
    thick_mm: float
    is_round: bool = False
    file: str = ""


def nested_thing(number: int, words: str) -> NestedThing:
    """Return a thing from words such as ``pliers 180 x 55 x 20``.

    Parameters
    ----------
    number : int
        Which of several it is, from 1.

    Raises
    ------
    SpecError
        If it has not its sizes.
    """
    words = " ".join(words.split())
    place = f"things {number}"
    drawn = _FILE.fullmatch(words)
    match = drawn or _NAMED.fullmatch(words)
    if match is None or not match["sizes"]:
        hint = 'Write it like "pliers 180 x 55 x 20", "can 82 dia x 90" or "cleat.svg 120 x 40".'
        raise SpecError(place, "a thing with its sizes", shown(words), hint)
    sizes, is_round = _sizes(place, match["sizes"])
    if not 2 <= len(sizes) <= 3:
        rule = "a diameter and how thick" if is_round else "two sizes and how thick"
        raise SpecError(place, rule, shown(words), "Measure the thing as it lies.")
    file = drawn["file"] if drawn else ""
    name = re.split(r"[/\\]", file)[-1].rpartition(".")[0] if drawn else match["name"].strip()
    wide_mm, deep_mm, *rest = sizes
    return NestedThing(
        name=name or f"thing {number}",
        wide_mm=wide_mm,
        deep_mm=deep_mm,
        thick_mm=rest[0] if rest else _USUAL_THICK_MM,
        is_round=is_round,
        file=file,
    )


def _sizes(place: str, words: str) -> tuple[list[float], bool]:
    """Return the sizes that are written, a diameter twice, and whether it was one."""
    first, *rest = _ROUND.split(words, maxsplit=1)
    if not rest:
        return [read_number(place, one, _SIZE) for one in _BY.split(words)], False
    diameter_mm = read_number(place, first, _SIZE)
    thick = [one for one in _BY.split(rest[0]) if one]
    return [diameter_mm] * 2 + [read_number(place, one, _SIZE) for one in thick], True
