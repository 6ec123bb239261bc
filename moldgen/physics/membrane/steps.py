"""The stages of a forming run: sag, rise, drawing of air; see `moldgen.physics.membrane.form`."""

from __future__ import annotations

import numpy as np

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.execution import Cancel
from moldgen.physics.membrane import steering
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.run import FormingSpec, Progress
from moldgen.physics.membrane.sheet_mesh import SheetMesh
from moldgen.physics.membrane.touch import MoldFaces, buckets_of
from moldgen.physics.membrane.touch_kernel import heights_under
from moldgen.physics.membrane.work import BATCH, RunArrays, work_of

_RECORD_EVERY = 128
_FRAME_EVERY = 32
_PATIENCE = 4
"""Records without a fall of the residual after which a run is ended."""
_STEPS_PER_SIDE = 60.0
_FINE_SHARE = 0.1
"""Share of the triangles that may be finer than those the pace is measured by. [-]."""
_CLEAR_MM = 1e-6
_SLACK_SIDES = 4.0
_LEAST_HASTE = 0.1
_RISE_PACE = 0.5
"""Pace of the rise against that of the drawing, where far more of the sheet moves unevenly. [-]."""
_CALM, _CALM_STEPS = 1e-2, 256
"""Residual at which the sheet hangs calmly enough to be drawn, and for how long that is awaited."""
_GATHER = 64
"""Steps in which the drawing gathers way: pulled off at once, the sheet would slap on the walls."""
_SAG_ROUNDS = 6
_SAG_SLACK = 1e-3
_DEEP_MM = -1e9
_NOTHING = MoldFaces(
    corners_mm=np.array([[[0, 0, _DEEP_MM], [1, 0, _DEEP_MM], [0, 1, _DEEP_MM + 1]]]),
    floor_mm=2 * _DEEP_MM,
)
"""What is under a sheet that is blown free."""


def run_stages(
    mesh: SheetMesh,
    mold: MoldFaces | None,
    *,
    rubber: Rubber,
    spec: FormingSpec,
    progress: Progress | None,
    cancel: Cancel | None = None,
    threads: int | None = None,
) -> RunArrays:
    """Take a flat sheet through sag, rise and drawing.

    Parameters
    ----------
    mesh : SheetMesh
        The flat sheet.
    mold : MoldFaces | None
        Triangles of the mold; None for a free sheet.
    rubber : Rubber
        Law of the sheet.
    spec : FormingSpec
        Sag, pressure and how finely it is followed.
    progress : Progress | None
        Told of each stage and its share.
    cancel, threads
        As for `moldgen.physics.membrane.form.form_sheet`.
    """
    report = progress or (lambda stage, share: None)
    buckets = buckets_of(mold or _NOTHING)
    room_mm3 = (
        np.inf
        if mold is None
        else _room_mm3(mesh, mold, heights_under(mesh.points_mm, mold.top_mm + 1.0, buckets))
    )
    clamp_mm = 0.0 if mold is None else mold.clamp_mm
    rise_mm = 0.0 if mold is None else max(0.0, mold.top_mm - clamp_mm)
    hangs = spec.sag_mm != 0.0 and (mold is None or rise_mm > 0.0 or spec.sag_mm < 0.0)
    if rise_mm > 0:
        rise_mm += max(0.0, spec.sag_mm)
    work = work_of(
        mesh, buckets, rubber=rubber, start_mm=clamp_mm + rise_mm, folds=mold is not None
    )
    work.cancel, work.threads = cancel or Cancel(), threads
    work.control[steering.ADVANCE] = _advance_mm(mesh, spec)
    if hangs:
        _sag(work, spec, report)
    if rise_mm > 0:
        _rise(work, rise_mm, spec, report)
    _draw(work, room_mm3, spec, report)
    return work


def _room_mm3(mesh: SheetMesh, mold: MoldFaces, heights_mm: Floats) -> float:
    """Return the volume between clamp plane and mold, after seeing that the clamp is clear of it.

    Raises
    ------
    SpecError
        If the mold stands above the clamp plane where the sheet is held.
    """
    over = heights_mm[mesh.held].max() - mold.clamp_mm
    if over > _CLEAR_MM:
        hint = "Use a larger clamp, or move the mold."
        raise SpecError("clamp", "clear of the mold", f"{over:.3g} mm of mold above it", hint)
    areas = np.bincount(mesh.triangles.ravel(), np.repeat(mesh.areas_mm2 / 3, 3))
    return float(np.sum(areas * (mold.clamp_mm - heights_mm)))


def _advance_mm(mesh: SheetMesh, spec: FormingSpec) -> float:
    """How far the sheet goes forward in a step, on the average. [mm]."""
    side_mm = float(np.sqrt(2 * np.quantile(mesh.areas_mm2, _FINE_SHARE)))
    return side_mm / (_STEPS_PER_SIDE * spec.pace)


