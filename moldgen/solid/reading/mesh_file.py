"""Meshes that people bring, in millimeters and joined at their points."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

import numpy as np

from moldgen.errors import FileError, SpecError
from moldgen.execution import limits_now, run_with
from moldgen.finding import Finding, Severity
from moldgen.limits import Limits, spoken_size
from moldgen.named_file import bounded_bytes, told
from moldgen.solid.mesh import Body, Mesh, Points, Triangles
from moldgen.solid.reading.counts import no_triangles, refuse_placements, refuse_triangles
from moldgen.solid.reading.stl import corners_from_stl
from moldgen.solid.reading.threemf import parts_from_threemf
from moldgen.wording import one_of

Part = tuple[str, Points, Triangles]

# The inch is exactly 25.4 mm (NIST SP 811, Appendix B).
UNITS_MM: Mapping[str, float] = MappingProxyType(
    {"micron": 0.001, "mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
)
# A mold is neither smaller than a coin nor larger than a big forming table.
# Common practice, no source.
_SMALL_MM, _LARGE_MM = 15.0, 3000.0
_NO_AREA = 1e-12
"""Share of the square of its size up to which a mesh has no area."""
_WITH_UNITS = {".3mf", ".glb"}
_SIGNATURES = {b"PK\x03\x04": ".3mf", b"glTF": ".glb", b"ply\n": ".ply", b"ply\r": ".ply"}
_FOREIGN = {b"\x89PNG": "PNG picture", b"\xff\xd8\xff": "JPEG picture", b"%PDF": "PDF document"}


def load_mesh(
    path: Path | str, *, unit: str | None = None, limits: Limits | None = None
) -> list[Body]:
    """Read a mesh file into bodies in millimeters, Z up, equal points joined.

    Parameters
    ----------
    path : path
        An STL (text or binary), OBJ, 3MF, PLY or GLB file.
    unit : str, optional
        What one unit of an STL, OBJ or PLY is: ``mm`` (taken if left out), ``cm``, ``m``, ``in``,
        ``ft`` or ``micron``. 3MF and GLB say it themselves. See also `check_unit`.
    limits : Limits, optional
        How large it may be; as outside if left out.

    Returns
    -------
    list of Body
        At least one, none without triangles. Whether they are closed is for the checks to say.

    Raises
    ------
    SpecError
        If ``unit`` is not one of those named, or the file states its own.
    FileError
        If the file is missing, empty, of another kind, damaged or too large.
    """
    path = Path(path)
    _check_unit_word(path, unit)
    with run_with(limits=limits):
        return mesh_from_bytes(_content(path), name=told(path), unit=unit)


def mesh_from_bytes(
    data: bytes, *, name: str | Path, unit: str | None = None, limits: Limits | None = None
) -> list[Body]:
    """Read the content of a mesh file into bodies in millimeters, Z up, equal points joined.

    Parameters
    ----------
    data : bytes
        Content of an STL (text or binary), OBJ, 3MF, PLY or GLB file.
    name : str
        What errors call it; its ending tells the kind.
    unit : str, optional
        As `load_mesh` takes it.
    limits : Limits, optional
        How large it may be; as outside if left out.

    Returns
    -------
    list of Body
        At least one, none without triangles. [mm]

    Raises
    ------
    SpecError
        If ``unit`` is not one of those named, or the data states its own.
    FileError
        If the data is empty, of another kind, damaged or too large.
    """
    path = Path(told(name))
    _check_unit_word(path, unit)
    with run_with(limits=limits):
        _check_size(path, len(data))
        return _bodies(path, data, UNITS_MM[unit or "mm"])


def _bodies(path: Path, data: bytes, scale: float) -> list[Body]:
    suffix = _kind(path, data)
    try:
        parts = _READERS[suffix](path, data)
    except FileError:
        raise
    # Whatever a reader stumbles over in a foreign file, the person can do the same about it.
    except Exception as error:
        raise FileError(
            f"{path} cannot be read as {suffix[1:].upper()}: it is damaged or of another kind. "
            "Save it again from the program it comes from."
        ) from error
    if scale != 1.0:
        parts = [(name, points * scale, triangles) for name, points, triangles in parts]
    refuse_placements(path, len(parts))
    refuse_triangles(path, sum(len(triangles) for _, _, triangles in parts))
    bodies = [_body(path, part) for part in parts]
    bodies = [body for body in bodies if len(body.mesh.triangles)]
    if not bodies:
        raise no_triangles(path)
    _refuse_lines(path, bodies)
    return _with_open_joined(bodies)


def _refuse_lines(path: Path, bodies: Sequence[Body]) -> None:
    """Refuse a mesh whose triangles are all lines or points."""
    area_mm2 = sum(float(body.mesh.areas_mm2.sum()) for body in bodies)
    corners = np.concatenate([body.mesh.bounds_mm for body in bodies])
    if area_mm2 <= _NO_AREA * float(np.ptp(corners, axis=0).max()) ** 2:
        raise FileError(
            f"{path} holds only triangles without area. Save it again as a mesh of a solid."
        )


def _with_open_joined(bodies: Sequence[Body]) -> list[Body]:
    """Return bodies, those with open edges as one where they close each other.

    Files tell a solid of several colors as a surface for each.
    """
    opened = [body for body in bodies if len(body.mesh.edges.open)]
    if len(opened) < 2:
        return list(bodies)
    starts = np.cumsum([0, *(len(body.mesh.points_mm) for body in opened)])
    points = np.concatenate([body.mesh.points_mm for body in opened])
    triangles = np.concatenate(
        [body.mesh.triangles + start for body, start in zip(opened, starts, strict=False)]
    )
    joined = _welded(points, triangles)
    if len(joined.edges.open) >= sum(len(body.mesh.edges.open) for body in opened):
        return list(bodies)
    first = opened[0]
    closed = [body for body in bodies if not len(body.mesh.edges.open)]
    return [Body(first.name, joined), *closed]


def check_unit(
    path: Path | str, bodies: Sequence[Body], *, unit: str | None = None
) -> list[Finding]:
    """Ask about the unit when the size of a part makes millimeters doubtful.

    STL, OBJ and PLY carry no unit. A part 2 mm wide was probably drawn in inches or meters,
    one 5 m wide in something smaller than a millimeter.

    Parameters
    ----------
    path : path
        The file the bodies came from; its ending tells whether it carries units.
    bodies : sequence of Body
        What `load_mesh` returned. [mm]
    unit : str, optional
        The unit a person stated; nothing is asked then.

    Returns
    -------
    list of Finding
        Empty, or one caution ``unit-doubtful``.
    """
    path = Path(path)
    if unit is not None or path.suffix.lower() in _WITH_UNITS:
        return []
    corners = np.concatenate([body.mesh.bounds_mm for body in bodies])
    widest_mm = float(np.ptp(corners, axis=0).max())
    if _SMALL_MM <= widest_mm <= _LARGE_MM:
        return []
    small = widest_mm < _SMALL_MM
    others = ("in", "cm", "m") if small else ("micron",)
    guesses = ", ".join(f"{widest_mm * UNITS_MM[word]:.4g} mm in {word}" for word in others)
    return [
        Finding(
            code="unit-doubtful",
            severity=Severity.CAUTION,
            says=f"a part from {path.name}, which carries no unit, is unusually "
            f"{'small' if small else 'large'} if its numbers are millimeters",
            measured=widest_mm,
            limit=_SMALL_MM if small else _LARGE_MM,
            unit="mm",
            basis="common practice, no source",
            advice=f"State the unit of the file: it would be {guesses}.",
        )
    ]


def _check_unit_word(path: Path, unit: str | None) -> None:
    if unit is None:
        return
    if unit not in UNITS_MM:
        raise SpecError("unit", one_of(UNITS_MM), repr(unit))
    if path.suffix.lower() in _WITH_UNITS:
        raise SpecError("unit", f"left out, for {path.name} states its own", repr(unit))


def _content(path: Path) -> bytes:
    name = told(path)
    try:
        data = bounded_bytes(path, limits_now().mesh_bytes)
    except FileNotFoundError as error:
        raise FileError(f"{name} does not exist. Check the name and the folder.") from error
    except IsADirectoryError as error:
        raise FileError(f"{name} is a folder. Name a mesh file inside it.") from error
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", "") or "not a usable file name").lower()
        raise FileError(f"{name} cannot be read: {reason}. Check its permissions.") from error
    _check_size(Path(name), len(data))
    return data


def _check_size(path: Path, n_bytes: int) -> None:
    if n_bytes > limits_now().mesh_bytes:
        most = spoken_size(limits_now().mesh_bytes)
        raise FileError(f"{path} is larger than {most}. Reduce its triangles and try again.")
    if not n_bytes:
        raise FileError(f"{path} is empty. Save it again from the program it comes from.")


def _kind(path: Path, data: bytes) -> str:
    suffix = path.suffix.lower()
    if suffix not in _READERS:
        known = one_of(name[1:].upper() for name in _READERS)
        raise FileError(f"{path} does not end like a mesh file. Give {known}.")
    for start, name in _FOREIGN.items():
        if data.startswith(start):
            raise FileError(f"{path} is a {name}, not a mesh. Save the model itself.")
    for start, ending in _SIGNATURES.items():
        if data.startswith(start) and ending != suffix:
            kind = ending[1:].upper()
            raise FileError(f"{path} holds {kind} data. Rename it to end in {ending}.")
    return suffix


def _body(path: Path, part: Part) -> Body:
    name, points, triangles = part
    if points.ndim != 2 or points.shape[1] != 3:
        raise FileError(f"{path} has corners of fewer than three numbers. Save it again.")
    if len(triangles) and not 0 <= triangles.min() <= triangles.max() < len(points):
        raise FileError(f"{path} names corners that it does not hold. Save it again.")
    if not (np.isfinite(points).all() or np.isfinite(points[triangles]).all()):
        raise FileError(f"{path} has a corner whose place is not a finite number. Save it again.")
    _refuse_far(path, points[triangles] if len(triangles) < len(points) else points)
    return Body(name or path.stem, _welded(points, triangles))


def _refuse_far(path: Path, corners: Points) -> None:
    farthest = float(np.abs(corners[np.isfinite(corners)]).max(initial=0.0))
    if farthest > limits_now().farthest_mm:
        raise FileError(
            f"{path} has a corner {farthest / 1e6:.3g} km from the origin. Check its unit, or "
            "save it again."
        )


def _welded(points: Points, triangles: Triangles) -> Mesh:
    """Join equal points, and near ones if edges stay open; drop what is unused or has no area."""
    if not len(triangles):
        return Mesh(points[:0], triangles)
    # Compiled, so it waits until there is a mesh.
    from moldgen.solid.topology import closely_welded, welded

    mesh = _with_three_corners(
        welded(Mesh(np.ascontiguousarray(points), triangles.astype(np.int32, copy=False)))
    )
    if not len(mesh.edges.open):
        return mesh
    close = _with_three_corners(closely_welded(mesh))
    return close if len(close.edges.open) < len(mesh.edges.open) else mesh


def _with_three_corners(mesh: Mesh) -> Mesh:
    a, b, c = mesh.triangles.T
    whole = (a != b) & (b != c) & (c != a)
    return mesh if whole.all() else Mesh(mesh.points_mm, mesh.triangles[whole])


def _parts_from_stl(path: Path, data: bytes) -> list[Part]:
    corners = corners_from_stl(path, data)
    return [("", corners, np.arange(len(corners), dtype=np.int32).reshape(-1, 3))]


def _parts_from_scene(path: Path, data: bytes) -> list[Part]:
    # Half a second to load, so it waits until a file asks for it.
    from moldgen.solid.reading.scene import parts_from_scene

    return parts_from_scene(path, data, kind=path.suffix.lower()[1:])


_READERS: Mapping[str, Callable[[Path, bytes], list[Part]]] = MappingProxyType(
    {
        ".stl": _parts_from_stl,
        ".3mf": parts_from_threemf,
        ".obj": _parts_from_scene,
        ".ply": _parts_from_scene,
        ".glb": _parts_from_scene,
    }
)
