"""Library shapes with proportions to choose: path data for a box of any size.

Each function takes the box (width, height, y down as in a drawing file) and its proportions,
and returns SVG path data with absolute commands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import cos, pi, sin, sqrt
from typing import Annotated, Any

import numpy as np

from moldgen.errors import SpecError
from moldgen.outline.library.path_text import (
    Point,
    ellipse,
    polygon,
    rounded_polygon,
    swing,
    swollen_polygon,
    xy,
)
from moldgen.quantity import Quantity, Spec


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """How a shape with proportions is drawn.

    Attributes
    ----------
    proportions : type of Spec
        The numbers a person may choose, all ratios and counts.
    path : callable
        ``path(width, height, proportions)`` returns path data.
    aspect : callable, optional
        Height over width when only the width is asked for; by default that of the drawing.
    """

    proportions: type[Spec]
    path: Callable[[float, float, Any], str]
    aspect: Callable[[Any], float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Corners(Spec):
    """Rounding of a box."""

    corner: Annotated[
        float, Quantity("", "corner radius over the shorter side", at_least=0, at_most=0.5)
    ] = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Star(Spec):
    """Points of a star."""

    points: Annotated[float, Quantity("", "number of points", at_least=3, at_most=24)] = 5
    depth: Annotated[
        float, Quantity("", "depth of the notches over the radius", at_least=0.05, at_most=0.8)
    ] = 0.55

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_whole("points", self.points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides(Spec):
    """Sides of a badge."""

    sides: Annotated[float, Quantity("", "number of sides", at_least=3, at_most=16)] = 6
    corner: Annotated[
        float, Quantity("", "corner radius over the shorter side", at_least=0, at_most=0.15)
    ] = 0.06

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_whole("sides", self.sides)


@dataclass(frozen=True, slots=True, kw_only=True)
class RingWidth(Spec):
    """Width of a ring."""

    ring_width: Annotated[
        float, Quantity("", "width of the ring over the shorter side", at_least=0.03, at_most=0.45)
    ] = 0.18


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrow(Spec):
    """Head and shaft of an arrow."""

    head: Annotated[
        float, Quantity("", "length of the head over the width", at_least=0.1, at_most=0.9)
    ] = 0.38
    shaft: Annotated[
        float, Quantity("", "height of the shaft over the height", at_least=0.1, at_most=0.9)
    ] = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Waves(Spec):
    """Waves along the edges of a plaque."""

    waves: Annotated[float, Quantity("", "number of waves", at_least=1, at_most=24)] = 4
    swell: Annotated[
        float, Quantity("", "height of the waves over the height", at_least=0.02, at_most=0.4)
    ] = 0.16

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_whole("waves", self.waves)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moon(Spec):
    """Fullness of a crescent."""

    thickness: Annotated[
        float, Quantity("", "thickness in the middle over the width", at_least=0.15, at_most=0.85)
    ] = 0.45


@dataclass(frozen=True, slots=True, kw_only=True)
class Pennant(Spec):
    """Taper of a pennant."""

    tip: Annotated[
        float, Quantity("", "height of the tip over the height", at_least=0.02, at_most=1)
    ] = 0.18


@dataclass(frozen=True, slots=True, kw_only=True)
class Burgee(Spec):
    """Notch and taper of a swallow-tailed flag."""

    notch: Annotated[
        float, Quantity("", "depth of the notch over the width", at_least=0.05, at_most=0.7)
    ] = 0.28
    fly: Annotated[
        float, Quantity("", "height at the tails over the height", at_least=0.3, at_most=1)
    ] = 0.7


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag(Spec):
    """Hole and shoulders of a tag."""

    hole: Annotated[
        float, Quantity("", "diameter of the hole over the height", at_least=0.05, at_most=0.4)
    ] = 0.18
    shoulder: Annotated[
        float, Quantity("", "cut of the corners over the height", at_least=0.1, at_most=0.45)
    ] = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Elbow(Spec):
    """Arms and corners of an L."""

    arm: Annotated[
        float, Quantity("", "width of the arms over the shorter side", at_least=0.2, at_most=0.8)
    ] = 0.45
    corner: Annotated[
        float, Quantity("", "corner radius over the width of the arms", at_least=0, at_most=0.5)
    ] = 0.22


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerCut(Spec):
    """Cut corners of a box."""

    cut: Annotated[
        float, Quantity("", "cut of the corners over the shorter side", at_least=0.05, at_most=0.45)
    ] = 0.293


def rounded_box(width: float, height: float, p: Corners) -> str:
    """Return a box with round corners."""
    box = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
    return rounded_polygon(box, p.corner * min(width, height))


def star(width: float, height: float, p: Star) -> str:
    """Return a star with one point up."""
    return polygon(_fitted(_star_corners(p), width, height))


def badge(width: float, height: float, p: Sides) -> str:
    """Return a regular polygon, stretched to the box, with round corners."""
    r = p.corner * min(width, height)
    inner = _fitted(_badge_corners(p), width - 2 * r, height - 2 * r)
    return swollen_polygon([(x + r, y + r) for x, y in inner], r)


def ring(width: float, height: float, p: RingWidth) -> str:
    """Return an oval ring of even width along both axes."""
    band = p.ring_width * min(width, height)
    inner = ellipse(width / 2, height / 2, width / 2 - band, height / 2 - band)
    return f"{ellipse(width / 2, height / 2, width / 2, height / 2)} {inner}"


def arrow(width: float, height: float, p: Arrow) -> str:
    """Return an arrow that points right."""
    neck, rise = width * (1 - p.head), height * (1 - p.shaft) / 2
    return polygon(
        [(0, rise), (neck, rise), (neck, 0), (width, height / 2),
         (neck, height), (neck, height - rise), (0, height - rise)]
    )  # fmt: skip


def wave_plaque(width: float, height: float, p: Waves) -> str:
    """Return a plaque whose upper and lower edges run in waves side by side."""
    swell, half = p.swell * height, width / (2 * p.waves)
    steps = range(1, 2 * round(p.waves) + 1)
    top = [swing(half * (k - 1), half * k, swell * ((k - 1) % 2), swell * (k % 2)) for k in steps]
    low = height - swell
    back = [
        swing(half * k, half * (k - 1), low + swell * (k % 2), low + swell * ((k - 1) % 2))
        for k in reversed(steps)
    ]
    return f"M0 0 {' '.join(top)} L{xy((width, low))} {' '.join(back)} Z"


def crescent(width: float, height: float, p: Moon) -> str:
    """Return a moon between two arcs through the same two horns, open to the right."""
    # A circle of radius 1 about the origin, bitten by one of radius r whose edge passes
    # through the horns at a quarter less than the full height and through the waist.
    horn_x, horn_y = 0.55, sqrt(1 - 0.55**2)
    waist_x = -1 + p.thickness * (1 + horn_x)
    sag = horn_x - waist_x
    r = (horn_y**2 + sag**2) / (2 * sag)
    x, y = width / (1 + horn_x), height / 2
    horns = [((1 + horn_x) * x, y - horn_y * y), ((1 + horn_x) * x, y + horn_y * y)]
    large = int(sag > r)
    return (
        f"M{xy(horns[0])} A{xy((x, y))} 0 1 0 {xy(horns[1])} "
        f"A{xy((r * x, r * y))} 0 {large} 1 {xy(horns[0])} Z"
    )


def pennant(width: float, height: float, p: Pennant) -> str:
    """Return a flag that tapers to a blunt tip."""
    rise = height * (1 - p.tip) / 2
    return polygon([(0, 0), (width, rise), (width, height - rise), (0, height)])


def burgee(width: float, height: float, p: Burgee) -> str:
    """Return a tapered flag with a swallow tail."""
    rise = height * (1 - p.fly) / 2
    notch = (width * (1 - p.notch), height / 2)
    return polygon([(0, 0), (width, rise), notch, (width, height - rise), (0, height)])


def tag(width: float, height: float, p: Tag) -> str:
    """Return a luggage tag with cut shoulders and a hole on the left."""
    cut, r = p.shoulder * height, p.hole * height / 2
    body = [
        (0.0, cut),
        (cut, 0.0),
        (width, 0.0),
        (width, height),
        (cut, height),
        (0.0, height - cut),
    ]
    return f"{rounded_polygon(body, 0.07 * height)} {ellipse(0.2 * height + r, height / 2, r, r)}"


def elbow(width: float, height: float, p: Elbow) -> str:
    """Return an L with round corners inside and out."""
    arm = p.arm * min(width, height)
    ell = [(0.0, 0.0), (arm, 0.0), (arm, height - arm), (width, height - arm), (width, height),
           (0.0, height)]  # fmt: skip
    return rounded_polygon(ell, p.corner * arm)


def cut_box(width: float, height: float, p: CornerCut) -> str:
    """Return a box with its corners cut off."""
    c = p.cut * min(width, height)
    return polygon(
        [(c, 0), (width - c, 0), (width, c), (width, height - c), (width - c, height),
         (c, height), (0, height - c), (0, c)]
    )  # fmt: skip


def _star_corners(p: Star) -> list[Point]:
    count = 2 * round(p.points)
    radii = [1.0, 1 - p.depth] * round(p.points)
    return [(r * sin(2 * pi * k / count), -r * cos(2 * pi * k / count))
            for k, r in enumerate(radii)]  # fmt: skip


def _badge_corners(p: Sides) -> list[Point]:
    n = round(p.sides)
    return [(sin(2 * pi * k / n), -cos(2 * pi * k / n)) for k in range(n)]


def _badge_aspect(p: Sides) -> float:
    # The box of a swollen polygon is that of the polygon and a radius on each side.
    plain, c = _aspect(_badge_corners(p)), p.corner
    tall = 2 * c + plain * (1 - 2 * c)
    return tall if tall >= 1 else plain / (1 - 2 * c + 2 * plain * c)


def _fitted(corners: Sequence[Point], width: float, height: float) -> list[Point]:
    points = np.array(corners)
    low, span = points.min(axis=0), np.ptp(points, axis=0)
    return [(float(x), float(y)) for x, y in (points - low) / span * (width, height)]


def _aspect(corners: Sequence[Point]) -> float:
    across, up = np.ptp(np.array(corners), axis=0)
    return float(up / across)


def _check_whole(field: str, value: float) -> None:
    if value != round(value):
        raise SpecError(field, "a whole number", f"{value:g}")


FORMULAS = {
    "rounded-box": Formula(proportions=Corners, path=rounded_box),
    "star": Formula(proportions=Star, path=star, aspect=lambda p: _aspect(_star_corners(p))),
    "badge": Formula(proportions=Sides, path=badge, aspect=_badge_aspect),
    "ring": Formula(proportions=RingWidth, path=ring),
    "arrow": Formula(proportions=Arrow, path=arrow),
    "wave-plaque": Formula(proportions=Waves, path=wave_plaque),
    "crescent": Formula(proportions=Moon, path=crescent),
    "pennant": Formula(proportions=Pennant, path=pennant),
    "burgee": Formula(proportions=Burgee, path=burgee),
    "tag": Formula(proportions=Tag, path=tag),
    "elbow": Formula(proportions=Elbow, path=elbow),
    "cut-box": Formula(proportions=CornerCut, path=cut_box),
}
"""The formulas by the name a drawing file calls them."""