def _sag(work: RunArrays, spec: FormingSpec, report: Progress) -> None:
    """Let the sheet hang, or blow it up, until its deepest point is as deep as wanted."""
    control, advance_mm = work.control, work.control[steering.ADVANCE]
    goal_mm, sign = abs(spec.sag_mm), np.sign(spec.sag_mm)
    control[steering.TIME] = -1.0
    control[steering.LEAST], control[steering.GREATEST] = -np.inf, np.inf
    control[steering.ENOUGH], control[steering.FULL] = sign * np.inf, np.inf
    control[steering.ADVANCE] = sign * min(advance_mm, goal_mm / _STEPS_PER_SIDE)
    while work.depth_mm < goal_mm and work.steps < spec.most_steps:
        work.advance(BATCH)
        control[steering.TIME] = -1.0 + min(1.0, work.depth_mm / goal_mm)
        report("sag", float(control[steering.TIME]) + 1.0)
        work.record()
    for _ in range(_SAG_ROUNDS):
        if abs(work.depth_mm / goal_mm - 1.0) < _SAG_SLACK and work.residual <= spec.tolerance:
            break
        control[steering.TARGET] *= goal_mm / work.depth_mm
        control[steering.ENOUGH] = control[steering.TARGET]
        _settle(work, spec)
    control[steering.ADVANCE] = advance_mm


def _settle(work: RunArrays, spec: FormingSpec) -> None:
    """Go on until the sheet is in balance."""
    while work.steps < spec.most_steps:
        work.advance(_RECORD_EVERY)
        if work.record() <= spec.tolerance:
            return


def _rise(work: RunArrays, rise_mm: float, spec: FormingSpec, report: Progress) -> None:
    control = work.control
    full_mm = control[steering.ADVANCE] / _RISE_PACE
    side_mm = control[steering.ADVANCE] * _STEPS_PER_SIDE * spec.pace
    start_mm = control[steering.CLAMP]
    control[steering.TIME] = 0.0
    control[steering.RISE] = rise_mm
    control[steering.CLAMP_END] = start_mm - rise_mm
    work.take_all()  # the clamp too
    while control[steering.CLAMP] > control[steering.CLAMP_END] and work.steps < spec.most_steps:
        haste = _haste(start_mm - control[steering.CLAMP], side_mm)
        left_mm = control[steering.CLAMP] - control[steering.CLAMP_END]
        _change_drop(work, min(haste * full_mm, left_mm))
        work.advance(BATCH)
        if work.steps % _RECORD_EVERY == 0:
            work.record()
            report("rise", float(control[steering.TIME]))
    _change_drop(work, 0.0)
    _calm(work, spec)
    control[steering.RISE] = 0.0
    work.take_all()


def _calm(work: RunArrays, spec: FormingSpec) -> None:
    """Let the sheet come near balance over the mold, before air is drawn."""
    end = min(work.steps + _CALM_STEPS, spec.most_steps)
    while work.steps < end and work.record() > _CALM:
        work.advance(BATCH)


def _change_drop(work: RunArrays, drop_mm: float) -> None:
    """Go on to another speed of the clamp: near balance all speeds are in proportion to it."""
    control = work.control
    if control[steering.DROP] > 0.0:
        for moves in (work.state.speeds, work.state.drifts):
            moves *= drop_mm / control[steering.DROP]
        control[steering.KINETIC_LAST] = 0.0
    control[steering.DROP] = drop_mm


def _haste(risen_mm: float, side_mm: float) -> float:
    """Return how fast to rise, against full speed: a slack sheet needs time to draw tight."""
    return min(1.0, max(_LEAST_HASTE, risen_mm / (_SLACK_SIDES * side_mm)))


def _draw(work: RunArrays, room_mm3: float, spec: FormingSpec, report: Progress) -> None:
    control = work.control
    control[steering.TIME] = 1.0
    control[steering.LEAST] = min(0.0, control[steering.PRESSURE])
    control[steering.GREATEST] = spec.pressure_per_mm
    control[steering.STARTED] = control[steering.TARGET] = control[steering.SWEPT_NOW]
    control[steering.ENOUGH] = np.inf if spec.volume_mm3 is None else spec.volume_mm3
    control[steering.FULL] = min(room_mm3, control[steering.ENOUGH])
    work.take_frame()
    driven: list[float] = []
    full_mm, began = control[steering.ADVANCE], work.steps
    while work.steps < spec.most_steps:
        control[steering.ADVANCE] = full_mm * min(1.0, (work.steps - began + BATCH) / _GATHER)
        work.advance(BATCH)
        if work.steps % _FRAME_EVERY == 0:
            work.take_frame()
        if work.steps % _RECORD_EVERY == 0:
            residual = work.record()
            report("draw", float(control[steering.TIME]) - 1.0)
            if _is_driven_out(work):
                driven.append(residual)
                if residual <= spec.tolerance or _stands_still(driven):
                    return
    work.record()


def _stands_still(residuals: list[float]) -> bool:
    """Tell whether the residual has stopped falling: folds of the sheet may tremble for ever."""
    late, before = residuals[-_PATIENCE:], residuals[:-_PATIENCE]
    return len(before) >= _PATIENCE and min(late) > 0.9 * min(before)


def _is_driven_out(work: RunArrays) -> bool:
    """Tell whether nothing drives the sheet any further."""
    control = work.control
    return bool(
        control[steering.PRESSURE] >= control[steering.GREATEST]
        or control[steering.TARGET] >= control[steering.ENOUGH]
    )
