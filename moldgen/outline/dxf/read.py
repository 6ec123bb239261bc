"""Outlines from a DXF drawing."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from math import isfinite
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from shapely import LinearRing, MultiPolygon, Point, STRtree

from moldgen.dxf_library import dxf_library
from moldgen.errors import FileError, MoldgenError, OutlineError, SpecError
from moldgen.execution import run_with
from moldgen.finding import Finding, Severity
from moldgen.limits import Limits
from moldgen.named_file import told, visible
from moldgen.outline.chains import joined_lines
from moldgen.outline.curves import Points
from moldgen.outline.drawing import (
    Drawing,
    DrawingPart,
    Remarks,
    Scale,
    check_extent,
    checked_bytes,
    finished_drawing,
    load_drawing_bytes,
    name_hint,
    written_length,
)
from moldgen.outline.dxf.entity import Curve, Surveyor
from moldgen.outline.nesting import parts_from_lines
from moldgen.outline.open_lines import is_broken_outline, open_lines_left_out
from moldgen.outline.region import FARTHEST_MM
from moldgen.outline.sizing import AS_DRAWN, UNCHANGED, Bounds, Growth, WantedSize
from moldgen.wording import nearest

UNITS: dict[int, tuple[str, float]] = {
    1: ("inch", 25.4), 2: ("foot", 304.8), 3: ("mile", 1609344.0), 4: ("mm", 1.0),
    5: ("cm", 10.0), 6: ("m", 1000.0), 7: ("km", 1e6), 8: ("microinch", 25.4e-6),
    9: ("mil", 0.0254), 10: ("yard", 914.4), 11: ("angstrom", 1e-7), 12: ("nm", 1e-6),
    13: ("micron", 1e-3), 14: ("dm", 100.0), 15: ("dam", 1e4), 16: ("hm", 1e5),
    17: ("Gm", 1e12), 18: ("AU", 149597870700e3), 19: ("ly", 9460730472580800e3),
    20: ("pc", 3.0856775814913673e19), 21: ("US survey foot", 1200e3 / 3937),
    22: ("US survey inch", 100e3 / 3937), 23: ("US survey yard", 3600e3 / 3937),
    24: ("US survey mile", 5280 * 1200e3 / 3937),
}  # fmt: skip
"""Name and length in mm of each value of ``$INSUNITS`` (public DXF reference, header
section); the survey foot is 1200/3937 m and the yard 0.9144 m (NIST SP 811, Appendix B)."""

_ALIASES = {
    "in": "inch", "inches": "inch", '"': "inch", "ft": "foot", "feet": "foot", "yd": "yard",
    "millimeter": "mm", "millimetre": "mm", "centimeter": "cm", "centimetre": "cm",
    "meter": "m", "metre": "m", "thou": "mil", "um": "micron",
}  # fmt: skip

# What the library has to say about a file is told by the findings.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())

_GRID_MM = 1e-6
"""Points are rounded to this, so that a line drawn twice through blocks is the same line."""


def outline_from_dxf(
    path: str | Path,
    *,
    layers: Sequence[str] | None = None,
    unit: str | None = None,
    size: WantedSize = AS_DRAWN,
    gap_mm: float = 0.1,
    chord_mm: float = 0.01,
    limits: Limits | None = None,
) -> Drawing:
    """Read the outlines of a DXF file, in millimeters and y up.

    Closed lines inside one another count in turn as plate, hole, island.

    Parameters
    ----------
    path : path
        The file, text or binary.
    layers : sequence of str, optional
        Layers to read, even if they are frozen or off; every visible one if left out.
    unit : str, optional
        Unit of the numbers, such as ``mm`` or ``inch``. Needed where the file does not say
        it; goes before what the file says.
    size : WantedSize, optional
        What it is scaled to, about its lower left corner; as drawn if left out.
    gap_mm : float, default 0.1
        Widest gap between ends of lines that is closed. [mm]
    chord_mm : float, default 0.01
        Largest distance between a curve and its chords. [mm]
    limits : Limits, optional
        How large it may be; as outside if left out.

    Returns
    -------
    Drawing
        In the place it has in the drawing. [mm]

    Raises
    ------
    FileError
        If the file cannot be read as DXF.
    OutlineError
        If the unit or a layer is unknown, a line stays open, nothing is enclosed, or the
        size can only be a mistake of unit.
    SpecError
        If ``unit`` is unknown, or ``gap_mm`` or ``chord_mm`` is not a positive number.

    References
    ----------
    .. [1] Public DXF reference: header variable $INSUNITS, entities section.

    Checked against ``tests/published/dxf_insunits.csv``.
    """
    _check_settings(gap_mm, chord_mm)
    with run_with(limits=limits):
        data = load_drawing_bytes(Path(path), kind="DXF", suffix=".dxf")
        return outline_from_dxf_bytes(
            data, name=path, layers=layers, unit=unit, size=size, gap_mm=gap_mm, chord_mm=chord_mm
        )


def outline_from_dxf_bytes(
    drawing: bytes | str,
    *,
    name: str | Path = "drawing.dxf",
    layers: Sequence[str] | None = None,
    unit: str | None = None,
    size: WantedSize = AS_DRAWN,
    gap_mm: float = 0.1,
    chord_mm: float = 0.01,
    limits: Limits | None = None,
) -> Drawing:
    """Read the outlines of a DXF in hand, as `outline_from_dxf` reads those of a file.

    Parameters
    ----------
    drawing : bytes or str
        Content of a DXF file, text or binary.
    name : str, default "drawing.dxf"
        What errors call it.
    layers, unit, size, gap_mm, chord_mm
        As `outline_from_dxf` takes them.
    limits : Limits, optional
        How large it may be; as outside if left out.

    Returns
    -------
    Drawing
        In the place it has in the drawing. [mm]

    Raises
    ------
    FileError
        If it is not DXF, or larger than it may be.
    OutlineError
        As `outline_from_dxf` raises it, or if it has more corners than it may.
    SpecError
        If ``unit`` is unknown, or ``gap_mm`` or ``chord_mm`` is not a positive number.
    """
    _check_settings(gap_mm, chord_mm)
    with run_with(limits=limits):
        return _drawing(
            drawing, Path(told(name)), layers, unit=unit, size=size, gap_mm=gap_mm,
            chord_mm=chord_mm,
        )  # fmt: skip


def _drawing(
    drawing: bytes | str,
    path: Path,
    layers: Sequence[str] | None,
    *,
    unit: str | None,
    size: WantedSize,
    gap_mm: float,
    chord_mm: float,
) -> Drawing:
    document = _document(path, checked_bytes(path, drawing))
    scale, unit_findings = _scale(path, document, unit)
    wanted = _wanted_layers(path, document, layers)
    what = f"The drawing {visible(path.name)}"

    def surveyed(growth: Growth) -> tuple[list[Curve], Remarks]:
        surveyor = Surveyor(document, wanted, chord=chord_mm / (scale.unit_mm * growth.most))
        drawn = _surveyed(path, surveyor)
        if not drawn:
            raise OutlineError(
                f"{what} has no lines {_where(document, layers)}{_left_out(surveyor.remarks)}."
            )
        away_mm = _far_mm(drawn, scale, surveyor.remarks)
        return [_in_mm(curve, scale, growth, away_mm) for curve in drawn], surveyor.remarks

    def at(growth: Growth) -> Drawing:
        curves, remarks = surveyed(growth)
        left, bottom, right, top = _extent(curves)
        final = scale.at_size(growth.across) if size.is_given else scale
        check_extent(what, max(right - left, top - bottom), scale=final)
        rings, names, chain_findings = _closed(curves, gap_mm, what)
        region, parts, tangles = parts_from_lines(rings, names, what=what, same_mm=2 * chord_mm)
        findings = [*unit_findings, *remarks.findings(), *chain_findings, *tangles]
        return finished_drawing(path, parts, region=region, findings=findings, scale=final)

    if not size.is_given:
        return at(UNCHANGED)
    return size.read(_extent(surveyed(UNCHANGED)[0]), at)


def _extent(curves: Sequence[Curve]) -> Bounds:
    points = np.concatenate([curve.points for curve in curves])
    (left, bottom), (right, top) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return left, bottom, right, top


def _check_settings(gap_mm: float, chord_mm: float) -> None:
    for name, value in (("gap_mm", gap_mm), ("chord_mm", chord_mm)):
        if not (isfinite(value) and value > 0):
            raise SpecError(name, "more than 0 mm", f"{value:g} mm")


def _document(path: Path, data: bytes) -> Any:
    binary = b" Binary DXF\r\n\x1a\0" in data[:24]
    if not binary and b"\0" in data[:4096]:
        raise FileError(f"{path} is not DXF but some other binary file; export the drawing as DXF.")
    # A file that breaks off between two entities would otherwise be read in part.
    if not data.rstrip(b"\r\n\t \x1a\0").endswith(b"EOF"):
        raise FileError(
            f"{path} is not a complete DXF file (it does not end with EOF); "
            "export the drawing again."
        )
    try:
        # The library finds out the encoding of files only.
        with TemporaryDirectory() as folder:
            copy = Path(folder) / "drawing.dxf"
            copy.write_bytes(data)
            return dxf_library("ezdxf.filemanagement").readfile(copy)
    # The library lets many kinds through on damaged files, from struct.error to StopIteration.
    except Exception as error:
        raise _damaged(path, error) from error


def _surveyed(path: Path, surveyor: Surveyor) -> list[Curve]:
    """Return what is drawn; a number or entity that the library trips over is damage."""
    try:
        with np.errstate(invalid="raise", over="raise", divide="raise"):
            return list(surveyor.curves()) or (list(surveyor.borders()) if surveyor.fills else [])
    except MoldgenError:
        raise
    except Exception as error:
        raise _damaged(path, error) from error


def _damaged(path: Path, error: Exception) -> FileError:
    return FileError(
        f"{path} is not a complete DXF file ({_first_line(error)}); export the drawing again."
    )


def _first_line(error: Exception) -> str:
    # What stands in the file is told as far as a person needs it, and nothing of our folders.
    words = (str(error) or type(error).__name__).splitlines()[0].rstrip(".")
    return visible(words if len(words) <= 80 else f"{words[:77]}...")


def _scale(path: Path, document: Any, unit: str | None) -> tuple[Scale, list[Finding]]:
    code = int(document.header.get("$INSUNITS", 0))
    declared = UNITS.get(code)
    asked = _unit_named(unit) if unit is not None else None
    if asked is None and declared is None:
        raise OutlineError(
            f"The drawing {path.name} does not say its unit ($INSUNITS is {code}); "
            "give the unit, for example mm or inch."
        )
    name, unit_mm = asked or declared or ("", 0.0)
    basis = "as asked for" if asked else "as the file says"
    note = f"one unit of it was read as 1 {name} ({basis})"
    return Scale(unit_mm=unit_mm, note=note), _unit_conflict(asked, declared)


def _unit_conflict(
    asked: tuple[str, float] | None, declared: tuple[str, float] | None
) -> list[Finding]:
    if asked is None or declared is None or asked[1] == declared[1]:
        return []
    return [
        Finding(
            code="drawing-unit-conflict",
            severity=Severity.CAUTION,
            says=f"the file says its unit is the {declared[0]}, but it was read in {asked[0]} as "
            "asked",
            advice=f"What is 100 {asked[0]} now would otherwise be "
            f"{written_length(100 * declared[1])}; measure one known length.",
        )
    ]


def _unit_named(unit: str) -> tuple[str, float]:
    word = unit.strip()
    by_lower = {name.lower(): (name, size) for name, size in UNITS.values()}
    word = _ALIASES.get(word.lower(), word)
    found = by_lower.get(word.lower())
    if found is None:
        raise SpecError(
            "unit",
            "a unit of length",
            repr(unit),
            nearest(unit, [name for name, _ in by_lower.values()]),
        )
    return found


def _wanted_layers(path: Path, document: Any, layers: Sequence[str] | None) -> set[str] | None:
    """Return the lower-case names to read; DXF does not tell layer names by case."""
    if layers is None:
        return None
    known = {layer.dxf.name.lower(): layer.dxf.name for layer in document.layers}
    known |= {e.dxf.layer.lower(): e.dxf.layer for e in document.entitydb.values()
              if e.is_alive and e.dxf.hasattr("layer")}  # fmt: skip
    for layer in layers:
        if layer.lower() not in known:
            raise OutlineError(
                f"layer {layer!r} is not in the drawing {path.name}. "
                f"{name_hint(layer, known.values())}"
            )
    return {layer.lower() for layer in layers}


def _where(document: Any, layers: Sequence[str] | None) -> str:
    if layers is not None:
        return f"on {'layer' if len(layers) == 1 else 'layers'} {', '.join(layers)}"
    on_paper = any(len(layout) for layout in document.layouts if layout.is_any_paperspace)
    if on_paper:
        return "in its model space; move them there from the paper layout"
    return "that could be an outline; draw a closed line"


def _left_out(remarks: Remarks) -> str:
    """Return what was left out, as the end of a sentence."""
    notes = "; ".join(finding.says for finding in remarks.findings())
    return f" ({notes})" if notes else ""


def _far_mm(curves: Sequence[Curve], scale: Scale, remarks: Remarks) -> Points:
    """Return the lower left corner of a drawing in the coordinates of a map, else 0, 0. [mm]."""
    points = np.concatenate([curve.points for curve in curves]) * scale.unit_mm
    if np.abs(points).max() <= FARTHEST_MM:
        return np.zeros(2)
    low: Points = points.min(axis=0)
    away = f"{written_length(abs(low[0]))} and {written_length(abs(low[1]))}"
    remarks.add("drawing-moved", f"the drawing lies {away} from its origin and is moved there")
    return low


def _in_mm(curve: Curve, scale: Scale, growth: Growth, away_mm: Points) -> Curve:
    across, _, _, up, x, y = growth.steps
    in_mm = (curve.points * scale.unit_mm - away_mm) * (across, up) + (x, y)
    points = np.round(in_mm / _GRID_MM) * _GRID_MM
    return Curve(points, curve.layer, curve.block)


def _closed(
    curves: Sequence[Curve], gap_mm: float, what: str
) -> tuple[list[Points], list[DrawingPart], list[Finding]]:
    """Return closed lines, those that were closed first, and the names of each."""
    whole = [curve for curve in curves if _is_ring(curve.points)]
    loose = [curve for curve in curves if not _is_ring(curve.points)]
    chains = joined_lines([curve.points for curve in loose], gap_mm, what=what)
    rings = [*(curve.points for curve in whole), *chains.rings]
    if chains.open and (not rings or is_broken_outline(chains.open, rings)):
        raise OutlineError(chains.why_open(what))
    names = [*map(_named, whole), *_names_of(chains.rings, loose)]
    return rings, names, [*chains.findings, *open_lines_left_out(chains.open)]


def _is_ring(points: Points) -> bool:
    return len(points) > 3 and np.array_equal(points[0], points[-1])


def _names_of(rings: Sequence[Points], curves: Sequence[Curve]) -> list[DrawingPart]:
    """Return the names of the first line that each closed curve was made from."""
    tree = STRtree([Point(curve.points[:2].mean(axis=0)) for curve in curves])
    nearest = (tree.query_nearest(LinearRing(ring)).min() for ring in rings)
    return [_named(curves[int(at)]) for at in nearest]


def _named(curve: Curve) -> DrawingPart:
    return DrawingPart(id="", label=curve.block, group=curve.layer, region=MultiPolygon())
