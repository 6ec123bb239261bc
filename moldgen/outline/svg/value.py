"""The small languages inside SVG attributes: lengths, number lists, transforms, viewBox."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import cos, hypot, isfinite, radians, sin, tan

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import OutlineError
from moldgen.execution import limits_now

ViewBox = tuple[float, float, float, float]
"""Left, top, width and height."""
Matrix = NDArray[np.float64]
"""Shape (2, 3): ``x' = M[:, :2] x + M[:, 2]``."""

# What is matched is never given back (++, *+, ?+), so broken data cost no more time than sound.
NUMBER = r"[-+]?+(?:\d++(?:\.\d*+)?+|\.\d++)(?:[eE][-+]?+\d++)?+"
# Share of an inch; CSS Values and Units Level 3, section 6.2 (absolute lengths).
INCHES = {"in": 1.0, "cm": 1 / 2.54, "mm": 1 / 25.4, "q": 1 / 101.6, "pt": 1 / 72, "pc": 1 / 6}

_LENGTH = re.compile(rf"\s*+({NUMBER})\s*+([a-zA-Z]*+|%)\s*+\Z")
_STEP = re.compile(r"\s*+,?+\s*+([a-zA-Z]++)\s*+\(([^()]*+)\)")
_NUMBERS = re.compile(rf"\s*+(?:{NUMBER}(?:\s*+,\s*+|\s++|(?=[-+.])|\Z))*+\Z")


def finite(text: str, what: str) -> float:
    """Return a number read from a drawing, refused when it is not finite or absurd."""
    value = float(text)
    if not isfinite(value) or abs(value) > limits_now().number:
        raise OutlineError(
            f"{what} has the number {_short(text, quotes=False)}, larger than any drawing; "
            "correct it or export again."
        )
    return value


@dataclass(frozen=True, slots=True)
class Viewport:
    """The box that percentages refer to, in user units; None where nothing says its size."""

    width: float | None
    height: float | None

    def reference(self, along: str) -> float | None:
        """Return what 100 % means along ``x``, ``y`` or neither (``r``)."""
        if along == "x":
            return self.width
        if along == "y":
            return self.height
        if self.width is None or self.height is None:
            return None
        return hypot(self.width, self.height) / 2**0.5


@dataclass(frozen=True, slots=True)
class Ruler:
    """Reads lengths of one drawing."""

    dpi_px: float

    def length(self, text: str, *, what: str, along: str, viewport: Viewport) -> float:
        """Return a length in user units.

        Raises
        ------
        OutlineError
            If it is no length, its unit is unknown, or a percentage of an unknown size.
        """
        match = _LENGTH.match(text)
        if match is None:
            raise OutlineError(
                f"{what} is {_short(text)}, which is not a length; write it like 12mm."
            )
        value, unit = finite(match[1], what), match[2].lower()
        if unit == "%":
            whole = viewport.reference(along)
            if whole is None:
                raise OutlineError(
                    f"{what} is {_short(text, quotes=False)} of a page whose size the drawing does "
                    "not say; give the svg element a viewBox or a width and height in mm."
                )
            return value / 100 * whole
        return value * self.pixels(unit, what=what, text=text)

    def pixels(self, unit: str, *, what: str, text: str) -> float:
        """Return how many user units an absolute unit is long."""
        if unit in {"", "px"}:
            return 1.0
        if unit not in INCHES:
            raise OutlineError(
                f"{what} is {_short(text)} in a unit that has no fixed size; "
                "use mm, cm, in, pt, pc or px."
            )
        return INCHES[unit] * self.dpi_px


def numbers(text: str, *, what: str) -> list[float]:
    """Return a list of numbers parted by spaces or commas.

    Raises
    ------
    OutlineError
        If something else is among them.
    """
    if not _NUMBERS.match(text):
        raise OutlineError(f"{what} has {_short(text)} where numbers belong; export it again.")
    return [finite(word, what) for word in re.findall(NUMBER, text)]


# The six numbers in the order in which SVG writes them.
def affine(a: float, b: float, c: float, d: float, e: float, f: float) -> Matrix:  # noqa: PLR0917
    """Return the matrix that SVG writes ``matrix(a b c d e f)``."""
    return np.array([[a, c, e], [b, d, f]], dtype=np.float64)


IDENTITY = affine(1, 0, 0, 1, 0, 0)


def chained(outer: Matrix, inner: Matrix) -> Matrix:
    """Return the map that does ``inner`` first, then ``outer``.

    Raises
    ------
    OutlineError
        If it stretches or shifts beyond any drawing.
    """
    linear = outer[:, :2] @ inner
    linear[:, 2] += outer[:, 2]
    if not np.abs(linear).max() <= limits_now().number:
        raise OutlineError(
            "The drawing has transforms that together stretch or shift it beyond all bounds; "
            "correct them or export it again."
        )
    return np.asarray(linear)


