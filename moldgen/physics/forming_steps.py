"""The steps of a forming run: sag, rise, drawing of air; see `moldgen.physics.membrane`."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from moldgen.physics import membrane_kernel as kernel
from moldgen.physics.membrane import FormingSpec, Progress
from moldgen.physics.rubber import Rubber
from moldgen.physics.sheet_mesh import SheetMesh
from moldgen.physics.touch import Buckets, MoldFaces, buckets_of

Floats = NDArray[np.float64]
Indices = NDArray[np.int32]
_BATCH = 32
"""Steps between two weighings of the points."""
_RECORD_EVERY = 128
_STEPS_PER_SIDE = 60.0
_DEEP_MM = -1e9
_NOTHING = MoldFaces(
    corners_mm=np.array([[[0, 0, _DEEP_MM], [1, 0, _DEEP_MM], [0, 1, _DEEP_MM + 1]]]),
    floor_mm=2 * _DEEP_MM,
)
"""What is under a sheet that is blown free."""


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

    @property
    def points_mm(self) -> Floats:
        """Where the points are now."""
        points: Floats = self.state.points[self.turn]
        return points

    @property
    def edges(self) -> tuple[tuple[int, int], tuple[int, int]]:
        """First point and end of both bands."""
        return (0, self.split), (self.split, len(self.state.touches))

    def advance(self, n_steps: int) -> None:
        """Weigh the points, drop what rests, and take some steps."""
        for band, (first, end) in enumerate(self.edges):
            kernel.weigh_band(self.sheet, self.state, self.triangles[band], first, end, self.turn)
        kernel.march(
            self.sheet, self.state, self.buckets, tuple(self.triangles), tuple(self.members),
            self.split, self.turn, n_steps, self.control, self.sums,
        )  # fmt: skip
        self.turn = (self.turn + n_steps) % 2
        self.steps += n_steps
        self._drop_resting()

    def _drop_resting(self) -> None:
        moves = self.control[kernel.RISE] > 0
        for band, (first, end) in enumerate(self.edges):
            self.triangles[band], self.members[band], swept = kernel.still_moving(
                self.sheet, self.state, self.triangles[band], self.members[band],
                first, end, self.turn, moves, self.control[kernel.CLAMP],
            )  # fmt: skip
            self.control[kernel.SWEPT_REST] += swept

    @property
    def swept_mm3(self) -> float:
        """Volume between clamp plane and sheet now. [mm³]."""
        forces = np.zeros_like(self.state.forces)
        every = np.arange(len(self.sheet.triangles), dtype=np.int32)
        clamp_mm = self.control[kernel.CLAMP]
        return float(
            kernel.add_forces(self.sheet, self.points_mm, forces, every, 0, len(forces), clamp_mm)
        )

    def take_all(self) -> None:
        """Let every triangle and every point that is not at rest take part again."""
        for band, (first, end) in enumerate(self.edges):
            mine = (self.sheet.triangles >= first) & (self.sheet.triangles < end)
            self.triangles[band] = np.flatnonzero(mine.any(axis=1)).astype(np.int32)
            self.members[band] = np.arange(first, end, dtype=np.int32)
        self.state.points[1 - self.turn] = self.state.points[self.turn]
        self.control[kernel.SWEPT_REST] = 0.0
        self._drop_resting()

    def record(self) -> float:
        """Write down where the run is, and return its residual."""
        control = self.control
        net, parts = kernel.out_of_balance(
            self.sheet, self.state, self.turn, control[kernel.PRESSURE]
        )
        residual = net / parts if parts > 0 else 0.0
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


def work_of(mesh: SheetMesh, buckets: Buckets, *, rubber: Rubber, start_mm: float) -> Work:
    """Return a run of a flat sheet at a height, before its first step."""
    n = len(mesh.points_mm)
    flat = np.column_stack([mesh.points_mm, np.full(n, start_mm)])
    state = kernel.State(
        points=np.stack([flat, flat]),
        speeds=np.zeros((n, 3)),
        masses=np.ones(n),
        forces=np.zeros((n, 6)),
        touches=np.where(mesh.held, kernel.HELD, kernel.FREE).astype(np.int8),
        arrival=np.full(n, np.inf),
    )
    control = np.zeros(kernel.N_CONTROL)
    control[kernel.CLAMP] = control[kernel.CLAMP_END] = start_mm
    work = Work(
        sheet_of(mesh, rubber), state, buckets, control, np.zeros((2, kernel.N_SUMS)), n // 2,
        [np.empty(0, np.int32)] * 2, [np.empty(0, np.int32)] * 2,
    )  # fmt: skip
    work.take_all()
    return work


def sheet_of(mesh: SheetMesh, rubber: Rubber) -> kernel.Sheet:
    """Return the flat sheet as the compiled loops read it."""
    a, b, c = (mesh.points_mm[mesh.triangles[:, i]] for i in range(3))
    u, v, areas = b - a, c - a, mesh.areas_mm2
    uu, uv, vv = (np.sum(p * q, axis=1) for p, q in ((u, u), (u, v), (v, v)))
    metric = np.column_stack([vv / (4 * areas), -uv / (4 * areas), uu / (4 * areas), areas])
    return kernel.Sheet(
        triangles=np.ascontiguousarray(mesh.triangles, dtype=np.int32),
        metric=np.ascontiguousarray(metric),
        law=np.array([*rubber.shares, rubber.taut]),
    )


def run_stages(
    mesh: SheetMesh,
    mold: MoldFaces | None,
    *,
    rubber: Rubber,
    spec: FormingSpec,
    progress: Progress | None,
) -> Work:
    """Take a flat sheet through sag, rise and drawing."""
    told = progress or (lambda stage, share: None)
    buckets = buckets_of(mold if mold is not None else _NOTHING)
    clamp_mm = 0.0 if mold is None else mold.clamp_mm
    rise_mm = 0.0 if mold is None else max(0.0, mold.top_mm - clamp_mm)
    if rise_mm > 0:
        rise_mm += max(0.0, spec.sag_mm)
    work = work_of(mesh, buckets, rubber=rubber, start_mm=clamp_mm + rise_mm)
    work.control[kernel.ADVANCE] = _advance_mm(mesh, spec)
    if spec.sag_mm:
        _sag(work, spec, told)
    if rise_mm > 0:
        _rise(work, rise_mm, spec, told)
    _draw(work, mold, spec, told)
    return work


def _advance_mm(mesh: SheetMesh, spec: FormingSpec) -> float:
    """How far the sheet goes forward in a step, on the average. [mm]."""
    side_mm = float(np.sqrt(2 * np.median(mesh.areas_mm2)))
    return side_mm / (_STEPS_PER_SIDE * spec.pace)


def _rise(work: Work, rise_mm: float, spec: FormingSpec, told: Progress) -> None:
    control = work.control
    control[kernel.TIME] = 0.0
    control[kernel.RISE] = rise_mm
    control[kernel.CLAMP_END] = control[kernel.CLAMP] - rise_mm
    control[kernel.DROP] = control[kernel.ADVANCE]
    work.take_all()  # the clamp too
    while control[kernel.DROP] > 0 and work.steps < spec.most_steps:
        work.advance(_BATCH)
        if work.steps % _RECORD_EVERY == 0:
            work.record()
            told("rise", float(control[kernel.TIME]))
    control[kernel.RISE] = 0.0
    work.take_all()


def _draw(work: Work, mold: MoldFaces | None, spec: FormingSpec, told: Progress) -> None:
    control = work.control
    control[kernel.TIME] = 1.0
    control[kernel.LEAST] = min(0.0, control[kernel.PRESSURE])
    control[kernel.GREATEST] = spec.pressure_per_mm
    control[kernel.STARTED] = control[kernel.TARGET] = control[kernel.SWEPT_NOW] = work.swept_mm3
    control[kernel.ENOUGH] = np.inf if spec.volume_mm3 is None else spec.volume_mm3
    control[kernel.FULL] = control[kernel.SWEPT_NOW] + 1e5
    while work.steps < spec.most_steps:
        work.advance(_BATCH)
        if work.steps % _RECORD_EVERY == 0:
            residual = work.record()
            told("draw", float(control[kernel.TIME]) - 1.0)
            if residual <= spec.tolerance and _is_driven_out(work):
                return
    work.record()


def _is_driven_out(work: Work) -> bool:
    """Tell whether nothing drives the sheet any further."""
    control = work.control
    return bool(
        control[kernel.PRESSURE] >= control[kernel.GREATEST]
        or control[kernel.TARGET] >= control[kernel.ENOUGH]
    )
