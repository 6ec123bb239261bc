"""A forming run in two parts: the drawing, to the full vacuum, and the holding under it.

As its stress relaxes under the full vacuum the sheet goes on as if the pressure went on rising,
from `FormingSpec.drawn_per_mm` to `FormingSpec.pressure_per_mm`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from moldgen.arrays import Floats
from moldgen.physics.membrane.run import FREE, FormingRun, Frames


def before_holding(run: FormingRun) -> FormingRun:
    """Return a run as it was when the full vacuum had just come; all of it if nothing relaxes.

    What came to rest later is free in it. It hangs as in the first frame under more pressure than
    that, or as at the end where there is none.
    """
    later = run.frames.pressure_per_mm > run.spec.drawn_per_mm
    if run.spec.relaxed_share == 1 or not later.any():
        return run
    full = int(np.argmax(later))
    free = pressure_at_arrival(run) > run.spec.drawn_per_mm
    return replace(
        run,
        points_mm=run.frames.points_mm[full].astype(float),
        arrival=np.where(free, np.inf, run.arrival),
        touches=np.where(free, FREE, run.touches).astype(np.int8),
        frames=Frames(
            time=run.frames.time[: full + 1].copy(),
            pressure_per_mm=run.frames.pressure_per_mm[: full + 1].copy(),
            points_mm=run.frames.points_mm[: full + 1].copy(),
        ),
    )


def pressure_at_arrival(run: FormingRun) -> Floats:
    """Return the pressure under which each point came to rest, over modulus and gauge. [1/mm].

    -1 while the mold rose and where the clamp holds it, inf where it touches nothing, shape (n,).
    """
    time, pressure = _way_of_pressure(run)
    finite = np.where(np.isfinite(run.arrival), run.arrival, 0.0)
    found = np.interp(finite, time, pressure)
    found = np.where(finite <= 1.0, -1.0, found)
    return np.where(np.isinf(run.arrival) & ~run.mesh.held, np.inf, found)


def _way_of_pressure(run: FormingRun) -> tuple[Floats, Floats]:
    """Return times of the drawing, rising, and the greatest pressure up to each."""
    drawn = run.history.time >= 1.0
    time = np.concatenate([run.history.time[drawn], run.frames.time])
    pressure = np.concatenate([run.history.pressure_per_mm[drawn], run.frames.pressure_per_mm])
    order = np.argsort(time, kind="stable")
    return time[order], np.maximum.accumulate(pressure[order])
