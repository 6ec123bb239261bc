"""A picture of a sheet while it is heated: temperatures over time, and the forming window."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from moldgen.export.picture.canvas import NAVY, SIGNAL_RED, SLATE, Canvas, Color, Place
from moldgen.physics.heat.heating import Array
from moldgen.table.heat_up import HeatUp
from moldgen.wording import clock_text

_SIZE_PX = (1200, 720)
_FRAME_PX = (96.0, 84.0, 1000.0, 640.0)
"""Left, top, right and bottom of the plot."""
_WINDOW: Color = (226, 232, 206)
_HOT: Color = (194, 65, 12)
_COLD: Color = (44, 104, 150)
_GRID: Color = (221, 214, 197)


@dataclass(frozen=True, slots=True, kw_only=True)
class Axes:
    """Where times and temperatures lie on the picture."""

    last_s: float
    low_degC: float
    high_degC: float

    def at(self, time_s: float, temperature_degC: float) -> Place:
        """Return the place of a time and a temperature."""
        left, top, right, bottom = _FRAME_PX
        up = (temperature_degC - self.low_degC) / (self.high_degC - self.low_degC)
        return left + time_s / self.last_s * (right - left), bottom - up * (bottom - top)


def course_png(heated: HeatUp) -> bytes:
    """Return the picture as a PNG file."""
    axes = axes_for(heated)
    canvas = Canvas(*_SIZE_PX)
    plastic = heated.sheet.plastic
    title = f"{plastic.title}, {heated.sheet.gauge_mm:.3g} mm, on {heated.machine.title}"
    canvas.write((28, 44), title, size_px=24, bold=True, room_px=_SIZE_PX[0] - 56)
    _draw_window(canvas, axes, heated)
    _draw_grid(canvas, axes)
    _draw_lines(canvas, axes, heated)
    _draw_moments(canvas, axes, heated)
    return canvas.png()


def axes_for(heated: HeatUp) -> Axes:
    """Return axes that show the whole window and a little more."""
    moments = (heated.forming_s, heated.clock.closes_s or 0.0, heated.clock.opens_s or 0.0)
    top = max(heated.sheet.plastic.forming_high_degC, heated.front_degC) + 25
    return Axes(last_s=1.12 * max(moments), low_degC=0.0, high_degC=20 * np.ceil(top / 20))


def round_step(whole: float, *, most: int) -> float:
    """Return a round step that divides a whole into no more than so many parts."""
    for power in range(-2, 6):
        for digit in (1, 2, 5):
            if whole / (digit * 10.0**power) <= most:
                return digit * 10.0**power
    return whole


def _draw_window(canvas: Canvas, axes: Axes, heated: HeatUp) -> None:
    plastic = heated.sheet.plastic
    low, high = plastic.forming_low_degC, plastic.forming_high_degC
    corners = [(0.0, low), (axes.last_s, low), (axes.last_s, high), (0.0, high)]
    canvas.area([axes.at(*corner) for corner in corners], color=_WINDOW)
    x, y = axes.at(0.0, high)
    canvas.write((x + 8, y + 20), f"forms: {low:g} to {high:g} °C", size_px=15, color=SLATE)


def _draw_grid(canvas: Canvas, axes: Axes) -> None:
    left, top, right, bottom = _FRAME_PX
    for value in np.arange(axes.low_degC, axes.high_degC + 1e-9, 20):
        _, y = axes.at(0.0, float(value))
        canvas.trail([(left, y), (right, y)], width_px=0.6, color=_GRID)
        canvas.write((left - 10, y), f"{value:g}", size_px=15, color=SLATE, anchor="rm")
    for value in np.arange(0, axes.last_s, round_step(axes.last_s, most=10)):
        x, _ = axes.at(float(value), axes.low_degC)
        canvas.trail([(x, bottom), (x, bottom + 6)], width_px=1, color=SLATE)
        canvas.write((x, bottom + 24), f"{value:g}", size_px=15, color=SLATE, anchor="ms")
    canvas.trail([(left, top), (left, bottom), (right, bottom)], width_px=1.2, color=SLATE)
    canvas.write((left, top - 10), "°C", size_px=15, color=SLATE, anchor="ms")
    canvas.write((right + 14, bottom + 24), "seconds", size_px=15, color=SLATE)


def _draw_lines(canvas: Canvas, axes: Axes, heated: HeatUp) -> None:
    course = heated.course
    times_s = course.times_s[:, 0]
    mean = course.profiles_degC[:, 0].mean(axis=-1)
    lines: Sequence[tuple[Array, Color, str]] = (
        (course.fronts_degC[:, 0], _HOT, "face at the heater"),
        (mean, NAVY, "mean"),
        (course.backs_degC[:, 0], _COLD, "back"),
    )
    if heated.machine.heater_sides == 2:
        inner = course.profiles_degC[:, 0].min(axis=-1)
        lines = ((lines[0][0], _HOT, "both faces"), lines[1], (inner, _COLD, "inside"))
    times = np.linspace(0, axes.last_s, 160)
    known = times <= times_s[-1]
    ends = []
    for values, color, words in lines:
        row = np.minimum(np.interp(times, times_s, values), axes.high_degC)
        places = [
            axes.at(float(t), float(T)) for t, T in zip(times[known], row[known], strict=True)
        ]
        canvas.trail(places, width_px=2.6, color=color)
        ends.append((places[-1], words, color))
    _name_lines(canvas, ends)


def _name_lines(canvas: Canvas, ends: Sequence[tuple[Place, str, Color]]) -> None:
    """Write the names beside the ends of the lines, none over another."""
    below = -1e9
    for (x, y), words, color in sorted(ends, key=lambda end: end[0][1]):
        below = max(y, below + 22)
        canvas.write((x + 10, below), words, size_px=16, color=color, anchor="lm")


def _draw_moments(canvas: Canvas, axes: Axes, heated: HeatUp) -> None:
    _, top, _, bottom = _FRAME_PX
    clock = heated.clock
    moments = (
        (clock.opens_s, "opens", SLATE, 14.0, "rs"),
        (clock.closes_s, "too hot", SLATE, 36.0, "ls"),
        (heated.forming_s, "form", SIGNAL_RED, 14.0, "ls"),
    )
    for time_s, words, color, above, anchor in moments:
        if time_s is None:
            continue
        x, _ = axes.at(time_s, 0.0)
        canvas.trail([(x, top), (x, bottom)], width_px=1.6, color=color)
        aside = x - 6 if anchor == "rs" else x + 6
        label = f"{words} {clock_text(time_s)}"
        canvas.write((aside, bottom - above), label, size_px=15, color=color, anchor=anchor)
