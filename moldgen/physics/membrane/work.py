"""A forming run in the making: its arrays, its marching on, its record."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass, field
from threading import Thread

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.execution import Cancel
from moldgen.physics.membrane import force_kernel as kernel
from moldgen.physics.membrane import march_kernel, part_kernel, sort_kernel, steering
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.sheet_mesh import SheetMesh
from moldgen.physics.membrane.touch import Buckets

BATCH = 32
"""Steps between two looks at what has come to rest."""
_WORTH_THREADS = 1500
"""Below this many triangles one band is done before the other has started."""
_LONGEST = 1_000_000
"""Triangles times steps between two looks whether the run has been cancelled: a few hundredths
of a second."""
_PATIENCE = 30_000
"""How often a band looks for the other before it lets other programs have its processor."""
_LINE = 8
"""Numbers apart that two processors can write without getting in one another's way."""


@dataclass(slots=True)
class RunArrays:
    """A run in the making: the arrays of the compiled loops and what is recorded."""

    sheet: kernel.SheetConstants
    state: part_kernel.State
    part: part_kernel.MovingPart
    buckets: Buckets
    control: Floats
    sums: Floats
    held: NDArray[np.bool_]
    cancel: Cancel = field(default_factory=Cancel)
    threads: int | None = None
    turn: int = 0
    steps: int = 0
    records: list[tuple[float, ...]] = field(default_factory=list)
    frames: list[tuple[float, float, NDArray[np.float32]]] = field(default_factory=list)

    @property
    def points_mm(self) -> Floats:
        """Where the points are now."""
        return self.state.points

    @property
    def n_active(self) -> int:
        """How many triangles are not wholly at rest."""
        return int(self.part.extent[part_kernel.N_ACTIVE])

    def advance(self, n_steps: int) -> None:
        """Drop what rests, and take some steps, a few at a time so as to hear of a cancel.

        Raises
        ------
        CancelError
            If the run was cancelled.
        """
        self.cancel.check()
        sort_kernel.set_out(self.sheet, self.state, self.part, self.control)
        at_once = max(1, _LONGEST // max(1, self.n_active))
        for done in range(0, n_steps, at_once):
            self.cancel.check()
            self._march((done, min(done + at_once, n_steps)))
        self.state.points[self.held, 2] = self.control[steering.CLAMP]
        self.turn = n_steps % 2
        self.steps += n_steps

    def _march(self, steps: tuple[int, int]) -> None:
        wanted = self.threads
        if wanted is None:
            wanted = n_processors() if self.n_active > _WORTH_THREADS else 1
        (march_together if wanted > 1 else march_alone)(self, steps)

    @property
    def depth_mm(self) -> float:
        """How far the sheet is from the clamp plane where it is farthest. [mm]."""
        return float(np.abs(self.points_mm[:, 2] - self.control[steering.CLAMP]).max())

    @property
    def residual(self) -> float:
        """The residual of the last record, 1 before there is one. [-]."""
        return self.records[-1][-1] if self.records else 1.0

    def take_all(self) -> None:
        """Let every triangle and every point that is not at rest take part again."""
        m = len(self.sheet.triangles)
        self.state.active[:] = np.arange(m, dtype=np.uint32)
        self.part.extent[part_kernel.N_ACTIVE] = m
        self.control[steering.SWEPT_REST] = 0.0
        sort_kernel.set_out(self.sheet, self.state, self.part, self.control)
        self.turn = 0
        _, _, swept = self._weighed_up()
        self.control[steering.SWEPT_NOW] = self.control[steering.SWEPT_REST] + swept

    def take_frame(self) -> None:
        """Keep how the sheet hangs now."""
        control = self.control
        self.frames.append(
            (
                float(control[steering.TIME]),
                float(control[steering.PRESSURE]),
                self.points_mm.astype(np.float32),
            )
        )

    def record(self) -> float:
        """Write down where the run is, and return its residual."""
        control = self.control
        residual, energy_mm2, swept_mm3 = self._weighed_up()
        self.records.append(
            (
                control[steering.TIME],
                energy_mm2,
                control[steering.PRESSURE],
                control[steering.SWEPT_REST] + swept_mm3,
                residual,
            )
        )
        return residual

    def _weighed_up(self) -> tuple[float, float, float]:
        """Return residual, energy and swept volume of the part."""
        control = self.control
        sums: tuple[float, float, float] = part_kernel.weigh_up(
            self.sheet, self.state, self.part, self.turn,
            abs(control[steering.PRESSURE]), control[steering.CLAMP],
        )  # fmt: skip
        return sums


def n_processors() -> int:
    """Return how many processors this program may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def march_alone(work: RunArrays, steps: tuple[int, int]) -> None:
    """Take the steps from one number to before another, one band after the other."""
    _march(work, (0, 2), steps, np.zeros((2, _LINE), dtype=np.int64), _controls(work))


def march_together(work: RunArrays, steps: tuple[int, int]) -> None:
    """Take the same steps, the two bands side by side; the result is the same."""
    marks, controls = np.zeros((2, _LINE), dtype=np.int64), _controls(work)
    other = Thread(target=_march, args=(work, (1, 2), steps, marks, controls), daemon=True)
    other.start()
    _march(work, (0, 1), steps, marks, controls)
    other.join()


def _controls(work: RunArrays) -> Floats:
    """Return what steers the run, once for each band."""
    spare = -steering.N_CONTROL % _LINE
    return np.tile(np.pad(work.control, (0, spare)), (2, 1))


def _march(
    work: RunArrays,
    bands: tuple[int, int],
    steps: tuple[int, int],
    marks: NDArray[np.int64],
    controls: Floats,
) -> None:
    done, end = steps
    while done < end:
        done = march_kernel.march(
            work.sheet, work.state, work.part, work.buckets, bands, (done, end),
            _PATIENCE, controls, work.sums, marks,
        )  # fmt: skip
        if done < end:
            time.sleep(0)
    if bands[0] == 0:
        work.control[:] = controls[0, : steering.N_CONTROL]


def work_of(
    mesh: SheetMesh, buckets: Buckets, *, rubber: Rubber, start_mm: float, folds: bool = False
) -> RunArrays:
    """Return a run of a flat sheet at a height, before its first step.

    Parameters
    ----------
    mesh : SheetMesh
        The flat sheet.
    buckets : Buckets
        The mold, sorted into cells.
    rubber : Rubber
        Law of the sheet.
    start_mm : float
        Height of the sheet. [mm]
    folds : bool
        Whether what is pressed together carries nothing.
    """
    n, m = len(mesh.points_mm), len(mesh.triangles)
    state = part_kernel.State(
        points=np.column_stack([mesh.points_mm, np.full(n, start_mm)]),
        speeds=np.zeros((n, 3)),
        drifts=np.zeros((n, 3)),
        touches=np.where(mesh.held, kernel.HELD, kernel.FREE).astype(np.int8),
        arrival=np.full(n, np.inf),
        active=np.arange(m, dtype=np.uint32),
    )
    control = np.zeros(steering.N_CONTROL)
    control[steering.CLAMP] = control[steering.CLAMP_END] = start_mm
    work = RunArrays(
        sheet_of(mesh, rubber, folds=folds), state, _part_for(n, m), buckets, control,
        np.zeros((2, 2, _LINE)), mesh.held,
    )  # fmt: skip
    work.take_all()
    return work


def _part_for(n: int, m: int) -> part_kernel.MovingPart:
    """Return room for the parts of a sheet of n points and m triangles."""
    n_batches = m // kernel.AT_ONCE + 3
    return part_kernel.MovingPart(
        points=_rows(2, n + 3),
        momenta=_rows(n + 3),
        drifts=_rows(n + 3),
        pulls=_rows(2, n + 3),
        areas=_rows(2, n + 3),
        ease=_rows(n + 3),
        cross=_rows(n + 3),
        carried=np.zeros(n + 3),
        rooms_mm=np.zeros(n + 3),
        traveled_mm=np.zeros((2, n // _LINE + 1)),
        number=np.zeros(n + 3, dtype=np.uint32),
        place=np.zeros(n, dtype=np.int32),
        corners=np.zeros((n_batches * kernel.AT_ONCE, 3), dtype=np.uint32),
        metric=np.zeros((n_batches, 4, kernel.AT_ONCE)),
        kinds=np.zeros(m, dtype=np.uint8),
        waits=np.zeros((2, n_batches), dtype=np.int64),
        extent=np.zeros(6, dtype=np.int64),
    )


def _rows(*shape: int) -> Floats:
    """Return rows of four zeros, none of them across two lines of the processor's memory."""
    size = 4 * int(np.prod(shape))
    room = np.zeros(size + _LINE)
    skip = -(room.ctypes.data // 8) % _LINE
    return room[skip : skip + size].reshape(*shape, 4)


def sheet_of(mesh: SheetMesh, rubber: Rubber, *, folds: bool = False) -> kernel.SheetConstants:
    """Return the flat sheet as the compiled loops read it."""
    a, b, c = (mesh.points_mm[mesh.triangles[:, i]] for i in range(3))
    u, v, areas = b - a, c - a, mesh.areas_mm2
    uu, uv, vv = (np.sum(p * q, axis=1) for p, q in ((u, u), (u, v), (v, v)))
    metric = np.column_stack([vv / (4 * areas), -uv / (4 * areas), uu / (4 * areas), 1 / areas])
    return kernel.SheetConstants(
        triangles=np.ascontiguousarray(mesh.triangles, dtype=np.uint32),
        metric=np.ascontiguousarray(metric),
        # A free bubble may well hang over; over a mold only a fold does, and air stays out of it.
        law=np.array([*rubber.shares, rubber.taut, 0.0 if folds else 1.0]),
    )
