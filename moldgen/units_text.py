"""What people read, in their language and in inches where they wish so.

Sentences are composed in millimeters and turned where they leave the program; figures for
programs and the files of meshes and drawings stay in millimeters. Grams, newtons, pascals and what
a slicing program is told (layers, speeds) stay as they are.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from moldgen.language.languages import Language, language_now
from moldgen.language.told import as_written, in_words

MM_PER_INCH = 25.4
"""Exactly (NIST SP 811, Appendix B)."""


class Units(StrEnum):
    """What lengths are told in."""

    MM = "mm"
    INCH = "inch"


@dataclass(frozen=True, slots=True, kw_only=True)
class _InchUnit:
    """The unit that takes the place of another.

    Attributes
    ----------
    unit : str
        What it is called.
    factor : float
        One of the other in it. [-]
    more : int
        Digits after the point beside those of the other, so that the last one is known as well
        as the last one of the other.
    """

    unit: str
    factor: float
    more: int


_INCH = "in"
_UNITS = {
    "mm": _InchUnit(unit=_INCH, factor=1 / MM_PER_INCH, more=2),
    "cm": _InchUnit(unit=_INCH, factor=10 / MM_PER_INCH, more=1),
    "µm": _InchUnit(unit=_INCH, factor=1e-3 / MM_PER_INCH, more=5),
    "m": _InchUnit(unit="ft", factor=1e3 / MM_PER_INCH / 12, more=0),
    "mm²": _InchUnit(unit="in²", factor=MM_PER_INCH**-2, more=3),
    "cm²": _InchUnit(unit="in²", factor=100 * MM_PER_INCH**-2, more=1),
    "m²": _InchUnit(unit="ft²", factor=1e6 * MM_PER_INCH**-2 / 144, more=-1),
    "mm³": _InchUnit(unit="in³", factor=MM_PER_INCH**-3, more=5),
    "cm³": _InchUnit(unit="in³", factor=1e3 * MM_PER_INCH**-3, more=2),
    "°C": _InchUnit(unit="°F", factor=1.8, more=0),
}
_USUAL_DIGITS = 4
"""Digits after the point from which on zeros at the end are left out."""
_MOST_DIGITS = 9
_ZERO_degF = 32.0

_ONE = r"[-+−]?\d+(?:\.\d+)?"
_NUMBER = re.compile(_ONE)
_BETWEEN = (
    r"(?: ?[x×] ?| to | or | and | bis | oder | und | a | o | y | à | ou | et |-|–| ± ?|, [yz] )"
)
"""What stands between numbers that share the unit after the last, in any language; a comma alone
parts others."""
_UNIT = rf"(?P<unit>{'|'.join(sorted(_UNITS, key=len, reverse=True))})(?![\w²³/·])"
_SLICER = r"(?! layers?\b)"
_MEASURE = re.compile(
    rf"(?P<span>(?P<doubt>± ?)?(?<![\w.^/#])(?:{_ONE}{_BETWEEN})*{_ONE}) {_UNIT}{_SLICER}"
    r"(?:(?P<beside> \(|, )(?P<inches>#\d+|[A-Z](?=\))|(?:\d+ )?\d+/\d+(?: in|(?=\)))"
    r"|\d+(?:\.\d+)? in(?=\)|$))(?P<end>\)|(?!\w)))?"
)
"""Numbers and their unit, with the same in inches beside them if it is told there already."""
_SHARE = re.compile(rf"(?<![\w.])({_ONE})(?= (?:of|von|de) {_ONE} °C)")
_NEAR = (
    "to about ", "±", "± ", "within ", "auf etwa ", "um ", "innerhalb von ", "en unos ",
    "dentro de ", "à environ ", "près de ", "dans les ",
)  # fmt: skip
"""What stands before a number of degrees between two temperatures."""
_FAR = re.compile(
    r" (?:for warming up|more|less|too|hotter|colder|either|off|mehr|weniger|zu |heißer|kälter|más"
    r"|menos|de más|plus|moins|de trop)\b"
)
"""What stands behind one."""
_NAMED = re.compile(
    rf"(?P<before>, |\[)(?P<unit>{'|'.join(_UNITS)})(?P<after>$|\])|\b(?:in|en) mm\b"
)
"""A unit without a number: at the head of a column or an axis."""


def in_inches(text: str) -> str:
    """Return a text with its lengths in inches, areas in square inches, and so on.

    Parameters
    ----------
    text : str
        Composed in millimeters, degrees Celsius and meters of filament.

    Returns
    -------
    str
        Where a fraction of an inch or a drill stands beside a length, it comes first. No digit is
        finer than the last one of the text in millimeters, but for its rounding.

    Examples
    --------
    >>> in_inches("149.6 x 76.2 x 10.0 mm, draft 3°")
    '5.890 x 3.000 x 0.394 in, draft 3°'
    >>> in_inches("cut 245.2 mm (9 21/32 in) long")
    'cut 9 21/32 in (9.654 in) long'
    >>> in_inches("below 85 °C, known to about 10 °C")
    'below 185 °F, known to about 18 °F'
    """
    text = _SHARE.sub(lambda one: _number(one[1], "°C", is_difference=False), text)
    return _NAMED.sub(_named, _MEASURE.sub(_measure, text))


def column_in_inches(header: str, cells: list[str]) -> tuple[str, list[str]]:
    """Return the head of a column and its cells in inches.

    Cells that are bare numbers are told in the unit at the end of the head, ``Height, mm``.
    """
    unit = header.rpartition(", ")[2]
    return in_inches(header), [_bare_in_inches(cell, unit) for cell in cells]


def _bare_in_inches(text: str, unit: str) -> str:
    """Return a text that is a bare number in that unit, or any other, in inches."""
    if unit in _UNITS and _NUMBER.fullmatch(text):
        return _number(text, unit, is_difference=False)
    return in_inches(text)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnScale:
    """How a scale that is plotted in one unit is told in another.

    Attributes
    ----------
    unit : str
        What it is told in.
    factor : float
        One of the plotted unit in that one. [-]
    zero : float
        What nothing of the plotted unit is in that one.
    """

    unit: str
    factor: float = 1.0
    zero: float = 0.0

    def told(self, value: Any) -> Any:
        """Return a plotted value, or an array of them, as it is told."""
        return value * self.factor + self.zero

    def plotted(self, told: Any) -> Any:
        """Return where a value that is told is plotted."""
        return (told - self.zero) / self.factor


def drawn_scale(unit: str) -> DrawnScale:
    """Return how a scale plotted in a unit is to be told now."""
    if units_now() is Units.MM or unit not in _UNITS:
        return DrawnScale(unit=unit)
    told = _UNITS[unit]
    return DrawnScale(unit=told.unit, factor=told.factor, zero=_ZERO_degF if unit == "°C" else 0.0)


def _measure(match: re.Match[str]) -> str:
    unit = match["unit"]
    differs = unit == "°C" and _is_difference(match)
    span = match["span"]
    first, _, rest = span.partition("±") if " ± " in span else (span, "", "")
    told = _span(first, unit, differs) + ("±" + _span(rest, unit, True) if rest else "")
    told = f"{told} {_UNITS[unit].unit}"
    already = match["inches"]
    if not already:
        return told
    if re.fullmatch(r"\d+(\.\d+)? in", already):
        return already
    return f"{already}{match['beside']}{told}{match['end']}"


def _span(span: str, unit: str, is_difference: bool) -> str:
    return _NUMBER.sub(lambda one: _number(one[0], unit, is_difference=is_difference), span)


def _is_difference(match: re.Match[str]) -> bool:
    before, after = match.string[: match.start()], match.string[match.end() :]
    return bool(match["doubt"] or before.endswith(_NEAR) or _FAR.match(after))


def _number(words: str, unit: str, *, is_difference: bool) -> str:
    """Return one number in the other unit, with as many digits as are known."""
    told, plain = _UNITS[unit], words.replace("−", "-")
    value = float(plain) * told.factor
    if unit == "°C" and not is_difference:
        value += _ZERO_degF
    elif not value:
        return "0"
    digits = max(len(plain.partition(".")[2]) + told.more, 0)
    # What is smaller than the last digit shows its first one.
    while unit != "°C" and not float(f"{value:.{digits}f}") and digits < _MOST_DIGITS:
        digits += 1
    text = f"{value:.{digits}f}"
    while digits > _USUAL_DIGITS and text.endswith("0"):
        digits, text = digits - 1, text[:-1]
    return f"+{text}" if plain.startswith("+") else text


_IN_INCHES = {
    Language.EN: "in inches",
    Language.DE: "in Zoll",
    Language.ES: "en pulgadas",
    Language.FR: "en pouces",
}


def _named(match: re.Match[str]) -> str:
    if match["unit"] is None:
        return _IN_INCHES[language_now()]
    return f"{match['before']}{_UNITS[match['unit']].unit}{match['after']}"


@contextmanager
def read_in(units: Units) -> Iterator[None]:
    """Let all that is drawn and written meanwhile for people be told in these units."""
    outside = _now.set(units)
    try:
        yield
    finally:
        _now.reset(outside)


def units_now() -> Units:
    """Return the units that people read what is drawn and written now in."""
    return _now.get()


def as_read(text: str) -> str:
    """Return a text composed in English and in millimeters as it is to be read now."""
    text = in_words(text)
    return as_written(in_inches(text) if units_now() is Units.INCH else text)


def is_as_composed() -> bool:
    """Return whether texts are read now as they are composed: in English and millimeters."""
    return units_now() is Units.MM and language_now() is Language.EN


def column_as_read(header: str, cells: list[str]) -> tuple[str, list[str]]:
    """Return the head of a column and its cells as they are to be read now."""
    header, cells = in_words(header), [in_words(cell) for cell in cells]
    if units_now() is Units.INCH:
        header, cells = column_in_inches(header, cells)
    return header, [as_written(cell) for cell in cells]


def dimension_as_read(text: str) -> str:
    """Return what stands on a dimension line, where a bare number is in millimeters, as read."""
    text = in_words(text)
    return as_written(_bare_in_inches(text, "mm") if units_now() is Units.INCH else text)


_now: ContextVar[Units] = ContextVar("moldgen units", default=Units.MM)
