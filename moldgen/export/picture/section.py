"""A mold cut open: the section drawn true to scale, the sheet above it, and a closer look."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import SpecError
from moldgen.export.picture.canvas import FINE, SLATE, Canvas, Color, Place
from moldgen.solid.mesh import Body, Mesh, Points, joined
from moldgen.solid.section import section_rings, section_rise_mm

_CUT_FACE: Color = (205, 220, 229)
_HATCH: Color = (112, 140, 160)
_SHEET: Color = (214, 138, 52)
_SHEET_INK: Color = (150, 84, 16)
_WIDTH_PX, _SIDE_PX, _HEAD_PX = 1400, 110, 64
_TALLEST_PX = 420
_N_TRIALS = 15
# The sheet hangs at this share of the mold's height above it.
_SHEET_GAP = 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class _Panel:
    """One drawing of the section: which part of it, where on the canvas, how large."""

    low_mm: float
    high_mm: float
    floor_mm: float
    top_px: float
    height_px: float
    px_per_mm: float

    def at(self, right_mm: float, up_mm: float) -> Place:
        middle = (self.low_mm + self.high_mm) / 2
        return (
            _WIDTH_PX / 2 + (right_mm - middle) * self.px_per_mm,
            self.top_px + self.height_px - (up_mm - self.floor_mm) * self.px_per_mm,
        )


def section_png(
    bodies: Sequence[Body],
    *,
    sheet_mm: float | None = None,
    at_mm: float | None = None,
    title: str = "",
) -> bytes:
    """Return a PNG of a mold cut open along its longer side, height and length to one scale.

    A flat mold gets a second drawing below: the part with most walls, larger.

    Parameters
    ----------
    bodies : sequence of Body
        The mold. [mm]
    sheet_mm : float, optional
        Gauge of the sheet, drawn above the mold. [mm]
    at_mm : float, optional
        Where to cut, on the mold's shorter side; left out, where the cut shows most walls. [mm]
    title : str, optional
        What stands above the drawing.

    Returns
    -------
    bytes
        1400 pixels wide.

    Raises
    ------
    SpecError
        If there is no body, or the cut misses the mold.
    """
    if not bodies:
        raise SpecError("bodies", "at least one body", "none")
    mesh = bodies[0].mesh if len(bodies) == 1 else joined([body.mesh for body in bodies])
    axis = cut_axis(mesh)
    at_mm = best_cut_mm(mesh, axis=axis) if at_mm is None else at_mm
    rings = section_rings(mesh, axis=axis, at_mm=at_mm)
    if not rings:
        low, high = mesh.bounds_mm[:, axis]
        raise SpecError("at_mm", f"within the mold, {low:g} to {high:g} mm", f"{at_mm:g} mm")
    whole, close = _panels(mesh, rings, axis)
    last = close or whole
    canvas = Canvas(_WIDTH_PX, round(last.top_px + last.height_px + 70))
    canvas.write((24, 36), title or "Section", size_px=21, bold=True, room_px=820)
    cut = f"cut along {'yx'[axis]} at {'xy'[axis]} = {at_mm:.1f} mm, seen from {_SEEN_FROM[axis]}"
    canvas.write((_WIDTH_PX - 24, 36), cut, size_px=16, color=SLATE, anchor="rs")
    for panel in filter(None, (whole, close)):
        _draw(canvas, panel, rings)
        _draw_sheet(canvas, panel, sheet_mm)
    _dimensions(canvas, whole, rings)
    if close is not None:
        larger = f"the same, {close.px_per_mm / whole.px_per_mm:.1f} times larger"
        canvas.write((24, close.top_px - 8), larger, size_px=16, color=SLATE)
        _ring_window(canvas, whole, close, rings)
    return canvas.png()


_SEEN_FROM = ("the right", "the front")


def cut_axis(mesh: Mesh) -> int:
    """Return the axis to cut across, so that the cut runs along the longer side: 0 or 1."""
    width, depth, _ = np.ptp(mesh.points_mm, axis=0)
    return 1 if width >= depth else 0


def best_cut_mm(mesh: Mesh, *, axis: int) -> float:
    """Return the place on an axis where a cut shows most walls and vents. [mm]."""
    low, high = mesh.bounds_mm[:, axis]
    places = low + (high - low) * (np.arange(_N_TRIALS) + 1) / (_N_TRIALS + 1)
    along = [mesh.points_mm[mesh.triangles[:, k], axis] for k in range(3)]
    least, most = np.minimum.reduce(along), np.maximum.reduce(along)
    rises = []
    for place in places.tolist():
        parted = Mesh(mesh.points_mm, mesh.triangles[(least < place) & (most >= place)])
        rises.append(section_rise_mm(parted, axis=axis, at_mm=place))
    # Of equals the one nearest the middle.
    off_middle = np.abs(places - (low + high) / 2)
    return float(places[np.lexsort((off_middle, -np.round(rises, 6)))[0]])


def _panels(mesh: Mesh, rings: Sequence[Points], axis: int) -> tuple[_Panel, _Panel | None]:
    low, high = mesh.bounds_mm[:, 1 - axis]
    floor, top = mesh.bounds_mm[:, 2]
    tall = (top - floor) * (1 + _SHEET_GAP) + 1e-9
    room = _WIDTH_PX - 2 * _SIDE_PX
    scale = min(room / (high - low), _TALLEST_PX / tall)
    whole = _Panel(
        low_mm=low,
        high_mm=high,
        floor_mm=floor,
        top_px=_HEAD_PX,
        height_px=tall * scale,
        px_per_mm=scale,
    )
    larger = min(5 * scale, _TALLEST_PX / tall)
    if larger < 1.5 * scale:
        return whole, None
    wide = room / larger
    start = _busiest_mm(rings, wide, low, high)
    close = _Panel(
        low_mm=start,
        high_mm=start + wide,
        floor_mm=floor,
        top_px=_HEAD_PX + whole.height_px + 120,
        height_px=tall * larger,
        px_per_mm=larger,
    )
    return whole, close


def _busiest_mm(rings: Sequence[Points], wide_mm: float, low_mm: float, high_mm: float) -> float:
    """Return where a window of that width begins to hold most walls."""
    middles = np.concatenate([(ring + np.roll(ring, -1, axis=0))[:, 0] / 2 for ring in rings])
    rises = np.concatenate([np.abs(np.diff(ring[:, 1], append=ring[0, 1])) for ring in rings])
    starts = np.linspace(low_mm, high_mm - wide_mm, 41)
    inside = (middles >= starts[:, None]) & (middles <= starts[:, None] + wide_mm)
    return float(starts[(inside * rises).sum(axis=1).argmax()])


def _draw(canvas: Canvas, panel: _Panel, rings: Sequence[Points]) -> None:
    """Put down the cut face with its hatching and outline, and the table under it."""
    left, right = panel.at(panel.low_mm, 0)[0], panel.at(panel.high_mm, 0)[0]
    placed = [[panel.at(x, z) for x, z in ring.tolist()] for ring in rings]
    corner = (round(left), round(panel.top_px))
    size = (round(right) - corner[0] + 1, round(panel.height_px) + 1)
    inside = _cut_face(placed, corner, size)
    canvas.stencil(inside, corner, color=_CUT_FACE)
    canvas.stencil(inside & _stripes(inside.shape), corner, color=_HATCH)
    for ring in placed:
        _trail_between(canvas, ring, left - 0.5, right + 0.5)
    floor = panel.top_px + panel.height_px
    canvas.trail([(left - 40, floor), (right + 40, floor)], width_px=1.5)
    for x in np.arange(left - 40, right + 40, 14):
        canvas.trail([(x + 8, floor), (x, floor + 8)], width_px=1, color=SLATE)


def _cut_face(
    rings: Sequence[Sequence[Place]], corner: tuple[int, int], size: tuple[int, int]
) -> NDArray[np.bool_]:
    """Return the fine pixels between the rings, by the even-odd rule."""
    from PIL import Image, ImageChops, ImageDraw

    fine = (size[0] * FINE, size[1] * FINE)
    inside = Image.new("1", fine, 0)
    for ring in rings:
        one = Image.new("1", fine, 0)
        moved = [((x - corner[0]) * FINE, (y - corner[1]) * FINE) for x, y in ring]
        ImageDraw.Draw(one).polygon(moved, fill=1)
        inside = ImageChops.logical_xor(inside, one)
    return np.asarray(inside)


def _stripes(shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return the fine pixels of a hatching from corner to corner."""
    width = 11 * FINE
    one = np.arange(shape[0] + shape[1]) % width < FINE
    return np.lib.stride_tricks.sliding_window_view(one, shape[1])[: shape[0]]


