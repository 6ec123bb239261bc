"""Keyed: long prisms split for the printer, with keys that find each other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from manifold3d import Manifold
from shapely import Polygon

from moldgen.printing.bed import laid_out, longest_mm
from moldgen.printing.bed_fit import bed_fit
from moldgen.solid.mesh import Body
from moldgen.solid.prism import body, raised
from moldgen.stock import Printer

KEY_CLEARANCE_MM = 0.2
"""Between a key and its socket, on every side; the faces beside it butt. [mm]."""
KEY_LENGTH_MM = 7.0
PIN_MM = 6.0
PIN_LENGTH_MM = 20.0
_FAR_MM = 1e4


@dataclass(frozen=True, slots=True, eq=False)
class KeyedPieces:
    """A solid in pieces.

    Attributes
    ----------
    pieces : tuple of Manifold
        In order along the cut direction.
    pins : tuple of Manifold
        Loose pins that go between them, upright for printing.
    """

    pieces: tuple[Manifold, ...]
    pins: tuple[Manifold, ...] = ()


def pieces_of(
    name: str,
    solid: Manifold,
    printer: Printer,
    *,
    band_mm: tuple[float, float],
    keep_mm: tuple[float, float] = (0.0, 0.0),
) -> tuple[Body, ...]:
    """Return a solid as the bodies that the printer takes, side by side, pins last.

    Parameters
    ----------
    band_mm, keep_mm
        Where keys may go and where it is not cut; see `cut_long`. [mm]
    """
    parts: tuple[Manifold, ...] = (solid,)
    if not _lies_on_bed(solid, printer):
        parts = cut_long(solid, printer, band_mm=band_mm, keep_mm=keep_mm).pieces
    split = [cut_tall(part, printer) for part in parts]
    pieces = [piece for one in split for piece in one.pieces]
    pins = [pin for one in split for pin in one.pins]
    if len(pieces) == 1:
        return (body(name, pieces[0], doing=f"building {name}"),)
    named = [body(f"{name} piece {k}", part, doing="splitting") for k, part in enumerate(pieces, 1)]
    named += [body(f"{name} pin {k}", pin, doing="splitting") for k, pin in enumerate(pins, 1)]
    return laid_out(named)


def _lies_on_bed(solid: Manifold, printer: Printer) -> bool:
    """Return whether a prism need not be cut across x: short enough, or lying askew on the bed."""
    x0, _, _, x1, _, _ = solid.bounding_box()
    if n_pieces(x1 - x0, printer) == 1:
        return True
    seen = shapely.multipoints(np.concatenate(solid.project().to_polygons()))
    return bed_fit(seen, 0.0, printer).fits


def n_pieces(length_mm: float, printer: Printer) -> int:
    """Return into how many pieces a length is split; each gives room to a key."""
    if length_mm <= longest_mm(printer):
        return 1
    return int(np.ceil(length_mm / (longest_mm(printer) - KEY_LENGTH_MM)))


def cut_long(
    solid: Manifold, printer: Printer, *, band_mm: tuple[float, float], keep_mm: tuple[float, float]
) -> KeyedPieces:
    """Return a prism cut across x into pieces that the printer takes, joined by dovetails.

    Parameters
    ----------
    band_mm : tuple of two floats
        y between which there is material all along, where keys go. [mm]
    keep_mm : tuple of two floats
        x between which it should not be cut. [mm]
    """
    x0, _, _, x1, _, _ = solid.bounding_box()
    pieces = n_pieces(x1 - x0, printer)
    cuts = _cuts(x0, x1, pieces, keep_mm, longest_mm(printer) - KEY_LENGTH_MM)
    parts = []
    rest = solid
    for cut in cuts:
        tongue = _tongue(cut, band_mm)
        half = shapely.box(-_FAR_MM, -_FAR_MM, cut, _FAR_MM)
        parts.append(rest ^ raised(half.union(tongue), -1.0, _FAR_MM))
        socket = half.union(shapely.buffer(tongue, KEY_CLEARANCE_MM, join_style="mitre"))
        rest = rest - raised(socket, -1.0, _FAR_MM)
    return KeyedPieces((*parts, rest))


def _cuts(x0: float, x1: float, pieces: int, keep: tuple[float, float], most: float) -> list[float]:
    cuts, start = [], x0
    for left in range(pieces - 1, 0, -1):
        cut = start + (x1 - start) / (left + 1)
        if keep[0] < cut < keep[1]:
            nearer = min(keep, key=lambda edge: abs(edge - cut))
            cut = nearer if start < nearer <= start + most else cut
        cuts.append(cut)
        start = cut
    return cuts


def _tongue(x: float, band: tuple[float, float]) -> Polygon:
    """Return a dovetail that begins at x and widens to the right."""
    middle, height = (band[0] + band[1]) / 2, band[1] - band[0]
    neck, head = 0.17 * height, 0.27 * height
    end = x + KEY_LENGTH_MM
    return Polygon(
        [
            (x - 0.5, middle - neck),
            (x, middle - neck),
            (end, middle - head),
            (end, middle + head),
            (x, middle + neck),
            (x - 0.5, middle + neck),
        ]
    )


def cut_tall(solid: Manifold, printer: Printer) -> KeyedPieces:
    """Return a prism cut across z into pieces that the printer takes, with loose pins.

    Pieces may fall apart where only the lowest one holds them together; the pins hold them.
    """
    _, _, low, _, _, high = solid.bounding_box()
    count = int(np.ceil((high - low) / printer.bed_height_mm - 1e-9))
    if count <= 1:
        return KeyedPieces((solid,))
    step = (high - low) / count
    pieces: list[Manifold] = []
    pins: list[Manifold] = []
    for number in range(count):
        slab = raised(shapely.box(-_FAR_MM, -_FAR_MM, _FAR_MM, _FAR_MM), 0, step)
        part = (solid ^ slab.translate((0, 0, low + number * step))).translate(
            (0, 0, -low - number * step)
        )
        for side in (0, 1):
            if 0 <= number - 1 + side < count - 1:
                level = low + (number + side) * step
                for x, y in _pin_places(solid, level):
                    part = part - _pin_hole(up=side == 0).translate((x, y, side * step))
                    if side:
                        pins.append(_pin())
        pieces += part.decompose()
    return KeyedPieces(tuple(pieces), tuple(pins))


def _pin_places(solid: Manifold, level_mm: float) -> list[tuple[float, float]]:
    """Return two places for pins in every part of a section."""
    section = solid.slice(level_mm + 1e-3)
    rings = [Polygon(ring) for ring in section.to_polygons() if len(ring) > 2]
    whole = shapely.Polygon()
    for ring in rings:
        whole = whole.symmetric_difference(ring)
    places = []
    for part in shapely.get_parts(whole):
        for _ in range(2):
            circle = shapely.maximum_inscribed_circle(part) if part.area > 1.0 else None
            if circle is None or circle.length < PIN_MM / 2 + 1.6:
                break
            x, y = circle.coords[0]
            places.append((float(x), float(y)))
            part = max(
                shapely.get_parts(part.difference(shapely.Point(x, y).buffer(3 * PIN_MM))),
                key=lambda piece: piece.area,
                default=shapely.Polygon(),
            )
    return places


def _pin() -> Manifold:
    tip = 1.0
    shaft = PIN_LENGTH_MM - 2 * tip
    end = Manifold.cylinder(tip, PIN_MM / 2 - tip, PIN_MM / 2, 48)
    middle = Manifold.cylinder(shaft, PIN_MM / 2, PIN_MM / 2, 48).translate((0, 0, tip))
    top = Manifold.cylinder(tip, PIN_MM / 2, PIN_MM / 2 - tip, 48)
    return end + middle + top.translate((0, 0, tip + shaft))


def _pin_hole(*, up: bool) -> Manifold:
    """Return a socket for half a pin; one that opens downward ends in a cone that prints."""
    radius = PIN_MM / 2 + KEY_CLEARANCE_MM
    depth = PIN_LENGTH_MM / 2 + 0.5
    hole = Manifold.cylinder(depth + 1.0, radius, radius, 48).translate((0, 0, -1.0))
    cone = Manifold.cylinder(radius, radius, 0.0, 48).translate((0, 0, depth))
    whole = hole + cone
    return whole if up else whole.mirror((0, 0, 1))