def largest_stretch(matrix: Matrix) -> float:
    """Return by how much a map can lengthen a distance."""
    return float(np.linalg.norm(matrix[:, :2], ord=2))


def transform(text: str, *, what: str) -> Matrix:
    """Return the matrix of a ``transform`` attribute.

    Raises
    ------
    OutlineError
        If a step is unknown, has a wrong count of numbers, or something else is between.

    References
    ----------
    .. [1] W3C, "CSS Transforms Module Level 1", section 8 (the transform attribute).
    """
    matrix, at = IDENTITY, 0
    text = text.strip()
    if text == "none":
        return matrix
    while at < len(text):
        match = _STEP.match(text, at)
        if match is None:
            raise OutlineError(f"{what} cannot be read at {_short(text[at:])}; export it again.")
        matrix = chained(matrix, _step(match[1], match[2], what))
        at = match.end()
    return matrix


def _step(name: str, inside: str, what: str) -> Matrix:
    # Degrees and pixels may be written out where the drawing comes from a style sheet.
    values = numbers(re.sub(r"(?<=[\d.])(?:deg|px)\b", "", inside), what=what)
    counts, matrix = _MATRICES.get(name, ((), affine))
    if len(values) not in counts:
        step = f"{_short(name, quotes=False)}({_short(inside, quotes=False)})"
        raise OutlineError(f"{what} has {step}, which is not a known transform; export it again.")
    return matrix(*values)


def _turn(angle_deg: float, x: float = 0.0, y: float = 0.0) -> Matrix:
    c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
    return affine(c, s, -s, c, x - c * x + s * y, y - s * x - c * y)


def _shift(x: float, y: float = 0.0) -> Matrix:
    return affine(1, 0, 0, 1, x, y)


def _stretch(x: float, y: float | None = None) -> Matrix:
    return affine(x, 0, 0, x if y is None else y, 0, 0)


def _skew_x(angle_deg: float) -> Matrix:
    return affine(1, 0, tan(radians(angle_deg)), 1, 0, 0)


def _skew_y(angle_deg: float) -> Matrix:
    return affine(1, tan(radians(angle_deg)), 0, 1, 0, 0)


# Each transform, and how many numbers it may have.
_MATRICES: dict[str, tuple[tuple[int, ...], Callable[..., Matrix]]] = {
    "matrix": ((6,), affine),
    "translate": ((1, 2), _shift),
    "scale": ((1, 2), _stretch),
    "rotate": ((1, 3), _turn),
    "skewX": ((1,), _skew_x),
    "skewY": ((1,), _skew_y),
}


def view_box(text: str, *, what: str) -> ViewBox | None:
    """Return x, y, width and height of a ``viewBox``, or None if there is none.

    Raises
    ------
    OutlineError
        If it is not four numbers, the last two positive.
    """
    if not text.strip() or text.strip() == "none":
        return None
    box = numbers(text, what=what)
    if len(box) != 4 or min(box[2:]) <= 0:
        raise OutlineError(
            f"{what} is {_short(text)}; it must be four numbers, the last two (width and "
            "height) more than 0."
        )
    return box[0], box[1], box[2], box[3]


_ALIGN = re.compile(r"(?:defer\s+)?(none|x(Min|Mid|Max)Y(Min|Mid|Max))(?:\s+(meet|slice))?\Z")
_SHARES = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}


def fit(box: ViewBox, width: float, height: float, aspect: str) -> Matrix:
    """Return the map from a viewBox into a viewport of the same corner.

    Parameters
    ----------
    box : tuple of four floats
        The viewBox.
    width, height : float
        The viewport, in the units outside.
    aspect : str
        A ``preserveAspectRatio``; empty or malformed means ``xMidYMid meet``.

    References
    ----------
    .. [1] W3C, "Scalable Vector Graphics (SVG) 2", section 8.2 (the equivalent transform).
    """
    x, y, w, h = box
    match = _ALIGN.match(aspect.strip())
    if match is not None and match[1] == "none":
        return affine(width / w, 0, 0, height / h, -x * width / w, -y * height / h)
    across, up = (match[2], match[3]) if match is not None else ("Mid", "Mid")
    pick = max if match is not None and match[4] == "slice" else min
    scale = pick(width / w, height / h)
    left, top = (width - w * scale) * _SHARES[across], (height - h * scale) * _SHARES[up]
    return affine(scale, 0, 0, scale, left - x * scale, top - y * scale)


def _short(text: str, *, quotes: bool = True) -> str:
    text = text.strip()
    text = text if len(text) <= 24 else text[:21] + "..."
    return repr(text) if quotes else text