def _trail_between(canvas: Canvas, ring: Sequence[Place], left: float, right: float) -> None:
    """Draw the parts of a closed line that lie between two columns."""
    run: list[Place] = []
    for start, end in zip(ring, [*ring[1:], ring[0]], strict=True):
        part = _between(start, end, left, right)
        if part is None or (run and part[0] != run[-1]):
            _finish(canvas, run)
            run = []
        if part is not None:
            run = [*(run or part[:1]), part[1]]
    _finish(canvas, run)


def _between(start: Place, end: Place, left: float, right: float) -> tuple[Place, Place] | None:
    """Return the part of a straight line between two columns."""
    (x0, y0), (x1, y1) = start, end
    if max(x0, x1) < left or min(x0, x1) > right:
        return None

    def at(x: float) -> Place:
        return x, y0 + (y1 - y0) * (x - x0) / (x1 - x0)

    ends = [at(min(max(x, left), right)) if not left <= x <= right else (x, y)
            for x, y in (start, end)]  # fmt: skip
    return ends[0], ends[1]


def _finish(canvas: Canvas, run: Sequence[Place]) -> None:
    if len(run) > 1:
        canvas.trail(run, width_px=1.8)


def _top_mm(rings: Sequence[Points]) -> float:
    return float(max(ring[:, 1].max() for ring in rings))


