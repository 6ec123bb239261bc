"""A picture of a sheet while it is heated: temperatures over time, and the forming window."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from moldgen.arrays import Floats
from moldgen.export.picture.heating_curves import HeatingCurves, heating_png
from moldgen.table.heat_up import HeatUp
from moldgen.wording import gauge_text


def course_png(heated: HeatUp) -> bytes:
    """Return the picture as a PNG file."""
    return heating_png(curves_of(heated))


def curves_of(heated: HeatUp) -> HeatingCurves:
    """Return the curves of the middle of a sheet, on axes that show its whole window and more.

    Where only less heat has a window, those of less heat.
    """
    heated = heated.usable
    plastic, clock, course = heated.sheet.plastic, heated.clock, heated.course
    last_s = 1.12 * max(clock.forming_s, clock.ends_s or 0.0, clock.opens_s or 0.0)
    top = max(plastic.forming_high_degC, heated.front_degC) + 25
    shown = course.times_s[:, 0] <= last_s
    return HeatingCurves(
        title=f"{plastic.title}, {gauge_text(heated.sheet.gauge_mm)}, on {heated.machine.title}, "
        f"{heated.machine.heater_degC:g} °C",
        times_s=course.times_s[shown, 0],
        curves_degC=tuple((name, values[shown]) for name, values in _curves(heated)),
        window_degC=(plastic.forming_low_degC, plastic.forming_high_degC),
        last_s=last_s,
        high_degC=float(20 * np.ceil(top / 20)),
        opens_s=clock.opens_s,
        closes_s=clock.ends_s,
        forming_s=heated.forming_s,
    )


def _curves(heated: HeatUp) -> Iterator[tuple[str, Floats]]:
    course = heated.course
    profiles = course.profiles_degC[:, 0]
    both = heated.machine.heater_sides == 2
    yield "both faces" if both else "face at the heater", course.fronts_degC[:, 0]
    yield "mean", profiles.mean(axis=-1)
    yield ("inside", profiles.min(axis=-1)) if both else ("back", course.backs_degC[:, 0])
