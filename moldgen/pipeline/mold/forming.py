"""The forming run within a job: the sheet over the raw mold, and the files that show it."""

from __future__ import annotations

from collections.abc import Callable

from moldgen.cancel import Cancel
from moldgen.job import JobForming
from moldgen.mold.choices import FormingLook
from moldgen.mold.sheet.setup import build_setup, run_setup
from moldgen.physics.membrane.run import FormingRun
from moldgen.pipeline.first_use import telling_first_forming
from moldgen.solid.mesh import Mesh
from moldgen.stock import FormingMachine, Sheet

_STAGES = {"sag": "the sheet sags", "rise": "the mold rises", "draw": "air is drawn"}


def run_forming(
    mold: Mesh,
    wanted: JobForming,
    sheet: Sheet,
    machine: FormingMachine,
    progress: Callable[[str], None],
    *,
    cancel: Cancel | None = None,
    threads: int | None = None,
) -> FormingRun | None:
    """Form the sheet over a mold as closely as the job wants, or not at all.

    Parameters
    ----------
    mold : Mesh
        The mold in one mesh. [mm]
    wanted : JobForming
        How closely the sheet is followed.
    sheet : Sheet
        The sheet.
    machine : FormingMachine
        The forming table.
    progress : Callable[[str], None]
        Told of each stage.
    cancel, threads
        As for `moldgen.physics.membrane.form.form_sheet`.

    Raises
    ------
    SpecError
        If the mold does not fit into the clamp's opening.
    CancelError
        If the run was cancelled.
    """
    if wanted.look is FormingLook.OFF:
        return None
    setup = build_setup(
        mold,
        sheet=sheet,
        machine=machine,
        fineness=wanted.look,
        sag_mm=wanted.sag_mm,
    )
    heard: set[str] = set()
    progress = telling_first_forming(progress)

    def tell(stage: str, share: float) -> None:
        if stage in _STAGES and stage not in heard:
            heard.add(stage)
            progress(f"3/6 forming the sheet: {_STAGES[stage]}")

    return run_setup(setup, tell, cancel=cancel, threads=threads)
