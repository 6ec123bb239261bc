"""The outline library: our own drawings for signs, badges and trays, in any size.

Each shape is one plain SVG file that any viewer shows. Three attributes make it fit:

``data-moldgen-stretch-x``, ``data-moldgen-stretch-y``
    Pairs of coordinates, the bands that give way when width and height are asked for in
    other proportions than drawn; whatever lies outside keeps its form, so corners stay round.
``data-moldgen-formula``
    Name of the formula in `moldgen.outline.library.formulas` that redraws the shape to chosen
    proportions; the path in the file is then the shape at its defaults.

A shape with neither is stretched evenly.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from math import isfinite
from pathlib import Path
from typing import Any

import numpy as np
from shapely import MultiPolygon

from moldgen.errors import FileError, OutlineError, SpecError
from moldgen.extensions import SHAPES, extensions, left_out
from moldgen.outline.library.formulas import FORMULAS
from moldgen.outline.region import (
    LARGEST_MM,
    SMALLEST_MM,
    FillRule,
    Ring,
    centerd,
    region_from_rings,
    scaled_to,
)
from moldgen.outline.svg.path import path_traces
from moldgen.quantity import Quantity, quantities
from moldgen.wording import did_you_mean, one_of

_CHORD_MM = 0.01
_SVG = "{http://www.w3.org/2000/svg}"

Bands = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeParameter:
    """One proportion of a shape that a person may choose."""

    name: str
    quantity: Quantity
    default: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeInfo:
    """One shape of the library.

    Attributes
    ----------
    name : str
        What a person types, such as ``wave-plaque``.
    title, description : str
        From the drawing.
    aspect : float
        Height over width as drawn. [-]
    keeps_corners : bool
        Whether its ends and corners keep their form when its proportions change.
    parameters : tuple of ShapeParameter
        Proportions to choose besides width and height.
    """

    name: str
    title: str
    description: str
    aspect: float
    keeps_corners: bool
    parameters: tuple[ShapeParameter, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeDrawing:
    """What a drawing file holds. Coordinates are those of the file, y down."""

    name: str
    title: str
    description: str
    path: str
    stretch_x: Bands
    stretch_y: Bands
    formula: str


def list_shapes() -> tuple[ShapeInfo, ...]:
    """Return every shape of the library, by name."""
    own = [load_shape(name) for name in _names(shape_folder())]
    return tuple(map(_info, sorted((*own, *_added().values()), key=lambda one: one.name)))


def outline_from_shape(
    name: str, /, *, width_mm: float, height_mm: float | None = None, **parameters: float
) -> MultiPolygon:
    """Return a library shape in a size, the middle of its box at the origin.

    Parameters
    ----------
    name : str
        A name from `list_shapes`.
    width_mm, height_mm : float
        Size of the box round the shape; without a height the proportions stay. [mm]
    **parameters : float
        Proportions of the shape, as its `ShapeInfo` lists them. [-]

    Raises
    ------
    SpecError
        If the name or a parameter is unknown, or a number is out of its limits.
    """
    _check_side("width_mm", width_mm)
    if height_mm is not None:
        _check_side("height_mm", height_mm)
    drawing = load_shape(name)
    if not drawing.formula:
        _check_known(drawing, parameters, known=())
        return centerd(_stretched(drawing, width_mm, height_mm))
    formula = FORMULAS[drawing.formula]
    _check_known(drawing, parameters, known=tuple(quantities(formula.proportions)))
    chosen = formula.proportions(**parameters)
    aspect = formula.aspect(chosen) if formula.aspect else _aspect(drawing)
    box = width_mm, height_mm if height_mm is not None else width_mm * aspect
    rings = _rings(formula.path(*box, chosen), chord=_CHORD_MM, name=name)
    return centerd(scaled_to(_region(rings, name), width_mm=box[0], height_mm=box[1]))


def load_shape(name: str) -> ShapeDrawing:
    """Return the drawing of a shape; capitals in its name make no difference.

    Raises
    ------
    SpecError
        If the library has no shape of that name; the sentence holds the nearest names.
    FileError
        If the drawing is damaged.
    """
    folder = shape_folder()
    known = {one.casefold(): one for one in (*_added(), *_names(folder))}
    own = known.get(name.casefold())
    if own is None:
        hint = did_you_mean(name, sorted(known.values()))
        raise SpecError("shape", "a shape of the library", repr(name), hint)
    if own in _added():
        return _added()[own]
    return read_drawing(own, (folder / f"{own}.svg").read_text(encoding="utf-8"))


def read_drawing(name: str, text: str) -> ShapeDrawing:
    """Return what the text of a drawing file holds.

    Raises
    ------
    FileError
        If it is no SVG of the library's kind: one path, a title and a description.
    """
    try:
        root = ET.fromstring(text)
    except ET.ParseError as error:
        raise FileError(f"the library drawing {name}.svg is damaged; install moldgen again.") from (
            error
        )
    paths = root.findall(f"{_SVG}path")
    drawing = ShapeDrawing(
        name=name,
        title=(root.findtext(f"{_SVG}title") or "").strip(),
        description=" ".join((root.findtext(f"{_SVG}desc") or "").split()),
        path=paths[0].get("d", "") if len(paths) == 1 else "",
        stretch_x=_bands(root.get("data-moldgen-stretch-x", "")),
        stretch_y=_bands(root.get("data-moldgen-stretch-y", "")),
        formula=root.get("data-moldgen-formula", ""),
    )
    if not (drawing.title and drawing.description and drawing.path):
        raise FileError(
            f"the library drawing {name}.svg needs a title, a description and one path; "
            "install moldgen again."
        )
    return drawing


def shape_folder() -> Traversable:
    """Return where the drawings are: in the installed package, or beside it in a checkout.

    Raises
    ------
    FileError
        If neither is there.
    """
    package = files("moldgen")
    checkout = Path(str(package)).parent / "shapes"
    for folder in (package / "shapes_library", checkout):
        if folder.is_dir() and _names(folder):
            return folder
    raise FileError("the outline library is missing; install moldgen again.")


@cache
def _added() -> Mapping[str, ShapeDrawing]:
    """Return the shapes that other packages add; the library's own go before them."""
    drawings: dict[str, ShapeDrawing] = {}
    for name, text in extensions(SHAPES).items():
        if name in _names(shape_folder()):
            continue
        try:
            drawings[name] = read_drawing(name, text)
        # The text is somebody else's, and may be anything.
        except Exception as problem:
            left_out(SHAPES, name, problem)
    return drawings


