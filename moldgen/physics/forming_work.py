"""A forming run in the making: its arrays, its marching on, its record."""

from __future__ import annotations

from dataclasses import dataclass, field
from threading import Lock, Thread

import numpy as np
from numpy.typing import NDArray

from moldgen.physics import membrane_kernel as kernel
from moldgen.physics.rubber import Rubber
from moldgen.physics.sheet_mesh import SheetMesh
from moldgen.physics.touch import Buckets

Floats = NDArray[np.float64]
Indices = NDArray[np.uint32]
BATCH = 32
"""Steps between two weighings of the points."""
_WORTH_THREADS = 20_000
"""Below this many triangles one band is done before the other has started."""


@dataclass(slots=True)
class Work:
    """A run in the making: the arrays of the compiled loops and what is recorded."""

    sheet: kernel.Sheet
    state: kernel.State
    buckets: Buckets
    control: Floats
    sums: Floats
    split: int
    triangles: list[Indices]
    members: list[Indices]
    turn: int = 0
    steps: int = 0
    records: list[tuple[float, ...]] = field(default_factory=list)
    frames: list[tuple[float, float, NDArray[np.float32]]] = field(default_factory=list)

    @property
    def points_mm(self) -> Floats:
        """Where the points are now."""
        points: Floats = self.state.points[self.turn]
        return points

    @property
    def active(self) -> Indices:
        """Triangles that are not wholly at rest, each once."""
        return np.union1d(*self.triangles)

    @property
    def edges(self) -> tuple[tuple[int, int], tuple[int, int]]:
        """First point and end of both bands."""
        return (0, self.split), (self.split, len(self.state.touches))

    def advance(self, n_steps: int) -> None:
        """Weigh the points, drop what rests, and take some steps."""
        for band, edges in enumerate(self.edges):
            kernel.weigh_band(self.sheet, self.state, self.triangles[band], edges, self.turn)
        many = sum(len(each) for each in self.triangles) > _WORTH_THREADS
        (march_together if many else march_alone)(self, n_steps)
        self.turn = (self.turn + n_steps) % 2
        self.steps += n_steps
        self._drop_resting()

    def _drop_resting(self) -> None:
        moves = self.control[kernel.RISE] > 0
        for band, edges in enumerate(self.edges):
            self.triangles[band], self.members[band], swept = kernel.still_moving(
                self.sheet, self.state, self.triangles[band], self.members[band],
                edges, self.turn, moves, self.control[kernel.CLAMP],
            )  # fmt: skip
            self.control[kernel.SWEPT_REST] += swept

    @property
    def swept_mm3(self) -> float:
        """Volume between clamp plane and sheet now. [mm³]."""
        forces = np.zeros_like(self.state.forces)
        every = np.arange(len(self.sheet.triangles), dtype=np.uint32)
        clamp_mm = self.control[kernel.CLAMP]
        return float(
            kernel.add_forces(self.sheet, self.points_mm, forces, every, (0, len(forces)), clamp_mm)
        )

    @property
    def depth_mm(self) -> float:
        """How far the sheet is from the clamp plane where it is farthest. [mm]."""
        return float(np.abs(self.points_mm[:, 2] - self.control[kernel.CLAMP]).max())

    @property
    def residual(self) -> float:
        """The residual of the last record, 1 before there is one. [-]."""
        return self.records[-1][-1] if self.records else 1.0

    def take_all(self) -> None:
        """Let every triangle and every point that is not at rest take part again."""
        for band, (first, end) in enumerate(self.edges):
            mine = (self.sheet.triangles >= first) & (self.sheet.triangles < end)
            self.triangles[band] = np.flatnonzero(mine.any(axis=1)).astype(np.uint32)
            self.members[band] = np.arange(first, end, dtype=np.uint32)
        self.state.points[1 - self.turn] = self.state.points[self.turn]
        self.control[kernel.SWEPT_REST] = 0.0
        self._drop_resting()

    def take_frame(self) -> None:
        """Keep how the sheet hangs now."""
        control = self.control
        self.frames.append(
            (
                float(control[kernel.TIME]),
                float(control[kernel.PRESSURE]),
                self.points_mm.astype(np.float32),
            )
        )

    def record(self) -> float:
        """Write down where the run is, and return its residual."""
        control = self.control
        residual = kernel.out_of_balance(
            self.sheet, self.state, self.active, self.turn, abs(control[kernel.PRESSURE])
        )
        self.records.append(
            (
                control[kernel.TIME],
                kernel.energy_mm2(self.sheet, self.points_mm),
                control[kernel.PRESSURE],
                control[kernel.SWEPT_NOW],
                residual,
            )
        )
        return residual


