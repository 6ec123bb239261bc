r"""The forming run: what a hot sheet does when it is drawn over or into a mold.

The sheet is a membrane of rubber (`moldgen.physics.membrane.rubber`) on triangles in each of
which the stretch is constant. It is clamped along its edge. A mold that stands above the clamp
plane first rises through the sheet; then air is drawn out from below. A point of the sheet that
meets the mold or the table stays where it met it, because hot sheet on a cool mold does not
slide.

Heights are the mold's own throughout, so that it is the clamp that comes down. Pressure presses the
sheet toward the mold and is counted over shear modulus and gauge, in 1/mm; see
`moldgen.physics.membrane.rubber.pressure_per_mm`.

Notes
-----
Unit of energy is the modulus times the gauge times 1 mm²; of force, modulus times gauge times 1 mm.
Air is drawn by volume, not by pressure: a bubble of rubber loses its stability at
:math:`p a / (\mu t_0) = 1.879` and would from then on snap ahead, whatever the pump does. Pressure
follows from the volume until it has reached its greatest value, and is held there to the end.

A sheet whose stress relaxes under the full pressure goes the way of a rubber under more and more of
it, because the shape depends on the ratio alone and what has landed stays where it is: a run to
the pressure over the share of the modulus that is left is both, the drawing and the holding.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import SpecError
from moldgen.execution import Cancel
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.run import FormingRun, FormingSpec, Frames, History, Progress
from moldgen.physics.membrane.sheet_mesh import SheetMesh
from moldgen.physics.membrane.touch import MoldFaces
from moldgen.quantity import Quantity

_THREADS = Quantity("", "processors", at_least=1)


def form_sheet(
    mesh: SheetMesh,
    mold: MoldFaces | None,
    *,
    rubber: Rubber | None = None,
    spec: FormingSpec | None = None,
    progress: Progress | None = None,
    cancel: Cancel | None = None,
    threads: int | None = None,
) -> FormingRun:
    """Draw a clamped hot sheet over or into a mold and tell where every point of it ends.

    Parameters
    ----------
    mesh : SheetMesh
        The sheet in its clamp, seen from above, in the mold's x and y. [mm]
    mold : MoldFaces, optional
        What it is drawn onto; without it the sheet is blown free, downward. [mm]
    rubber : Rubber, optional
        The law; neo-Hookean if not given.
    spec : FormingSpec, optional
        Pressure, sag and how exactly.
    progress : callable, optional
        Told stage and share a few dozen times.
    cancel : Cancel, optional
        What can stop the run from outside, within a tenth of a second.
    threads : int, optional
        How many processors to work on, at most two; without it, two where the program may use
        them and the sheet is worth it. The run is the same to the last bit.

    Returns
    -------
    FormingRun
        Also if it did not settle: then ``converged`` is False and ``residual`` tells how far off
        the balance is.

    Raises
    ------
    SpecError
        If no point is held or none is free, the mold stands outside of the clamp, or ``threads``
        is less than 1.
    CancelError
        If the run was cancelled.
    """
    from moldgen.physics.membrane.steps import run_stages

    rubber, spec = rubber or Rubber(), spec or FormingSpec()
    if mesh.held.all() or not mesh.held.any():
        got = "all" if mesh.held.all() else "none"
        raise SpecError("held", "some of the mesh's points, not all", got, "Hold the edge.")
    if threads is not None:
        _THREADS.check("threads", threads)
    done = run_stages(
        mesh, mold, rubber=rubber, spec=spec, progress=progress, cancel=cancel, threads=threads
    )
    records = np.array(done.records)
    return FormingRun(
        mesh=mesh,
        rubber=rubber,
        spec=spec,
        points_mm=done.points_mm.copy(),
        arrival=done.state.arrival,
        touches=done.state.touches,
        clamp_mm=0.0 if mold is None else mold.clamp_mm,
        frames=_frames_of(done.frames, len(mesh.points_mm)),
        history=History(*(np.ascontiguousarray(column) for column in records.T)),
        converged=bool(records[-1, -1] <= spec.tolerance and done.steps < spec.most_steps),
        steps=done.steps,
    )


def _frames_of(taken: list[tuple[float, float, NDArray[np.float32]]], n_points: int) -> Frames:
    return Frames(
        time=np.array([time for time, _, _ in taken]),
        pressure_per_mm=np.array([pressure for _, pressure, _ in taken]),
        points_mm=np.array([points for _, _, points in taken]).reshape(-1, n_points, 3),
    )
