"""The forming run within a job: the sheet over the raw mold, and the files that show it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from moldgen.errors import SpecError
from moldgen.execution import cancel_now, threads_now
from moldgen.mold.checks.deep import depth_text
from moldgen.mold.checks.draw import Draw
from moldgen.mold.choices import FormingLook
from moldgen.pipeline.first_use import telling_first_forming
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.solid.mesh import Mesh
from moldgen.stock import FormingMachine, Sheet

if TYPE_CHECKING:
    from moldgen.physics.membrane.run import FormingRun

HASTE = 0.5
"""Pace of the run that tells what the pace does, over the usual one. [-]."""

FORMED_SHARE = 0.9
"""Share of the stage of vents after which the sheet is formed. [-]."""

_PHASES = {
    "sag": ("the sheet sags", 0.0, 0.1),
    "rise": ("the mold rises", 0.1, 0.5),
    "draw": ("air is drawn", 0.5, FORMED_SHARE),
}
"""What is told of each phase, and from which share of the stage to which it lasts."""


def run_forming(
    mold: Mesh,
    *,
    look: FormingLook,
    sag_mm: float,
    sheet: Sheet,
    machine: FormingMachine,
    progress: Progress,
    pace_share: float = 1.0,
    middle_mm: tuple[float, float] | None = None,
) -> FormingRun | None:
    """Form the sheet over a mold as closely as the job asks, or not at all.

    Parameters
    ----------
    mold : Mesh
        The mold in one mesh. [mm]
    look : FormingLook
        How closely the sheet is followed.
    sag_mm : float
        How deep it hangs when the mold begins to rise. [mm]
    sheet : Sheet
        The sheet.
    machine : FormingMachine
        The forming table.
    progress : callable
        Told of each stage, and of its share while the air is drawn.
    pace_share : float
        Pace over the usual one: less than 1 for a hasty run that tells what the pace does. [-]
    middle_mm : tuple of two floats, optional
        Where the middle of the opening lies over the mold; over its own middle if left out. [mm]

    Raises
    ------
    SpecError
        If the mold does not fit into the clamp's opening.
    """
    if not look.is_asked:
        return None
    from moldgen.mold.sheet.setup import build_setup, run_setup

    setup = build_setup(
        mold, sheet=sheet, machine=machine, fineness=look, sag_mm=sag_mm, pace_share=pace_share,
        middle_mm=middle_mm,
    )  # fmt: skip
    progress = telling_first_forming(progress)

    def tell(stage: str, share: float) -> None:
        if stage in _PHASES:
            name, first, last = _PHASES[stage]
            done = first + (last - first) * min(max(share, 0.0), 1.0)
            progress(Stage(3, 6, f"forming the sheet: {name}", done))

    return run_setup(setup, tell, cancel=cancel_now(), threads=threads_now())


def foresee(
    mold: Mesh,
    draws: Sequence[Draw],
    *,
    look: FormingLook,
    sag_mm: float,
    sheet: Sheet,
    machine: FormingMachine,
    progress: Progress,
) -> FormingRun | None:
    """Form the sheet quickly over a deep mold, where nobody says whether it is followed.

    Parameters
    ----------
    draws : sequence of Draw
        How far the sheet is drawn over this mold: whether it is deep.
    mold, look, sag_mm, sheet, machine, progress
        As for `run_forming`.
    """
    if look is not FormingLook.AUTO or not depth_text(draws):
        return None
    telling_first_forming(progress)(Stage(4, 6, "forming the sheet quickly"))
    try:
        return run_forming(
            mold, look=FormingLook.PREVIEW, sag_mm=sag_mm, sheet=sheet, machine=machine,
            progress=quiet,
        )  # fmt: skip
    except SpecError:
        # It does not fit into the clamp's opening: the check of sizes says so.
        return None