def march_alone(work: Work, n_steps: int) -> None:
    """Take some steps, one band after the other."""
    kernel.march(
        work.sheet, work.state, work.buckets,
        (work.triangles[0], work.triangles[1]), (work.members[0], work.members[1]),
        work.split, work.turn, n_steps, work.control, work.sums,
    )  # fmt: skip


def march_together(work: Work, n_steps: int) -> None:
    """Take some steps, the two bands side by side; the result is the same."""
    begin, ready = Lock(), Lock()
    begin.acquire()
    ready.acquire()
    turn = work.turn

    def step(band: int) -> None:
        kernel.step_band(
            work.sheet, work.state, work.buckets, work.triangles[band], work.members[band],
            work.edges[band], turn, work.control, work.sums[band],
        )  # fmt: skip

    def other_band() -> None:
        for _ in range(n_steps):
            begin.acquire()
            try:
                step(1)
            finally:
                ready.release()

    other = Thread(target=other_band, daemon=True)
    other.start()
    for _ in range(n_steps):
        begin.release()
        step(0)
        ready.acquire()
        turn = 1 - turn
        kernel.steer(work.control, work.sums)
    other.join()


def work_of(
    mesh: SheetMesh, buckets: Buckets, *, rubber: Rubber, start_mm: float, folds: bool = False
) -> Work:
    """Return a run of a flat sheet at a height, before its first step."""
    n = len(mesh.points_mm)
    flat = np.column_stack([mesh.points_mm, np.full(n, start_mm)])
    state = kernel.State(
        points=np.stack([flat, flat]),
        speeds=np.zeros((n, 3)),
        drifts=np.zeros((n, 3)),
        masses=np.ones(n),
        forces=np.zeros((n, 6)),
        touches=np.where(mesh.held, kernel.HELD, kernel.FREE).astype(np.int8),
        arrival=np.full(n, np.inf),
    )
    control = np.zeros(kernel.N_CONTROL)
    control[kernel.CLAMP] = control[kernel.CLAMP_END] = start_mm
    work = Work(
        sheet_of(mesh, rubber, folds=folds), state, buckets, control,
        np.zeros((2, kernel.N_SUMS)), n // 2,
        [np.empty(0, np.uint32)] * 2, [np.empty(0, np.uint32)] * 2,
    )  # fmt: skip
    work.take_all()
    return work


def sheet_of(mesh: SheetMesh, rubber: Rubber, *, folds: bool = False) -> kernel.Sheet:
    """Return the flat sheet as the compiled loops read it."""
    a, b, c = (mesh.points_mm[mesh.triangles[:, i]] for i in range(3))
    u, v, areas = b - a, c - a, mesh.areas_mm2
    uu, uv, vv = (np.sum(p * q, axis=1) for p, q in ((u, u), (u, v), (v, v)))
    metric = np.column_stack([vv / (4 * areas), -uv / (4 * areas), uu / (4 * areas), 1 / areas])
    return kernel.Sheet(
        triangles=np.ascontiguousarray(mesh.triangles, dtype=np.uint32),
        metric=np.ascontiguousarray(metric),
        # A free bubble may well hang over; over a mold only a fold does, and air stays out of it.
        law=np.array([*rubber.shares, rubber.taut, 0.0 if folds else 1.0]),
    )
