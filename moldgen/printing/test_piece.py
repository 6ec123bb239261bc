"""Test piece: small test prints with a row of holes, each with its size sunk beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, pi

import numpy as np
import shapely
from manifold3d import Manifold
from shapely.affinity import translate

from moldgen.errors import SpecError
from moldgen.outline.choices import Align
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.printing.choices import PLAYS_MM, SLITS_MM, VENTS_MM
from moldgen.quantity import Quantity
from moldgen.solid.arcs import segments_for
from moldgen.solid.mesh import Body
from moldgen.solid.prism import prism
from moldgen.solid.slit import END_MM, slit_cutter
from moldgen.solid.sound import mesh_from_solid, sound
from moldgen.stock import Printer
from moldgen.stock.dowel import Dowel

TEXT_MM = 4.0
SUNK_MM = 0.6
EDGE_MM = 3.0
VENT_PLATE_MM = 3.0
SLIT_PLATE_MM = 4.0
SLIT_LENGTH_MM = 8.0
POCKET_MM = 3.0
MOST_HOLES = 20
_CHORD_MM = 0.01


def build_vent_test_piece(diameters_mm: Sequence[float] = VENTS_MM) -> Body:
    """Return a plate of upright holes, drawn at the sizes that are sunk beside them.

    Print it, and try which drill or pin goes through which hole: the difference is what the
    printer's holes lose.

    Raises
    ------
    SpecError
        If there is no hole, there are too many, or one is out of range.
    """
    _check("diameters_mm", diameters_mm, Quantity("mm", "hole", above=0, at_most=12))
    pitch = _pitch_mm(diameters_mm, max(diameters_mm))
    tall = max(diameters_mm)
    plate = _plate(pitch * len(diameters_mm), TEXT_MM + tall + 3 * EDGE_MM, VENT_PLATE_MM)

    def hole(diameter: float, x: float) -> Manifold:
        return _rod(diameter, VENT_PLATE_MM + 2).translate((x, EDGE_MM + tall / 2, -1.0))

    return _bored(
        "vent test piece", plate, diameters_mm, pitch=pitch, hole=hole, height=VENT_PLATE_MM
    )


def build_slit_test_piece(widths_mm: Sequence[float] = SLITS_MM) -> Body:
    """Return a plate of slits over pockets, as vents are made, their widths sunk beside them.

    Print it, and hold it to the light: the narrowest slit that shows from end to end is the
    printer's least.

    Raises
    ------
    SpecError
        If there is no slit, there are too many, or one is out of range.
    """
    _check("widths_mm", widths_mm, Quantity("mm", "slit", at_least=0.05, at_most=3))
    pitch = _pitch_mm(widths_mm, max(POCKET_MM, *widths_mm))
    deep = SLIT_LENGTH_MM + 2 * END_MM
    plate = _plate(pitch * len(widths_mm), TEXT_MM + deep + 3 * EDGE_MM, SLIT_PLATE_MM)

    def slit(width: float, x: float) -> Manifold:
        cutter = slit_cutter(
            SLIT_LENGTH_MM, width, pocket_mm=POCKET_MM, face_mm=SLIT_PLATE_MM,
            top_mm=SLIT_PLATE_MM + 1.0,
        )  # fmt: skip
        return cutter.rotate((0.0, 0.0, 90.0)).translate((x, EDGE_MM + deep / 2, 0.0))

    return _bored("slit test piece", plate, widths_mm, pitch=pitch, hole=slit, height=SLIT_PLATE_MM)


def build_key_test_piece(
    dowel: Dowel, printer: Printer, *, plays_mm: Sequence[float] = PLAYS_MM, lying: bool = True
) -> Body:
    """Return a block of holes for one pin, each with another play, sunk beside it.

    Parameters
    ----------
    dowel : Dowel
        The pin to try.
    printer : Printer
        What its holes lose is added to every hole, as in the joints of a split.
    plays_mm : sequence of float
        Play on the diameter. [mm]
    lying : bool
        Whether the holes lie, as in a joint that stands upright; else they stand.

    Raises
    ------
    SpecError
        If there is no hole, there are too many, or a play is out of range.
    """
    _check("plays_mm", plays_mm, Quantity("mm", "play", at_least=0, at_most=1))
    deep = 2 * dowel.diameter_mm
    widest = dowel.diameter_mm + printer.hole_undersize_mm + max(plays_mm)
    pitch = _pitch_mm(plays_mm, widest)
    if lying:
        height, depth = widest + 2 * EDGE_MM, max(deep, TEXT_MM + 2 * EDGE_MM)
    else:
        height, depth = deep, TEXT_MM + widest + 3 * EDGE_MM
    block = _plate(pitch * len(plays_mm), depth, height)

    def hole(play: float, x: float) -> Manifold:
        rod = _rod(dowel.diameter_mm + printer.hole_undersize_mm + play, max(deep, depth) + 2)
        if lying:
            return rod.rotate((-90.0, 0.0, 0.0)).translate((x, -1.0, height / 2))
        return rod.translate((x, EDGE_MM + widest / 2, -1.0))

    return _bored(
        f"key test piece {dowel.name}", block, plays_mm, pitch=pitch, hole=hole, height=height
    )


def _bored(
    name: str,
    plate: Manifold,
    sizes: Sequence[float],
    *,
    pitch: float,
    hole: Callable[[float, float], Manifold],
    height: float,
) -> Body:
    cut = plate
    back = plate.bounding_box()[4]
    for number, size in enumerate(sizes):
        x = (number + 0.5) * pitch
        words = _words(size)
        x0, _, x1, y1 = words.bounds
        placed = translate(words, x - (x0 + x1) / 2, back - EDGE_MM / 1.5 - y1)
        cut = cut - hole(size, x) - prism(placed, height - SUNK_MM, height + 1.0)
    return Body(name, mesh_from_solid(sound(cut.simplify(1e-5), doing=f"making a {name}")))


def _plate(width: float, depth: float, height: float) -> Manifold:
    base = shapely.buffer(shapely.box(2, 2, width - 2, depth - 2), 2, quad_segs=8)
    return prism(base, 0.0, height)


def _words(size: float) -> shapely.Geometry:
    spec = TextSpec(text=f"{size:g}", height_mm=TEXT_MM, align=Align.CENTER, chord_mm=0.03)
    return outline_from_text(spec).region


def _pitch_mm(sizes: Sequence[float], widest: float) -> float:
    texts = [_words(size).bounds for size in sizes]
    longest = max(x1 - x0 for x0, _, x1, _ in texts)
    return float(max(widest + EDGE_MM, longest + EDGE_MM))


def _rod(diameter_mm: float, height_mm: float) -> Manifold:
    """Return an upright rod that holds the true circle."""
    radius = diameter_mm / 2
    sides = segments_for(radius, _CHORD_MM, at_least=16)
    outer = radius / cos(pi / sides)
    return Manifold.cylinder(height_mm, outer, outer, sides)


def _check(field: str, sizes: Sequence[float], quantity: Quantity) -> None:
    if not 0 < len(sizes) <= MOST_HOLES:
        raise SpecError(field, f"1 to {MOST_HOLES} sizes", f"{len(sizes)}")
    for size in np.asarray(sizes, np.float64).tolist():
        quantity.check(field, size)
