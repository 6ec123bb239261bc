"""The model inside a 3MF package: unpacked and parsed piece by piece, counted on the way."""

from __future__ import annotations

import zipfile
from array import array
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree.ElementTree import Element, TreeBuilder, XMLParser

import numpy as np

from moldgen.errors import FileError
from moldgen.execution import checkpoint, limits_now
from moldgen.limits import spoken_size
from moldgen.solid.mesh import Points, Triangles
from moldgen.solid.reading.counts import refuse_triangles

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
_VERTEX, _TRIANGLE, _MESH = f"{CORE}vertex", f"{CORE}triangle", f"{CORE}mesh"
_CHUNK_BYTES = 1_000_000


@dataclass(slots=True, eq=False)
class MeshNumbers:
    """Vertices and triangles of one mesh, as they were written."""

    points: array[float] = field(default_factory=lambda: array("d"))
    triangles: array[int] = field(default_factory=lambda: array("i"))

    def arrays(self) -> tuple[Points, Triangles]:
        """Return the points, shape (n, 3), and the triangles, shape (m, 3)."""
        points = np.frombuffer(self.points, dtype=np.float64).reshape(-1, 3)
        triangles = np.frombuffer(self.triangles, dtype=np.int32).reshape(-1, 3)
        return points, triangles


@dataclass(slots=True, eq=False)
class ModelTree:
    """A model without its vertices and triangles, and these by the mesh element they stand in."""

    root: Element
    meshes: dict[Element, MeshNumbers]
    objects: dict[str, Element]


class Unpacker:
    """Unpacks parts of one package; all of them together may not be too large."""

    def __init__(self, path: Path, archive: zipfile.ZipFile) -> None:
        self._path, self._archive = path, archive
        self._n_bytes = self._n_parts = 0

    def model(self, part: str) -> ModelTree:
        """Return a part of the package as a tree.

        Raises
        ------
        FileError
            If it is not there, or unpacks to more than may be.
        """
        target = _ModelTarget(self._path)
        parser = XMLParser(target=target)
        self._count_part()
        with self._archive.open(self._info(part)) as stream:
            while chunk := stream.read(_CHUNK_BYTES):
                self._count(len(chunk))
                parser.feed(chunk)
        root = parser.close()
        things = root.iterfind(f"{CORE}resources/{CORE}object")
        objects = {thing.get("id", ""): thing for thing in reversed(list(things))}
        return ModelTree(root, target.meshes, objects)

    def _info(self, part: str) -> zipfile.ZipInfo:
        try:
            info = self._archive.getinfo(part)
        except KeyError:
            raise FileError(f"{self._path} lacks its part {part}. Save it again.") from None
        most = limits_now().unpacked_share * max(info.compress_size, _CHUNK_BYTES / 50)
        if info.file_size > most:
            raise FileError(
                f"{self._path} unpacks to {spoken_size(info.file_size)}, far more than it takes "
                "packed. Save it again from the program it comes from."
            )
        self._refuse_unpacked(info.file_size)
        return info

    def _count_part(self) -> None:
        self._n_parts += 1
        if self._n_parts > limits_now().package_parts:
            raise FileError(f"{self._path} is spread over too many models. Save it as one.")

    def _count(self, n_bytes: int) -> None:
        checkpoint()
        self._n_bytes += n_bytes
        self._refuse_unpacked(self._n_bytes)

    def _refuse_unpacked(self, n_bytes: int) -> None:
        most = limits_now().unpacked_bytes
        if n_bytes > most:
            raise FileError(
                f"{self._path} unpacks to over {spoken_size(most)}. Reduce its triangles."
            )


class _ModelTarget:
    """Takes what the parser meets: numbers into arrays, the rest into a tree."""

    def __init__(self, path: Path) -> None:
        self._path, self._tree = path, TreeBuilder()
        self._limits = limits_now()
        self._n_elements = 0
        self._mesh = MeshNumbers()
        self.meshes: dict[Element, MeshNumbers] = {}

    def start(self, tag: str, words: dict[str, str]) -> None:
        """Take the beginning of an element."""
        if tag == _VERTEX:
            self._mesh.points.extend((float(words["x"]), float(words["y"]), float(words["z"])))
        elif tag == _TRIANGLE:
            self._mesh.triangles.extend((int(words["v1"]), int(words["v2"]), int(words["v3"])))
        else:
            self._count_element()
            element = self._tree.start(tag, words)
            if tag == _MESH:
                self._mesh = self.meshes[element] = MeshNumbers()

    def end(self, tag: str) -> None:
        """Take the end of an element."""
        if tag in (_VERTEX, _TRIANGLE):
            return
        self._tree.end(tag)
        if tag == _MESH:
            # A closed mesh has half as many points as triangles, an open one three times as many.
            n_points = len(self._mesh.points) // 9
            refuse_triangles(self._path, max(len(self._mesh.triangles) // 3, n_points))

    def data(self, words: str) -> None:
        """Take text between elements; a model says everything in attributes."""

    def doctype(self, *_: object) -> None:
        """Refuse what could define entities, which make a small file swell."""
        raise FileError(f"{self._path} has a document type, which no 3MF has. Save it again.")

    def close(self) -> Element:
        """Return the root."""
        return self._tree.close()

    def _count_element(self) -> None:
        self._n_elements += 1
        if self._n_elements > self._limits.visits:
            raise FileError(
                f"{self._path} holds more than {self._limits.visits:,.0f} objects and places. "
                "Save fewer of them."
            )
