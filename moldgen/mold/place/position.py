"""Where in a box, a row or a list something lies, in words."""

from __future__ import annotations

from shapely import Point

_NINTHS = {
    (-1, 1): "upper left", (0, 1): "top", (1, 1): "upper right",
    (-1, 0): "left", (0, 0): "middle", (1, 0): "right",
    (-1, -1): "lower left", (0, -1): "bottom", (1, -1): "lower right",
}  # fmt: skip
_ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"
)  # fmt: skip

Box = tuple[float, float, float, float]


def ninth_of(place: Point, box: Box) -> str:
    """Return in which ninth of a box a place lies: ``upper left``, ``top``, ``middle``."""
    x0, y0, x1, y1 = box
    return _NINTHS[_third(place.x, x0, x1), _third(place.y, y0, y1)]


def side_of(place: Point, box: Box) -> str:
    """Return the same as an adjective: ``upper left``, ``upper``, ``middle``."""
    return {"top": "upper", "bottom": "lower"}.get(ninth := ninth_of(place, box), ninth)


def in_row(number: int, of: int, names: tuple[str, str]) -> str:
    """Return which of a row is meant, by the names of its ends: ``left ``, ``second ``.

    A row of one needs no word and gets none; otherwise a blank ends the word.
    """
    if of == 1:
        return ""
    ends = {0: names[0], of - 1: names[1]} | ({1: "middle"} if of == 3 else {})
    return f"{ends.get(number, ordinal(number + 1))} "


def ordinal(number: int) -> str:
    """Return a place in a list in words: 1 is ``first``."""
    if number <= len(_ORDINALS):
        return _ORDINALS[number - 1]
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10)
    return f"{number}{ending or 'th'}"


def _third(value: float, low: float, high: float) -> int:
    share = (value - low) / max(high - low, 1e-12)
    return (share > 2 / 3) - (share < 1 / 3)
