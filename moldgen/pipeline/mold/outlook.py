"""What is soon seen of walls: a small part of what the whole mold costs, and never too much."""

from __future__ import annotations

from collections.abc import Sequence

from moldgen.finding import Finding
from moldgen.mold.checks import Case
from moldgen.mold.checks.size import check_size
from moldgen.mold.checks.spacing import check_spacing, measure_room
from moldgen.mold.checks.stroke import check_stroke
from moldgen.mold.checks.tactile import check_tactile
from moldgen.pipeline.mold.wood import is_of_print
from moldgen.pipeline.setting import Setting
from moldgen.printing.warp import check_warp, measure_bed_faces


def foreseen_findings(
    case: Case, wall_findings: Sequence[Finding], setting: Setting
) -> tuple[Finding, ...]:
    """Return what is seen of walls by their outlines, their size and what lies on the bed.

    Each is among the findings of the whole mold as it is here, or stands there for others of
    its rule.

    Parameters
    ----------
    case : Case
        The bare walls.
    wall_findings : sequence of Finding
        What was found until they stood.
    setting : Setting
        What the mold is made with.
    """
    found = (
        *wall_findings,
        *check_size(case),
        *check_spacing(case, measure_room(case)),
        *check_stroke(case),
        *check_tactile(case),
        *(
            one
            for body in case.bodies
            for one in check_warp(body.name, measure_bed_faces(body.mesh), setting.filament)
        ),
    )
    return tuple(one for one in found if setting.is_printed or not is_of_print(one))
