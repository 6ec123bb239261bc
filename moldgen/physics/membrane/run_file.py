"""A forming run as one compressed file."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import asdict, fields
from math import prod
from pathlib import Path
from typing import Any

import numpy as np
from numpy.lib import format as npy
from numpy.typing import NDArray

from moldgen.errors import FileError
from moldgen.execution import limits_now
from moldgen.limits import spoken_size
from moldgen.named_file import bounded_bytes, told
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.run import FormingRun, FormingSpec, Frames, History
from moldgen.physics.membrane.sheet_mesh import SheetMesh
from moldgen.zip_file import zip_bytes

_KIND = "moldgen forming run 1"
_HISTORY = [field.name for field in fields(History)]
_SHAPES: dict[str, tuple[str, str]] = {
    "flat_mm": ("f8", "n2"),
    "triangles": ("i4", "m3"),
    "held": ("b1", "n"),
    "points_mm": ("f8", "n3"),
    "arrival": ("f8", "n"),
    "touches": ("i1", "n"),
    **{name: ("f8", "k") for name in _HISTORY},
    "frame_time": ("f8", "f"),
    "frame_pressure_per_mm": ("f8", "f"),
    "frame_points_mm": ("f4", "fn3"),
}
"""Kind of number and shape of every array; equal letters are equal lengths."""


def write_run(run: FormingRun) -> bytes:
    """Return a run as one compressed file (npz): the same run, the same bytes.

    Any program that reads npz finds the arrays under the names they have in `FormingRun`, the flat
    points as ``flat_mm``, and everything that is one number in ``about``, as JSON.
    """
    about = {
        "kind": _KIND,
        "rubber": asdict(run.rubber),
        "spec": asdict(run.spec),
        "clamp_mm": run.clamp_mm,
        "converged": run.converged,
        "steps": run.steps,
    }
    arrays = {
        "about": np.array(json.dumps(about)),
        "flat_mm": run.mesh.points_mm,
        "triangles": run.mesh.triangles,
        "held": run.mesh.held,
        "points_mm": run.points_mm,
        "arrival": run.arrival,
        "touches": run.touches,
        **{name: getattr(run.history, name) for name in _HISTORY},
        "frame_time": run.frames.time,
        "frame_pressure_per_mm": run.frames.pressure_per_mm,
        "frame_points_mm": run.frames.points_mm,
    }
    return zip_bytes(((f"{name}.npy", _npy(array)) for name, array in arrays.items()), level=4)


def _npy(array: Any) -> bytes:
    raw = io.BytesIO()
    npy.write_array(raw, np.asarray(array, order="C"), allow_pickle=False)
    return raw.getvalue()


def load_run(source: bytes | Path | str) -> FormingRun:
    """Return the run that `write_run` stored.

    Parameters
    ----------
    source : bytes, Path or str
        What is in the file, or where it is.

    Raises
    ------
    FileError
        If it cannot be read, is not such a file, or is larger than may be read.
    """
    named = "The forming run" if isinstance(source, bytes) else told(source)
    packed = source if isinstance(source, bytes) else _content(Path(source), named)
    _refuse_large(named, len(packed), limits_now().mesh_bytes)
    try:
        with zipfile.ZipFile(io.BytesIO(packed)) as archive:
            entries = {name: archive.getinfo(f"{name}.npy") for name in ("about", *_SHAPES)}
            n_bytes = sum(entry.file_size for entry in entries.values())
            _refuse_large(named, n_bytes, limits_now().unpacked_bytes)
            arrays = {name: _array(archive.read(entry)) for name, entry in entries.items()}
        about = json.loads(str(arrays.pop("about")))
        _check(about, arrays)
        return _run_of(about, arrays)
    except _TooLargeError:
        raise
    # Whatever the readers of zip, npy and JSON stumble over, there is one thing to do about it.
    except Exception:
        raise FileError(
            f"{named} is not a whole forming run as moldgen stores it. Form the sheet again."
        ) from None


class _TooLargeError(FileError):
    """A forming run is larger than may be read."""


def _content(path: Path, named: str) -> bytes:
    try:
        return bounded_bytes(path, limits_now().mesh_bytes)
    except OSError as error:
        raise FileError(f"{named} cannot be read: {error.strerror or error}.") from None


def _refuse_large(named: str, n_bytes: int, most: float) -> None:
    if n_bytes > most:
        raise _TooLargeError(
            f"{named} holds more than {spoken_size(most)}, more than any forming run. "
            "Form the sheet again."
        )


def _array(data: bytes) -> NDArray[Any]:
    """Return the array of an npy file that holds just as much as its head says."""
    stream = io.BytesIO(data)
    version = npy.read_magic(stream)
    read_head = npy.read_array_header_1_0 if version == (1, 0) else npy.read_array_header_2_0
    shape, is_fortran, dtype = read_head(stream)
    if is_fortran or dtype.hasobject or prod(shape) * dtype.itemsize != len(data) - stream.tell():
        raise ValueError("head")
    # A copy of its own, aligned and writable, as arrays of a run are.
    return np.frombuffer(data, dtype, offset=stream.tell()).reshape(shape).copy()


def _check(about: dict[str, Any], arrays: dict[str, Any]) -> None:
    """Raise `ValueError` unless the arrays fit each other."""
    lengths: dict[str, int] = {}
    for name, (kind, shape) in _SHAPES.items():
        array = arrays[name]
        if array.dtype != np.dtype(kind) or array.ndim != len(shape):
            raise ValueError(name)
        for letter, length in zip(shape, array.shape, strict=True):
            if lengths.setdefault(letter, int(letter) if letter.isdigit() else length) != length:
                raise ValueError(name)
    triangles = arrays["triangles"]
    if about["kind"] != _KIND or not lengths["m"] or not lengths["k"]:
        raise ValueError("kind")
    if triangles.min() < 0 or triangles.max() >= lengths["n"]:
        raise ValueError("triangles")


def _run_of(about: dict[str, Any], arrays: dict[str, Any]) -> FormingRun:
    return FormingRun(
        mesh=SheetMesh(
            points_mm=arrays["flat_mm"], triangles=arrays["triangles"], held=arrays["held"]
        ),
        rubber=Rubber(**about["rubber"]),
        spec=FormingSpec(**about["spec"]),
        points_mm=arrays["points_mm"],
        arrival=arrays["arrival"],
        touches=arrays["touches"],
        clamp_mm=float(about["clamp_mm"]),
        history=History(*(arrays[name] for name in _HISTORY)),
        frames=Frames(
            time=arrays["frame_time"],
            pressure_per_mm=arrays["frame_pressure_per_mm"],
            points_mm=arrays["frame_points_mm"],
        ),
        converged=bool(about["converged"]),
        steps=int(about["steps"]),
    )
