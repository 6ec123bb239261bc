"""What is different where a mold is built from boards and not printed."""

from __future__ import annotations

from dataclasses import replace

from moldgen.finding import Finding
from moldgen.job import Job
from moldgen.job.spec import Paper
from moldgen.mold.choices import VentKind
from moldgen.stock.board import BoardSystem

_OF_PRINT = frozenset(
    {
        "wall-thin", "bridge-wide", "ceiling-thin", "pieces-unforeseen", "surface-unforeseen",
        "edges-round", "mold-softens", "mold-warms-up", "release-hard",
        "release-unknown", "mesh-degenerate", "mesh-flat", "mesh-pieces",
    }
)  # fmt: skip
_OF_PRINT_HEADS = ("print-", "load-")


def in_wood(job: Job) -> Job:
    """Return a job as its mold is built from boards: vents drilled, nothing sunk underneath."""
    underside = replace(job.underside, label=False, insert="none", arrow=False, pry=False)
    return replace(job, vents=replace(job.vents, kind=VentKind.DRILLED), underside=underside)


def is_of_print(finding: Finding) -> bool:
    """Tell whether a finding is about printing alone: layers of plastic, skins, warp, the bed."""
    return finding.code in _OF_PRINT or finding.code.startswith(_OF_PRINT_HEADS)


def board_system(job: Job) -> BoardSystem:
    """Return which boards a shop has: those of the country whose paper it prints on."""
    return BoardSystem.INCH if job.output.paper is Paper.LETTER else BoardSystem.METRIC
