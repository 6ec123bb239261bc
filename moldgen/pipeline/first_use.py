"""Whether the compiled loops are ready, or the first use will take its time."""

from __future__ import annotations

import atexit
import gc
from dataclasses import replace
from pathlib import Path

from moldgen.pipeline.stage import Progress

FIRST_USE = "first use: compiling once, up to a minute"


# At its end the interpreter searches everything for cycles that nothing needs any more. All that
# the compiler has loaded makes this a quarter of a second, for memory that goes back anyway.
atexit.register(gc.freeze)


def telling_first_use(progress: Progress) -> Progress:
    """Return a progress that says so, at every stage, while the loops are being compiled."""
    if not is_first_use():
        return progress
    return lambda stage: progress(replace(stage, name=f"{stage.name} ({FIRST_USE})"))


def is_first_use() -> bool:
    """Tell whether the compiled loops are not yet kept on this machine.

    One loop stands for all: they are compiled and kept together by the first mold.
    """
    return not any(usual_folder().glob("ball.touch-*.nbi"))


def telling_first_forming(progress: Progress) -> Progress:
    """Return a progress that says so while the loops of the forming run are being compiled."""
    from moldgen.compiling import kept_folder
    from moldgen.physics.membrane import march_kernel

    kept = kept_folder(march_kernel.march)
    if any(kept.glob("march_kernel.march-*.nbi")):
        return progress
    return lambda stage: progress(replace(stage, name=f"{stage.name} ({FIRST_USE})"))


def usual_folder() -> Path:
    """Return where the compiled loops of a mold are kept."""
    from moldgen.compiling import kept_folder
    from moldgen.solid.height.ball import touch

    return kept_folder(touch)
