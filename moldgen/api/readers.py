"""What is in hand rather than on the disk: drawings, pictures and meshes as bytes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from moldgen.limits import Limits

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing
    from moldgen.solid.mesh import Body


def outline_from_svg(
    drawing: bytes | str,
    *,
    name: str = "drawing.svg",
    part: str | None = None,
    strokes: Literal["auto", "ignore", "outline"] = "auto",
    width_mm: float | None = None,
    height_mm: float | None = None,
    limits: Limits | None = None,
) -> Drawing:
    """Return the outlines of an SVG in hand, in millimeters and y up.

    Parameters
    ----------
    drawing : bytes or str
        Content of an SVG file.
    name : str
        What errors call it.
    part : str, optional
        Id, label or number of one part; everything if left out.
    strokes : {"auto", "ignore", "outline"}
        Whether painted lines count with their width; by themselves, where nothing is filled and
        they are drawn broad.
    width_mm, height_mm : float, optional
        What it is scaled to, about its lower left corner; curves are as fine as that size needs.
        With one of the two, the proportions stay. [mm]
    limits : Limits, optional
        How many bytes and corners are read; as outside if left out.

    Returns
    -------
    Drawing
        Its ``region`` is a shapely MultiPolygon. [mm]

    Raises
    ------
    FileError
        If it is not safe, plain SVG, or too large.
    OutlineError
        If it encloses nothing, has text in it, or too many corners.
    """
    from moldgen.file_value import read_choice
    from moldgen.outline.choices import StrokeUse
    from moldgen.outline.sizing import WantedSize
    from moldgen.outline.svg.read import outline_from_svg_bytes

    use = StrokeUse(read_choice("strokes", strokes, StrokeUse))
    size = WantedSize(width_mm=width_mm, height_mm=height_mm)
    return outline_from_svg_bytes(
        drawing, name=name, part=part, strokes=use, size=size, limits=limits
    )


def outline_from_dxf(
    drawing: bytes | str,
    *,
    name: str = "drawing.dxf",
    layers: Sequence[str] | None = None,
    unit: str | None = None,
    width_mm: float | None = None,
    height_mm: float | None = None,
    limits: Limits | None = None,
) -> Drawing:
    """Return the outlines of a DXF in hand, in millimeters and y up.

    Parameters
    ----------
    drawing : bytes or str
        Content of a DXF file.
    name : str
        What errors call it.
    layers : sequence of str, optional
        Layers to read; every visible one if left out.
    unit : str, optional
        Unit of the numbers, needed where the drawing does not say it.
    width_mm, height_mm : float, optional
        What it is scaled to, about its lower left corner; curves are as fine as that size needs.
        With one of the two, the proportions stay. [mm]
    limits : Limits, optional
        How many bytes and corners are read; as outside if left out.

    Returns
    -------
    Drawing
        Its ``region`` is a shapely MultiPolygon. [mm]

    Raises
    ------
    FileError
        If it is not DXF, or too large.
    OutlineError
        If a unit is missing, a line stays open, or there are too many corners.
    """
    from moldgen.outline.dxf.read import outline_from_dxf_bytes
    from moldgen.outline.sizing import WantedSize

    size = WantedSize(width_mm=width_mm, height_mm=height_mm)
    return outline_from_dxf_bytes(
        drawing, name=name, layers=layers, unit=unit, size=size, limits=limits
    )


def outline_from_picture(
    picture: bytes,
    *,
    width_mm: float = 120.0,
    fill: bool = False,
    name: str = "picture.png",
    limits: Limits | None = None,
) -> Drawing:
    """Return the traced outlines of a picture of a drawing in hand.

    Parameters
    ----------
    picture : bytes
        Content of a PNG, JPEG or TIFF file.
    width_mm : float
        Width it is scaled to. [mm]
    fill : bool
        Whether what drawn lines enclose counts with them.
    name : str
        What errors call it.
    limits : Limits, optional
        How many bytes and pixels are read; as outside if left out.

    Returns
    -------
    Drawing
        Its ``region`` is a shapely MultiPolygon. [mm]

    Raises
    ------
    FileError
        If it is no picture, damaged, too small or too large.
    OutlineError
        If nothing is drawn on it.
    """
    from moldgen.outline.trace import TraceSpec, drawing_of_traced, outline_from_gray
    from moldgen.solid.reading.picture import gray_from_bytes

    gray = gray_from_bytes(picture, name=name, limits=limits)
    traced = outline_from_gray(gray, TraceSpec(fill=fill))
    return drawing_of_traced(traced.region, width_mm=width_mm)


def mesh_from_bytes(
    data: bytes, *, name: str, unit: str | None = None, limits: Limits | None = None
) -> tuple[Body, ...]:
    """Return the bodies of a mesh in hand, in millimeters, equal points joined.

    Parameters
    ----------
    data : bytes
        Content of an STL, 3MF, OBJ, PLY or GLB file.
    name : str
        What errors call it; its ending tells the kind.
    unit : str, optional
        Unit of a file that does not say its own; mm if left out.
    limits : Limits, optional
        How many bytes and triangles are read; as outside if left out.

    Returns
    -------
    tuple of Body
        At least one. [mm]

    Raises
    ------
    FileError
        If it is of another kind, damaged or too large.
    SpecError
        If the unit is unknown, or the data states its own.
    """
    from moldgen.solid.reading.mesh_file import mesh_from_bytes as bodies_of

    return tuple(bodies_of(data, name=name, unit=unit, limits=limits))
