"""The forming run within a job: the sheet over the raw mold, and the files that show it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from moldgen.job import FormingLook, JobForming
from moldgen.mold.sheet.setup import Fineness, build_setup, run_setup
from moldgen.physics.membrane.run import FormingRun
from moldgen.pipeline.first_use import telling_first_forming
from moldgen.solid.mesh import Mesh
from moldgen.stock import Sheet, Station

Floats = NDArray[np.float64]


Rows = tuple[tuple[str, str], ...]


_STAGES = {"sag": "the sheet sags", "rise": "the mold rises", "draw": "air is drawn"}


def run_forming(
    mold: Mesh, wanted: JobForming, sheet: Sheet, station: Station, progress: Callable[[str], None]
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
    station : Station
        The forming table.
    progress : Callable[[str], None]
        Told of each stage.

    Raises
    ------
    SpecError
        If the mold does not fit into the clamp's opening.
    """
    if wanted.look is FormingLook.OFF:
        return None
    setup = build_setup(
        mold,
        sheet=sheet,
        station=station,
        fineness=Fineness(wanted.look.value),
        sag_mm=wanted.sag_mm,
    )
    heard: set[str] = set()
    progress = telling_first_forming(progress)

    def tell(stage: str, share: float) -> None:
        if stage in _STAGES and stage not in heard:
            heard.add(stage)
            progress(f"3/6 forming the sheet: {_STAGES[stage]}")

    return run_setup(setup, tell)