def _draw_sheet(canvas: Canvas, panel: _Panel, sheet_mm: float | None) -> None:
    """Draw the sheet in its gauge above the mold."""
    if sheet_mm is None:
        return
    (left, _), (right, _) = panel.at(panel.low_mm, 0), panel.at(panel.high_mm, 0)
    thick = max(sheet_mm * panel.px_per_mm, 1.5)
    under = panel.top_px + thick
    box = [(left - 40, under - thick), (right + 40, under - thick)]
    box += [(right + 40, under), (left - 40, under)]
    canvas.area(box, color=_SHEET)
    words = f"sheet {sheet_mm:g} mm"
    ink, place = _SHEET_INK, (right + 40, panel.top_px - 7)
    canvas.write(place, words, size_px=15, color=ink, anchor="rs")


def _dimensions(canvas: Canvas, panel: _Panel, rings: Sequence[Points]) -> None:
    """Measure height and length of the cut."""
    every = np.concatenate(rings)
    (low, floor), (high, top) = every.min(axis=0), every.max(axis=0)
    (left, foot), (right, head) = panel.at(low, floor), panel.at(high, top)
    x = right + 30
    canvas.trail([(right + 4, head), (x + 6, head)], width_px=1, color=SLATE)
    canvas.dimension((x, head), (x, foot), f"{top - floor:.1f}")
    canvas.dimension((left, foot + 26), (right, foot + 26), f"{high - low:.1f} mm")


def _ring_window(canvas: Canvas, whole: _Panel, close: _Panel, rings: Sequence[Points]) -> None:
    """Mark on the whole section which part is drawn larger."""
    foot = whole.at(0, whole.floor_mm)[1] + 6
    head = whole.at(0, _top_mm(rings))[1] - 6
    left, right = whole.at(close.low_mm, 0)[0], whole.at(close.high_mm, 0)[0]
    corners = [(left, head), (right, head), (right, foot), (left, foot), (left, head)]
    canvas.trail(corners, width_px=1.2, color=SLATE)
