"""What can be typed after the adapt command: a mesh, a height map or a drawing made formable."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.job.command.mold import MoldOptions
from moldgen.job.command.shop import MeshUnit
from moldgen.job.spec import MoldSide, Side
from moldgen.quantity import Meaning, Quantity


class AdaptAs(StrEnum):
    """What a file is taken for."""

    AUTO = "auto"
    """A mesh for a shape, a picture for a drawing."""
    RELIEF = "relief"
    """A picture whose brightness is height."""
    OUTLINE = "outline"
    """A picture of a drawing, traced and raised."""


class AdaptDirection(StrEnum):
    """Which way a part comes off a mesh."""

    BEST = "best"
    Z = "z"
    MINUS_Z = "-z"
    X = "x"
    MINUS_X = "-x"
    Y = "y"
    MINUS_Y = "-y"


def _mm(about: str, at_most: float) -> Quantity:
    return Quantity("mm", about, at_least=0, at_most=at_most)


@dataclass(frozen=True, slots=True, kw_only=True)
class AdaptCommand(MoldOptions):
    """What the adapt command can say."""

    file: Annotated[str, Meaning("mesh (STL, 3MF, OBJ, PLY, GLB) or picture (PNG, JPEG, TIFF)")]
    as_: Annotated[
        AdaptAs, Meaning("what a picture is: relief (brightness is height) or outline (a drawing)")
    ] = AdaptAs.AUTO
    draw_direction: Annotated[
        AdaptDirection,
        Meaning(
            "draw direction of a mesh, the way the part comes off: z, -z, x, -x, y, -y, or best"
            " to search"
        ),
    ] = AdaptDirection.Z
    unit: Annotated[
        MeshUnit | None, Meaning("unit of a mesh that does not say its own; mm if left out")
    ] = None
    width_mm: Annotated[
        float | None,
        Quantity(
            "mm", "width it is scaled to; a picture 120, a mesh as it is", above=0, at_most=2000
        ),
    ] = None
    height_mm: Annotated[
        float | None,
        Quantity("mm", "height of a relief (usual: 6) or outline (12)", above=0, at_most=500),
    ] = None
    dark: Annotated[bool, Meaning("whether dark is high in a relief")] = False
    fill: Annotated[bool, Meaning("whether what drawn lines enclose is raised with them")] = False
    side: MoldSide = Side.MALE
    cell_mm: Annotated[
        float | None,
        Quantity(
            "mm", "step at which the shape is read; by its size if left out", above=0, at_most=20
        ),
    ] = None
    deviation_mm: Annotated[
        float, Quantity("mm", "how far triangles may leave the shape", above=0, at_most=2)
    ] = 0.02
    smooth_mm: Annotated[float, _mm("detail finer than this is smoothed away", 50)] = 0.0
    base_mm: Annotated[
        float | None,
        Quantity(
            "mm",
            "plate under it; 4 under a relief or open mesh if left out",
            at_least=0,
            at_most=100,
        ),
    ] = None
    margin_mm: Annotated[float, _mm("plate round it", 500)] = 0.0
    most_added: Annotated[
        float,
        Quantity(
            "", "share that may be added to its volume before it is refused", above=0, at_most=100
        ),
    ] = 0.25

    def refuse(self, when: str, **fields: object) -> None:
        """Raise `SpecError` for the first field that is not as it is if left out."""
        for field, usual in fields.items():
            value = getattr(self, field)
            if value != usual:
                raise SpecError(field, f"left out {when}", str(value), "Leave it out.")
