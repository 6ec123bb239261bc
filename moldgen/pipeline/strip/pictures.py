"""The bent strip from the side, with its dimensions, where it stands and what it carries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from moldgen.bend.stand.load import Thing
from moldgen.bend.stand.stand import StripBalance
from moldgen.bend.strip.part import LegsBy, StripSpec
from moldgen.bend.strip.shape import StripShape
from moldgen.export.picture.canvas import NAVY, PAPER, SIGNAL_RED, SLATE, Canvas, Color, Place
from moldgen.export.picture.render import View, ViewFrame, frame_of, render
from moldgen.solid.mesh import Body, joined

_WIDTH_PX = 1400
_PLASTIC: Color = (150, 182, 199)
_THING: Color = (226, 214, 186)
_PRINT: Color = (221, 190, 132)
_PANEL_PX = (700, 460)
_VIEWS = (View(azimuth_deg=-30, elevation_deg=28), View(azimuth_deg=60, elevation_deg=28))
_TABLE: Color = (168, 150, 116)
_HOT: Color = (194, 65, 12)
_ROOM_PX = (190.0, 130.0, 190.0, 110.0)
"""Left free for lettering: left, above, right, below."""
_LETTERS_PX = 17.0
_Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaningThing:
    """A thing that leans on the strip: which leg, on which face, what."""

    leg: int
    marks: bool
    thing: Thing


def bodies_png(printed: Sequence[Body], *, strip: Body | None = None, title: str = "") -> bytes:
    """Return a PNG of printed bodies, and of a strip in another color, from two sides.

    Raises
    ------
    SpecError
        If there is nothing to show.
    """
    bodies = [*printed, *([strip] if strip is not None else [])]
    mesh = joined([body.mesh for body in bodies])
    paint = [_PRINT] * len(printed) + [_PLASTIC]
    colors = np.concatenate(
        [
            np.tile(np.array(color, np.uint8), (len(body.mesh.triangles), 1))
            for body, color in zip(bodies, paint, strict=False)
        ]
    )
    frames = [frame_of(mesh, view=view, size_px=_PANEL_PX, margin=0.07) for view in _VIEWS]
    scale = min(frame.px_per_mm for frame in frames)
    wide, tall = _PANEL_PX
    canvas = Canvas(2 * wide, tall + 60)
    for number, (view, frame) in enumerate(zip(_VIEWS, frames, strict=True)):
        even = ViewFrame(right_mm=frame.right_mm, up_mm=frame.up_mm, px_per_mm=scale)
        panel = render(
            mesh, view=view, size_px=_PANEL_PX, colors=colors, background=PAPER, frame=even
        )
        canvas.paste(panel, left_px=number * wide, top_px=0)
    low, high = mesh.bounds_mm
    size = " x ".join(f"{side:.0f}" for side in high - low)
    words = f"{title}, {size} mm" if title else f"{size} mm"
    canvas.write((28, tall + 36), words, size_px=20, room_px=2 * wide - 56)
    return canvas.png()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    left_mm: float
    floor_mm: float
    px_per_mm: float
    left_px: float
    floor_px: float

    def at(self, point_mm: Sequence[float] | NDArray[np.float64]) -> Place:
        return (
            self.left_px + (float(point_mm[0]) - self.left_mm) * self.px_per_mm,
            self.floor_px - (float(point_mm[1]) - self.floor_mm) * self.px_per_mm,
        )


def side_view_png(
    shape: StripShape,
    *,
    standing: StripBalance | None = None,
    laid: Sequence[LeaningThing] = (),
    title: str = "",
) -> bytes:
    """Return a PNG of a bent strip from the side: legs, bends, overall size.

    Parameters
    ----------
    shape : StripShape
        The strip, as it lies or stands.
    standing : StripBalance, optional
        How it stands: the table, the center of mass and the edges it tips over are drawn.
    laid : sequence of LeaningThing
        What leans on it.
    title : str
        What stands on top.
    """
    things = [(one, _corners(shape, one)) for one in laid]
    points = np.concatenate([shape.top_mm, shape.bottom_mm, *(corners for _, corners in things)])
    frame, height_px = _frame(points)
    canvas = Canvas(_WIDTH_PX, height_px)
    canvas.write((28, 42), title, size_px=24, bold=True, room_px=_WIDTH_PX - 56)
    if standing is not None:
        _draw_table(canvas, frame, points)
    for one, corners in things:
        _draw_thing(canvas, frame, one, corners)
    _draw_strip(canvas, frame, shape)
    covered = [Polygon(corners) for _, corners in things]
    _label(canvas, frame, shape, covered, on_table=standing is not None)
    if standing is not None:
        _draw_balance(canvas, frame, standing)
    _overall(canvas, frame, shape)
    return canvas.png()


def _frame(points: NDArray[np.float64]) -> tuple[_Frame, int]:
    low, high = points.min(axis=0), points.max(axis=0)
    wide, tall = np.maximum(high - low, 1.0)
    left, above, right, below = _ROOM_PX
    scale = min((_WIDTH_PX - left - right) / wide, 640.0 / tall)
    height = int(above + tall * scale + below) + 30
    spare = _WIDTH_PX - left - right - wide * scale
    frame = _Frame(
        left_mm=float(low[0]),
        floor_mm=float(low[1]),
        px_per_mm=float(scale),
        left_px=float(left + spare / 2),
        floor_px=float(height - below),
    )
    return frame, height


def _corners(shape: StripShape, one: LeaningThing) -> NDArray[np.float64]:
    leg = shape.legs[one.leg - 1]
    ends = sorted((leg.start_mm, leg.end_mm), key=lambda end: (round(end[1], 6), end[0]))
    low, high = np.array(ends[0]), np.array(ends[1])
    up = (high - low) / max(float(np.linalg.norm(high - low)), 1e-9)
    heading = np.radians(leg.heading_deg)
    out = (1.0 if one.marks else -1.0) * np.array([-np.sin(heading), np.cos(heading)])
    near = shape.strip.thickness_mm / 2
    far = near + one.thing.thick_mm
    top = up * one.thing.tall_mm
    return np.array(
        [low + out * near, low + out * far, low + out * far + top, low + out * near + top]
    )


def _draw_table(canvas: Canvas, frame: _Frame, points: NDArray[np.float64]) -> None:
    left, right = points[:, 0].min(), points[:, 0].max()
    start, end = frame.at((left, 0.0)), frame.at((right, 0.0))
    canvas.trail(
        [(start[0] - 60, start[1] + 1), (end[0] + 60, end[1] + 1)], color=_TABLE, width_px=3
    )


def _draw_thing(
    canvas: Canvas, frame: _Frame, one: LeaningThing, corners: NDArray[np.float64]
) -> None:
    places = [frame.at(corner) for corner in corners]
    canvas.area(places, color=_THING)
    canvas.trail([*places, places[0]], color=SLATE, width_px=1.2)
    x, y = frame.at(corners[corners[:, 1].argmax()])
    canvas.write((x, y - 8), one.thing.name, size_px=15, color=SLATE, anchor="ms")


def _draw_strip(canvas: Canvas, frame: _Frame, shape: StripShape) -> None:
    for part in shapely.get_parts(shape.outline):
        places = [frame.at(point) for point in part.exterior.coords]
        canvas.area(places, color=_PLASTIC)
        canvas.trail(places, width_px=1.8)
    half = shape.strip.thickness_mm / 2
    for leg in shape.legs[:1]:
        # A dot on the face with the marks, where the strip begins.
        heading = np.radians(leg.heading_deg)
        out = np.array([-np.sin(heading), np.cos(heading)])
        along = np.array([np.cos(heading), np.sin(heading)])
        spot = np.array(leg.start_mm) + out * half + along * min(6.0, leg.length_mm / 2)
        canvas.ring(frame.at(spot), radius_px=5, color=_HOT, width_px=3)


def _label(
    canvas: Canvas,
    frame: _Frame,
    shape: StripShape,
    covered: Sequence[Polygon],
    *,
    on_table: bool,
) -> None:
    """Write legs and bends beside the strip, each where it is most clear of everything else."""
    taken: list[_Box] = [(0.0, 0.0, float(_WIDTH_PX), 80.0)]
    taken.append((0.0, frame.floor_px + (0.0 if on_table else 26.0), float(_WIDTH_PX), 1e4))
    taken.append((_aside_px(frame, shape) - 12, 0.0, float(_WIDTH_PX), 1e4))
    ink = shapely.transform(
        shapely.union_all([shape.outline, *covered]),
        lambda points: np.array([frame.at(point) for point in points]),
    )
    for target, out, words, color in _told(shape):
        way = np.array([out[0], -out[1]])
        start = np.array(frame.at(target))
        place, box = _free_place(start, way, words, ink, taken)
        taken.append(box)
        if hypot(*(np.array(place) - start)) > 34:
            canvas.trail([(float(start[0]), float(start[1])), place], width_px=0.8, color=SLATE)
        x0, y0, x1, y1 = box
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        canvas.write(middle, words, size_px=_LETTERS_PX, color=color, anchor="mm")


_Told = tuple[NDArray[np.float64], NDArray[np.float64], str, Color]


def _told(shape: StripShape) -> Iterator[_Told]:
    half = shape.strip.thickness_mm / 2
    middle = shape.bounds_mm.mean(axis=0)
    for arc in shape.arcs:
        turn = np.radians(arc.from_deg + arc.sweep_deg / 2)
        out = np.array([np.cos(turn), np.sin(turn)])
        bend = shape.strip.bends[arc.number - 1]
        size = (
            f"fold, gap {2 * arc.inner_mm:g}"
            if bend.is_fold
            else f"{bend.angle_deg:g}°, R {arc.inner_mm:g}"
        )
        yield np.array(arc.center_mm) + out * arc.outer_mm, out, f"bend {arc.number}: {size}", _HOT
    for leg, asked in zip(shape.legs, _asked(shape.strip), strict=True):
        heading = np.radians(leg.heading_deg)
        out = np.array([-np.sin(heading), np.cos(heading)])
        target = (np.array(leg.start_mm) + np.array(leg.end_mm)) / 2
        if (target - middle) @ out < 0:
            out = -out
        yield target + out * half, out, asked, NAVY


def _asked(strip: StripSpec) -> tuple[str, ...]:
    by = "" if strip.legs_by is LegsBy.OUTSIDE else f" {strip.legs_by}"
    return tuple(f"leg {k}: {leg:g} mm{by}" for k, leg in enumerate(strip.legs_mm, start=1))


def _free_place(
    start: NDArray[np.float64],
    way: NDArray[np.float64],
    words: str,
    ink: shapely.Geometry,
    taken: Sequence[_Box],
) -> tuple[Place, _Box]:
    """Return the nearest place for words, straight out or straight in, that covers nothing."""
    half = np.array([len(words) * _LETTERS_PX * 0.29 + 4, _LETTERS_PX * 0.75])
    places: list[tuple[float, Place, _Box]] = []
    for side in (1.0, -1.0):
        for turn in (0.0, 0.5, -0.5, 1.0, -1.0):
            c, s = np.cos(turn), np.sin(turn)
            ray = side * np.array([c * way[0] - s * way[1], s * way[0] + c * way[1]])
            for out in range(8, 240, 8):
                end = start + ray * out
                center = end + ray * half
                box = (*(center - half), *(center + half))
                if _is_free(box, ink, taken):
                    cost = out + 20 * abs(turn) + (12 if side < 0 else 0)
                    x0, y0, x1, y1 = (float(value) for value in box)
                    places.append((cost, (float(end[0]), float(end[1])), (x0, y0, x1, y1)))
                    break
    if not places:
        x, y = float(start[0]), float(start[1])
        w, h = float(half[0]), float(half[1])
        return (x, y), (x - w, y - h, x + w, y + h)
    _, place, box_px = min(places, key=lambda one: one[0])
    return place, box_px


def _is_free(box: tuple[float, ...], ink: shapely.Geometry, taken: Sequence[_Box]) -> bool:
    x0, y0, x1, y1 = box
    if x0 < 6 or x1 > _WIDTH_PX - 6:
        return False
    if any(x0 < b[2] and b[0] < x1 and y0 < b[3] and b[1] < y1 for b in taken):
        return False
    return not shapely.box(x0, y0, x1, y1).intersects(ink)


def _draw_balance(canvas: Canvas, frame: _Frame, standing: StripBalance) -> None:
    """Draw the center of mass, and how far it may lean either way."""
    x, y = frame.at(standing.middle_mm)
    canvas.ring((x, y), radius_px=9, color=SIGNAL_RED, width_px=2.5)
    canvas.trail([(x - 14, y), (x + 14, y)], color=SIGNAL_RED, width_px=1.2)
    canvas.trail([(x, y - 14), (x, y + 14)], color=SIGNAL_RED, width_px=1.2)
    for contact in standing.contact_mm:
        foot = frame.at((contact, 0.0))
        canvas.trail([(x, y), foot], color=SIGNAL_RED, width_px=0.8)
        canvas.area(
            [foot, (foot[0] - 7, foot[1] + 14), (foot[0] + 7, foot[1] + 14)], color=SIGNAL_RED
        )
    left, right = standing.tip_left_deg, standing.tip_right_deg
    words = f"tips to the left at {left:.0f}°, to the right at {right:.0f}°"
    canvas.write((28, 70), words, size_px=16, color=SIGNAL_RED)


def _overall(canvas: Canvas, frame: _Frame, shape: StripShape) -> None:
    (x0, z0), (x1, z1) = shape.bounds_mm
    left, right = frame.at((x0, z0)), frame.at((x1, z1))
    below = frame.floor_px + 48
    canvas.dimension((left[0], below), (right[0], below), f"{x1 - x0:.1f} mm")
    aside = _aside_px(frame, shape)
    canvas.dimension((aside, right[1]), (aside, left[1]), f"{z1 - z0:.1f} mm")


def _aside_px(frame: _Frame, shape: StripShape) -> float:
    """Return where the height is written: right of the strip, within the picture."""
    right, _ = frame.at(shape.bounds_mm[1])
    return min(right + 120.0, _WIDTH_PX - 106.0)