def _names(folder: Traversable) -> list[str]:
    drawings = (item.name for item in folder.iterdir() if item.name.endswith(".svg"))
    return sorted(name.removesuffix(".svg") for name in drawings)


def _info(drawing: ShapeDrawing) -> ShapeInfo:
    return ShapeInfo(
        name=drawing.name,
        title=drawing.title,
        description=drawing.description,
        aspect=_aspect(drawing),
        keeps_corners=bool(drawing.stretch_x or drawing.stretch_y or drawing.formula),
        parameters=_parameters(drawing.formula),
    )


def _parameters(formula: str) -> tuple[ShapeParameter, ...]:
    if not formula:
        return ()
    spec: Any = FORMULAS[formula].proportions
    limits = quantities(spec)
    return tuple(
        ShapeParameter(name=field.name, quantity=limits[field.name], default=float(field.default))
        for field in fields(spec)
        if field.default is not MISSING
    )


def _aspect(drawing: ShapeDrawing) -> float:
    _, (across, up) = _extent(drawing)
    return float(up / across)


def _extent(drawing: ShapeDrawing) -> tuple[Ring, Ring]:
    """Return the lower corner and the size of the box round a drawing, in its own units."""
    # Drawings are about a hundred units wide: this measures them to a hundred-thousandth.
    return _box(_rings(drawing.path, chord=1e-3, name=drawing.name))


def is_own(name: str) -> bool:
    """Return whether a shape comes with moldgen, not with another package."""
    return name not in _added()


def _stretched(drawing: ShapeDrawing, width_mm: float, height_mm: float | None) -> MultiPolygon:
    low, (across, up) = _extent(drawing)
    height_mm = width_mm * up / across if height_mm is None else height_mm
    even = min(width_mm / across, height_mm / up)
    wide = _Widening(drawing.stretch_x, low[0], across, size=width_mm, even=even)
    tall = _Widening(drawing.stretch_y, low[1], up, size=height_mm, even=even)
    chord = _CHORD_MM / max(wide.steepest, tall.steepest)
    fitted = [
        np.column_stack([wide(ring[:, 0]), tall(ring[:, 1])])
        for ring in _rings(drawing.path, chord=chord, name=drawing.name)
    ]
    return scaled_to(_region(fitted, drawing.name), width_mm=width_mm, height_mm=height_mm)


class _Widening:
    """A map of one coordinate onto a size, which stretches only the bands.

    Outside the bands the scale is ``even``; the bands share what is then missing. Without
    bands everything is stretched.
    """

    def __init__(self, bands: Bands, low: float, span: float, *, size: float, even: float) -> None:
        bands = bands or ((low, low + span),)
        given = sum(end - start for start, end in bands)
        inside = (size - even * (span - given)) / given
        edges = [low, *(edge for band in bands for edge in band), low + span]
        scales = [even, *(inside, even) * len(bands)]
        self.steepest = max(even, inside)
        self._from = np.array(edges)
        self._to = np.concatenate([[0.0], np.cumsum(np.diff(edges) * scales)])

    def __call__(self, values: Ring) -> Ring:
        # The box was measured on chords; a curve may reach a hair beyond it.
        beyond = values - np.clip(values, self._from[0], self._from[-1])
        return np.asarray(np.interp(values, self._from, self._to) + beyond * self.steepest)


def _rings(path: str, *, chord: float, name: str) -> list[Ring]:
    traces = path_traces(path, chord=chord, what=f"the library drawing {name}")
    if not all(trace.closed for trace in traces):
        raise OutlineError(f"the library drawing {name} is not closed; install moldgen again.")
    return [np.asarray(trace.points) for trace in traces]


def _region(rings: list[Ring], name: str) -> MultiPolygon:
    upright = [ring * (1.0, -1.0) for ring in rings]
    return region_from_rings(upright, rule=FillRule.EVEN_ODD, what=f"the shape {name}")


def _box(rings: list[Ring]) -> tuple[Ring, Ring]:
    points = np.concatenate(rings)
    return points.min(axis=0), np.ptp(points, axis=0)


def _bands(text: str) -> Bands:
    edges = [float(word) for word in text.split()]
    return tuple(zip(edges[::2], edges[1::2], strict=True))


def _check_side(field: str, side_mm: float) -> None:
    if not (isfinite(side_mm) and SMALLEST_MM <= side_mm <= LARGEST_MM):
        limits = f"at least {SMALLEST_MM:g} mm and at most {LARGEST_MM:g} mm"
        raise SpecError(field, limits, f"{side_mm:g} mm")


def _check_known(
    drawing: ShapeDrawing, proportions: dict[str, float], known: tuple[str, ...]
) -> None:
    for name in proportions:
        if name not in known:
            rule = one_of(known) if known else "left out"
            hint = "" if known else f"The shape {drawing.name} has a width and a height only."
            raise SpecError(name, f"{rule} for the shape {drawing.name}", "it", hint)
