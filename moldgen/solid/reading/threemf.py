"""3MF that people bring: objects, components, places and units, without further libraries."""

from __future__ import annotations

import io
import posixpath
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import FileError
from moldgen.execution import limits_now
from moldgen.solid.mesh import Points, Triangles
from moldgen.solid.reading.counts import refuse_placements, refuse_triangles
from moldgen.solid.reading.threemf_model import CORE, ModelTree, Unpacker
from moldgen.wording import shown

# 3MF Core Specification, section 3.4.
UNITS_MM: Mapping[str, float] = MappingProxyType(
    {
        "micron": 0.001,
        "millimeter": 1.0,
        "centimeter": 10.0,
        "inch": 25.4,
        "foot": 304.8,
        "meter": 1000.0,
    }
)
_PRODUCTION = "{http://schemas.microsoft.com/3dmanufacturing/production/2015/06}"
_LINKS = "{http://schemas.openxmlformats.org/package/2006/relationships}"
_START = "/3dmanufacturing/2013/01/3dmodel"

Part = tuple[str, Points, Triangles]
Transform = NDArray[np.float64]


def parts_from_threemf(path: Path, data: bytes) -> list[Part]:
    """Return name, points in millimeters and triangles of everything the file wants built.

    Objects made of components are opened up; a mirrored placement turns its triangles round,
    so that they still face outward.

    Raises
    ------
    FileError
        If the package or its model is broken, or names something it does not hold.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return list(_Package(path, archive).build())
    except (zipfile.BadZipFile, EOFError) as error:
        raise FileError(f"{path} is not a whole 3MF package. Copy or save it again.") from error
    except ElementTree.ParseError as error:
        raise FileError(f"{path} holds a damaged 3MF model. Save it again.") from error


class _Package:
    """A package whose parts are read as they are referred to."""

    def __init__(self, path: Path, archive: zipfile.ZipFile) -> None:
        self.path, self.unpacker = path, Unpacker(path, archive)
        self.models: dict[str, ModelTree] = {}
        self.n_placed = self.n_triangles = 0

    def build(self) -> Iterator[Part]:
        start = self._start_part()
        for item in self._model(start).root.iterfind(f"{CORE}build/{CORE}item"):
            yield from self._placed(start, item, np.eye(4), deep=0)

    def _start_part(self) -> str:
        for link in self.unpacker.model("_rels/.rels").root.iterfind(f"{_LINKS}Relationship"):
            if link.get("Type", "").endswith(_START):
                return posixpath.normpath(link.get("Target", "").lstrip("/"))
        raise FileError(f"{self.path} is a package without a 3D model. Save it again as 3MF.")

    def _model(self, part: str) -> ModelTree:
        if part not in self.models:
            model = self.unpacker.model(part)
            if model.root.tag != f"{CORE}model" or _unit(model) not in UNITS_MM:
                raise FileError(f"{self.path} holds no 3MF model in a known unit. Save it again.")
            self.models[part] = model
        return self.models[part]

    def _placed(
        self, part: str, reference: Element, outer: Transform, *, deep: int
    ) -> Iterator[Part]:
        """Yield what a build item or a component refers to, at its place."""
        self.n_placed += 1
        refuse_placements(self.path, self.n_placed)
        if deep > limits_now().nesting:
            raise FileError(f"{self.path} holds an object that contains itself. Save it again.")
        part = reference.get(f"{_PRODUCTION}path", f"/{part}").lstrip("/")
        model = self._model(part)
        thing = self._object(model, reference.get("objectid", ""))
        place = _transform(reference.get("transform")) @ outer
        if thing.get("type", "model") in {"support", "other"}:
            return
        mesh = thing.find(f"{CORE}mesh")
        if mesh is not None:
            points, triangles = model.meshes[mesh].arrays()
            self.n_triangles += max(len(triangles), len(points) // 3)
            refuse_triangles(self.path, self.n_triangles)
            name = thing.get("name", "")
            yield _part(name, points, triangles, place, unit_mm=UNITS_MM[_unit(model)])
        for component in thing.iterfind(f"{CORE}components/{CORE}component"):
            yield from self._placed(part, component, place, deep=deep + 1)

    def _object(self, model: ModelTree, number: str) -> Element:
        if number not in model.objects:
            raise FileError(
                f"{self.path} lacks the object {shown(number)} it builds. Save it again."
            )
        return model.objects[number]


def _unit(model: ModelTree) -> str:
    return model.root.get("unit", "millimeter")


def _transform(words: str | None) -> Transform:
    """Row-vector matrix, p' = p M: 3MF Core Specification, section 3.3."""
    matrix = np.eye(4)
    if words is not None:
        matrix[:, :3] = np.array(words.split(), dtype=float).reshape(4, 3)
    return matrix


def _part(
    name: str, points: Points, triangles: Triangles, place: Transform, *, unit_mm: float
) -> Part:
    if np.linalg.det(place[:3, :3]) < 0:
        triangles = triangles[:, ::-1]
    return name, (points @ place[:3, :3] + place[3, :3]) * unit_mm, triangles
