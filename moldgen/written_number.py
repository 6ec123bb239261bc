"""Numbers as people write them: a measure with its unit, a list of measures, a size."""

from __future__ import annotations

import re
from collections.abc import Mapping

from moldgen.errors import SpecError
from moldgen.wording import one_of

# Factor to the first unit of each group. The inch is exactly 25.4 mm, the conventional inch of
# mercury 3.386389 kPa and the degree Fahrenheit 5/9 of a degree Celsius (NIST SP 811, Appendix B).
_SCALES: dict[str, dict[str, float]] = {
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8, "thou": 0.0254},
    "°": {"°": 1.0, "deg": 1.0},
    "s": {"s": 1.0, "min": 60.0},
    "h": {"h": 1.0, "min": 1 / 60},
    "kPa": {"kPa": 1.0, "bar": 100.0, "mbar": 0.1, "inHg": 3.386389, "psi": 6.894757},
    "°C": {"°C": 1.0, "°F": 5 / 9},
    "": {"": 1.0, "%": 0.01},
}
_ZERO = {"°F": 32.0}
"""Where a scale has its zero, in its own degrees, if not where the first of its group has it."""
_ALSO = {
    '"': "in", "″": "in", "”": "in", "inch": "in", "inches": "in", "millimeters": "mm",
    "degrees": "°", "sec": "s", "C": "°C", "deg C": "°C", "degC": "°C", "° C": "°C",
    "F": "°F", "deg F": "°F", "degF": "°F", "° F": "°F",
}  # fmt: skip
"""Other spellings of the units above."""
_NUMBER = re.compile(
    r"(?P<sign>[-+]?)(?:(?P<whole>\d+)(?:\s+|-))?(?P<top>\d+)/(?P<bottom>\d+)"
    r"|(?P<plain>[-+]?(?:\d*,\d+|\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
)
_THOUSANDS = re.compile(r"[-+]?0*[1-9]\d*,\d{3}")
"""Such as 1,500: to some one and a half, to others one thousand five hundred."""
_WORD = re.compile(
    r"([-+]?(?:(?:\d+(?:\s+|-))?\d+/\d+|\d+\.?\d*(?:[eE][-+]?\d+)?|\.\d+)"
    r"(?:\s*[^\s\d.+-]\S*)?)(?:\s+|$)"
)
"""One measure of several that only blanks part: a number, and the word or mark behind it."""
_TIMES = re.compile(r"\s*[x×X*]\s*")


def measure(field: str, words: str, *, unit: str) -> float:
    """Read a written measure such as ``3.5in``, ``6 mm``, ``1/8 in``, ``1 1/2"`` or ``265 °F``.

    A comma is a decimal point, except before three figures, where it may as well part thousands:
    such a number is refused.

    Parameters
    ----------
    field : str
        What errors call it.
    words : str
        Number and unit; a bare number is taken in ``unit``, and where ``unit`` is empty,
        ``5 %`` is 0.05.
    unit : str
        The unit of the result.

    Raises
    ------
    SpecError
        If the words are not a number, carry a unit of another kind, or may mean two numbers.

    Examples
    --------
    >>> measure("gauge", "1/8 in", unit="mm")
    3.175
    >>> measure("set", "266 °F", unit="°C")
    130.0
    >>> measure("gauge", "1,5", unit="mm")
    1.5
    """
    text = words.strip()
    match = _NUMBER.match(text)
    scales = _SCALES.get(unit, {unit: 1.0})
    rule = f"a number{_units(scales)}"
    if match is None or (match["bottom"] and float(match["bottom"]) == 0):
        raise SpecError(field, rule, _quoted(words), "Write it like 6.5 or 1/8.")
    if _THOUSANDS.fullmatch(match[0]):
        whole, _, part = match[0].partition(",")
        hint = f"Write {whole}.{part} or {whole}{part}."
        raise SpecError(field, "one number", f"{_quoted(words)}, which may mean two", hint)
    suffix = text[match.end() :].strip()
    suffix = suffix if suffix in scales else _ALSO.get(suffix, suffix)
    if suffix and suffix not in scales:
        hint = "Write it like 6.5 or 1/8." if suffix[0] in ",./" else "Correct the unit."
        raise SpecError(field, rule, _quoted(words), hint)
    return (_number(match) - _ZERO.get(suffix, 0.0)) * scales.get(suffix, 1.0)


def parted(words: str) -> list[str]:
    """Return the measures of a written list, each still in words.

    A semicolon parts them, and a comma is then a decimal point; without one a comma parts them;
    without either, blanks do. A whole number and a fraction, ``1 1/2``, are one measure.

    Parameters
    ----------
    words : str
        The list.

    Returns
    -------
    list of str
        Empty where nothing stands between two commas: whoever reads the numbers refuses it.

    Examples
    --------
    >>> parted("80,120,60")
    ['80', '120', '60']
    >>> parted("80,5; 120")
    ['80,5', '120']
    >>> parted("3 1/2 in 5 in")
    ['3 1/2 in', '5 in']
    """
    for mark in ";,":
        if mark in words:
            return [part.strip() for part in words.split(mark)]
    rest, parts = words.strip(), []
    while match := _WORD.match(rest):
        parts.append(match[1])
        rest = rest[match.end() :]
    return [words.strip()] if rest or not parts else parts


def parted_size(words: str, count: int) -> tuple[str, ...]:
    """Return the sides of a size such as ``120 x 80 x 25 mm``, each still in words.

    Parameters
    ----------
    words : str
        Measures with an x, X, × or * between them; a unit at the end counts for those without.
    count : int
        How many sides it must have.

    Returns
    -------
    tuple of str
        Empty if the words are no such size.

    Examples
    --------
    >>> parted_size("12 x 8 x 2.5 cm", 3)
    ('12 cm', '8 cm', '2.5 cm')
    """
    sides = _TIMES.split(words.strip())
    matches = [_NUMBER.match(side) for side in sides]
    if len(sides) != count or not all(matches):
        return ()
    tails = [side[match.end() :] for side, match in zip(sides, matches, strict=True) if match]
    return tuple(
        side if tail or not tails[-1] else f"{side} {tails[-1].strip()}"
        for side, tail in zip(sides, tails, strict=True)
    )


def _number(match: re.Match[str]) -> float:
    if match["plain"] is not None:
        return float(match["plain"].replace(",", "."))
    value = float(match["whole"] or 0) + float(match["top"]) / float(match["bottom"])
    return -value if match["sign"] == "-" else value


def _quoted(words: str) -> str:
    return repr(words if len(words) <= 40 else f"{words[:37]}...")


def _units(scales: Mapping[str, float]) -> str:
    if "" in scales:
        return ", plain or in %"
    return f" in {one_of(scales)}"
