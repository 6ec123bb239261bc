"""3MF that people bring: objects, components, places and units, without further libraries."""

from __future__ import annotations

import io
import posixpath
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import FileError
from moldgen.solid.mesh import Points, Triangles

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
_CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
_PRODUCTION = "{http://schemas.microsoft.com/3dmanufacturing/production/2015/06}"
_LINKS = "{http://schemas.openxmlformats.org/package/2006/relationships}"
_START = "/3dmanufacturing/2013/01/3dmodel"
_MOST_BYTES = 1_500_000_000
_DEEPEST = 30

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


@dataclass(slots=True)
class _Package:
    path: Path
    archive: zipfile.ZipFile

    def build(self) -> Iterator[Part]:
        start = self._start_part()
        models = {start: self._model(start)}
        for item in models[start].iterfind(f"{_CORE}build/{_CORE}item"):
            yield from self._placed(models, start, item, np.eye(4), deep=0)

    def _start_part(self) -> str:
        for link in self._xml("_rels/.rels").iterfind(f"{_LINKS}Relationship"):
            if link.get("Type", "").endswith(_START):
                return posixpath.normpath(link.get("Target", "").lstrip("/"))
        raise FileError(f"{self.path} is a package without a 3D model. Save it again as 3MF.")

    def _model(self, part: str) -> Element:
        model = self._xml(part)
        unit = model.get("unit", "millimeter")
        if model.tag != f"{_CORE}model" or unit not in UNITS_MM:
            raise FileError(f"{self.path} holds no 3MF model in a known unit. Save it again.")
        return model

    def _xml(self, part: str) -> Element:
        try:
            info = self.archive.getinfo(part)
        except KeyError:
            raise FileError(f"{self.path} lacks its part {part}. Save it again.") from None
        if info.file_size > _MOST_BYTES:
            raise FileError(f"{self.path} unpacks to over 1.5 GB. Reduce its triangles.")
        return ElementTree.fromstring(self.archive.read(info))

    def _placed(
        self,
        models: dict[str, Element],
        part: str,
        reference: Element,
        outer: Transform,
        *,
        deep: int,
    ) -> Iterator[Part]:
        """Yield what a build item or a component refers to, at its place."""
        if deep > _DEEPEST:
            raise FileError(f"{self.path} holds an object that contains itself. Save it again.")
        part = reference.get(f"{_PRODUCTION}path", f"/{part}").lstrip("/")
        if part not in models:
            models[part] = self._model(part)
        thing = self._object(models[part], reference.get("objectid", ""))
        place = _transform(reference.get("transform")) @ outer
        if thing.get("type", "model") in {"support", "other"}:
            return
        mesh = thing.find(f"{_CORE}mesh")
        if mesh is not None:
            unit_mm = UNITS_MM[models[part].get("unit", "millimeter")]
            yield _part(thing.get("name", ""), mesh, place, unit_mm)
        for component in thing.iterfind(f"{_CORE}components/{_CORE}component"):
            yield from self._placed(models, part, component, place, deep=deep + 1)

    def _object(self, model: Element, number: str) -> Element:
        for thing in model.iterfind(f"{_CORE}resources/{_CORE}object"):
            if thing.get("id") == number:
                return thing
        raise FileError(f"{self.path} lacks the object {number!r} it builds. Save it again.")


def _transform(words: str | None) -> Transform:
    """Row-vector matrix, p' = p M: 3MF Core Specification, section 3.3."""
    matrix = np.eye(4)
    if words is not None:
        matrix[:, :3] = np.array(words.split(), dtype=float).reshape(4, 3)
    return matrix


def _part(name: str, mesh: Element, place: Transform, unit_mm: float) -> Part:
    points = _rows(mesh, "vertices", ("x", "y", "z"))
    triangles = _rows(mesh, "triangles", ("v1", "v2", "v3")).astype(np.int32)
    if np.linalg.det(place[:3, :3]) < 0:
        triangles = triangles[:, ::-1]
    return name, (points @ place[:3, :3] + place[3, :3]) * unit_mm, triangles


def _rows(mesh: Element, group: str, keys: tuple[str, str, str]) -> Points:
    rows = mesh.find(f"{_CORE}{group}")
    first, second, third = keys
    words = [
        (row.attrib[first], row.attrib[second], row.attrib[third])
        for row in (rows if rows is not None else ())
    ]
    return np.array(words, dtype=np.float64).reshape(-1, 3)
