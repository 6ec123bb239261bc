"""What can be asked when a part from elsewhere is checked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.job.command.mold import PlanCommand
from moldgen.job.command.shop import DrawDirection, MeshUnit
from moldgen.job.formats import CHECK_FORMATS, CheckFormats, check_formats
from moldgen.job.spec import CheckPace, LeastThickness, Look
from moldgen.mold.choices import FormingLook
from moldgen.quantity import Meaning


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckCommand(PlanCommand):
    """What the check command can say."""

    file: Annotated[str, Meaning("part to check: an STL, 3MF, OBJ, PLY or GLB file")]
    draw_direction: Annotated[
        DrawDirection, Meaning("draw direction, the way the part comes off: z, -z, x, -x, y or -y")
    ] = DrawDirection.Z
    unit: Annotated[
        MeshUnit | None, Meaning("unit of a file that does not say its own; mm if left out")
    ] = None
    forming: Look = FormingLook.AUTO
    check_pace: CheckPace = False
    least_mm: LeastThickness = None
    formats: CheckFormats = CHECK_FORMATS

    def __post_init__(self) -> None:
        PlanCommand.__post_init__(self)
        check_formats(self.formats, CHECK_FORMATS)
