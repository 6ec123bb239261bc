"""What can be written, and which of it by which kind of command."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from enum import StrEnum
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Meaning
from moldgen.wording import one_of


class Format(StrEnum):
    """What can be written."""

    STL = "stl"
    THREE_MF = "3mf"
    GLB = "glb"
    SVG = "svg"
    DXF = "dxf"
    PDF = "pdf"
    PNG = "png"
    HTML = "html"
    JSON = "json"


CHECK_FORMATS = tuple(kind for kind in Format if kind is not Format.STL)
"""What is written of a part that is checked: all but the part itself, which is there already."""
PRINT_FORMATS = (
    Format.STL,
    Format.THREE_MF,
    Format.GLB,
    Format.PNG,
    Format.HTML,
    Format.JSON,
)
"""What is written of things to print that have no plan."""
REPORT_FORMATS = (Format.HTML, Format.PNG, Format.JSON)
"""What is written where nothing is made."""
CHART_FORMATS = (Format.PDF, Format.HTML, Format.JSON)
"""What is written of a chart for the wall."""

Formats = Annotated[
    tuple[Format, ...], Meaning("files to write: stl, 3mf, glb, svg, dxf, pdf, png, html, json")
]
PrintFormats = Annotated[
    tuple[Format, ...], Meaning("files to write: stl, 3mf, glb, png, html, json")
]
ReportFormats = Annotated[tuple[Format, ...], Meaning("files to write: html, png, json")]
ChartFormats = Annotated[tuple[Format, ...], Meaning("files to write: pdf, html, json")]
CheckFormats = Annotated[
    tuple[Format, ...],
    Meaning("files to write: 3mf (with --forming), glb, svg, dxf, pdf, png, html, json"),
]


def check_formats(formats: Collection[Format], possible: Sequence[Format] = tuple(Format)) -> None:
    """Raise `SpecError` unless there is a format, and each can be written."""
    if not formats:
        hint = f"Write at least {possible[0].value}."
        raise SpecError("formats", "at least one format", "none", hint)
    for kind in Format:
        if kind in formats and kind not in possible:
            hint = "Nothing of that kind is made here."
            raise SpecError("formats", one_of([one.value for one in possible]), kind.value, hint)
