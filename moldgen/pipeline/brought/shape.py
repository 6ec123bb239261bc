"""What somebody brings, read and stood on the table as a field of heights."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import FileError, SpecError
from moldgen.execution import beside
from moldgen.finding import Finding, Severity
from moldgen.job.command.adapt import AdaptCommand, AdaptDirection
from moldgen.job.command.shop import DrawDirection
from moldgen.mold.freeform.freeform import FreeformSpec, margin_for_mm
from moldgen.pipeline.mesh_file import UPS, bodies_from_file
from moldgen.solid.height.direction import best_direction, turned
from moldgen.solid.height.height_sample import field_of_mesh, refuse_too_many
from moldgen.solid.height.height_solid import HeightField
from moldgen.solid.height.relief import relief_of
from moldgen.solid.mesh import Mesh, joined
from moldgen.solid.reading.picture import load_gray, resampled
from moldgen.solid.topology import pieces_of

BASE_MM = 4.0
"""Plate under a relief: room for a vent's land and the channels (derived: 1.6 + 1.2, up). [mm]."""

_CELLS = 480_000
_LEAST_CELL_MM, _MOST_CELL_MM = 0.1, 1.0
_UPRIGHT = 1e-6
"""Share of a surface that is seen from above at least."""
_WIDTH_MM, _RELIEF_MM = 120.0, 6.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """A shape before it is sampled.

    Attributes
    ----------
    size_mm : tuple of three floats
        Width, depth and height. [mm]
    mesh : Mesh or None
        Of a mesh: turned and stood on the table. [mm]
    gray : ndarray or None
        Of a picture: height as a share of the greatest, first row in front.
    volume_mm3 : float or None
        Of a closed mesh. [mm³]
    findings : tuple of Finding
        What was read, turned, scaled or doubtful.
    """

    size_mm: tuple[float, float, float]
    mesh: Mesh | None = None
    gray: NDArray[np.float64] | None = None
    volume_mm3: float | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def base_mm(self) -> float:
        """Plate it needs if nothing is said. [mm]."""
        return 0.0 if self.volume_mm3 is not None else BASE_MM


def shape_of_mesh(path: Path, command: AdaptCommand, *, scale: float) -> Shape:
    """Read a mesh, turn it to its draw direction, scale it and stand it on the table.

    Raises
    ------
    SpecError
        If its size makes the unit doubtful and none was stated, or a word is for pictures.
    FileError
        If it cannot be read or is flat.
    """
    command.refuse("with a mesh, which has its own height", height_mm=None, dark=False, fill=False)
    bodies, doubts = bodies_from_file(path, command.unit)
    if command.width_mm is None:
        _refuse_doubtful(doubts)
    mesh = joined([body.mesh for body in bodies])
    del bodies
    if np.ptp(mesh.bounds_mm, axis=0).min() <= 1e-9 * np.ptp(mesh.bounds_mm, axis=0).max():
        raise FileError(f"{path} is flat, it has no height. Raise its outline instead.")
    # How it hangs together is found out on one processor while it is stood up on the other.
    with beside(lambda: _state_of(mesh)) as found:
        stood, findings = _stood(mesh, command, closed=lambda: found().closed)
        _refuse_upright(path, stood)
        width = float(np.ptp(stood.bounds_mm, axis=0)[0])
        factor = scale * (command.width_mm / width if command.width_mm else 1.0)
        sized = Mesh(stood.points_mm * factor, stood.triangles)
        size, enclosed = np.ptp(sized.bounds_mm, axis=0), sized.volume_mm3
        state = found()
    # A turn and a scale leave the sign as it was brought.
    volume = enclosed if state.closed else None
    return Shape(
        size_mm=(float(size[0]), float(size[1]), float(size[2])),
        mesh=sized,
        volume_mm3=None if volume is None else abs(volume),
        findings=(*findings, *_told_of(path.name, state, volume)),
    )


def shape_of_relief(path: Path, command: AdaptCommand, *, scale: float) -> Shape:
    """Read a picture whose brightness is height.

    Raises
    ------
    SpecError
        If a word is for meshes.
    FileError
        If it is no picture, too small or all of one brightness.
    """
    command.refuse("with a picture", unit=None, draw_direction=AdaptDirection.Z, fill=False)
    gray = load_gray(path)
    low, high = float(gray.min()), float(gray.max())
    if high - low < 2 / 255:
        raise FileError(f"{path} is blank: its brightness is the same all over. Choose another.")
    share = (gray - low) / (high - low)
    width = scale * (command.width_mm or _WIDTH_MM)
    depth = width * gray.shape[0] / gray.shape[1]
    return Shape(
        size_mm=(width, depth, scale * (command.height_mm or _RELIEF_MM)),
        gray=1 - share if command.dark else share,
    )


def _refuse_upright(path: Path, mesh: Mesh) -> None:
    """Refuse a surface of which nothing is seen from above."""
    seen_mm2 = float(np.abs(mesh.area_vectors_mm2[:, 2]).sum())
    if seen_mm2 <= _UPRIGHT * float(mesh.areas_mm2.sum()):
        raise FileError(
            f"{path} is only upright walls, nothing of which is seen from above. Lay it down "
            "(--pull best), or close it with a top."
        )


def cell_for_mm(shape: Shape, command: AdaptCommand) -> float:
    """Return the step at which a shape is read: as asked, else by its size. [mm]."""
    if command.cell_mm is not None:
        return command.cell_mm
    width, depth, _ = shape.size_mm
    cell = sqrt((width + 2 * command.margin_mm) * (depth + 2 * command.margin_mm) / _CELLS)
    return min(max(round(cell, 2), _LEAST_CELL_MM), max(_MOST_CELL_MM, round(cell, 2)))


def field_of_shape(shape: Shape, spec: FreeformSpec, *, cell_mm: float) -> HeightField:
    """Sample a shape, with the room around it that walls and radii need."""
    margin = margin_for_mm(shape.size_mm[2], spec, cell_mm)
    if shape.mesh is not None:
        return field_of_mesh(
            shape.mesh,
            cell_mm=cell_mm,
            margin_mm=margin,
            draft_deg=spec.draft_deg,
            sunk=spec.sunk,
        )
    assert shape.gray is not None
    width, depth, height = shape.size_mm
    bounds = np.array([[-width / 2, -depth / 2], [width / 2, depth / 2]])
    refuse_too_many(bounds, cell_mm=cell_mm, margin_mm=margin)
    nx, ny = max(2, round(width / cell_mm)), max(2, round(depth / cell_mm))
    inner = resampled(shape.gray, width=nx + 1, height=ny + 1) * height
    pad = int(np.ceil(margin / cell_mm))
    origin = -nx * cell_mm / 2 - pad * cell_mm, -ny * cell_mm / 2 - pad * cell_mm
    return HeightField(
        origin_mm=origin, cell_mm=cell_mm, heights_mm=np.pad(inner, pad, constant_values=-np.inf)
    )


def seen_mm3(shape: Shape) -> float | None:
    """Return the volume between the table and what is seen of a mesh from above. [mm³]."""
    if shape.mesh is None:
        return None
    cell = max(0.05, sqrt(shape.size_mm[0] * shape.size_mm[1] / 400_000))
    return float(relief_of(shape.mesh, cell_mm=cell).on_table_mm.sum() * cell**2)


def overhang_mm2(shape: Shape) -> float:
    """Return the area over which a closed mesh does not come down to the table. [mm²]."""
    if shape.mesh is None or shape.volume_mm3 is None:
        return 0.0
    # Of a closed solid only what faces down is seen from below; a scan has little of that.
    down = shape.mesh.area_vectors_mm2[:, 2] * np.sign(shape.mesh.volume_mm3) < 0
    below = Mesh(shape.mesh.points_mm * (1.0, -1.0, -1.0), shape.mesh.triangles[down])
    cell = max(0.1, sqrt(shape.size_mm[0] * shape.size_mm[1] / 200_000))
    relief = relief_of(below, cell_mm=cell, floor_mm=-2 * shape.size_mm[2])
    return float((relief.covered & (relief.heights_mm < -0.05)).sum() * cell**2)


def _of_mold_size(mesh: Mesh) -> Mesh:
    """Return a mesh whose size is to be chosen, as large as a mold: the search looks in mm."""
    return Mesh(mesh.points_mm * (_WIDTH_MM / np.ptp(mesh.bounds_mm, axis=0).max()), mesh.triangles)


def _stood(
    mesh: Mesh, command: AdaptCommand, *, closed: Callable[[], bool]
) -> tuple[Mesh, list[Finding]]:
    if command.draw_direction is not AdaptDirection.BEST:
        return turned(mesh, UPS[DrawDirection(command.draw_direction.value)]), []
    looked_at = _of_mold_size(mesh) if command.width_mm else mesh
    score = best_direction(looked_at, closed=closed())
    axis = ", ".join(f"{value + 0.0:.2f}" for value in np.round(score.direction, 2))
    finding = Finding(
        code="direction-searched",
        severity=Severity.NOTE,
        says=f"the part comes off best along x, y, z = {axis} of its file, and was turned so; "
        "what must be filled is, as a share of it",
        measured=100 * score.filled,
        unit="%",
        basis="derived: all around in about 14° steps, the axes and the largest faces",
        advice="Ask for another draw direction if this face must not touch the table.",
    )
    return turned(mesh, score.direction), [finding]


def _refuse_doubtful(doubts: Sequence[Finding]) -> None:
    for doubt in doubts:
        raise SpecError(
            "unit",
            "stated for a part of this size",
            f"nothing, and {doubt.measured:.4g} mm at its widest if the numbers are mm",
            doubt.advice,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _MeshState:
    """How the triangles of a brought mesh hang together: open edges, wrong ones, pieces."""

    n_open: int
    n_wrong: int
    n_pieces: int

    @property
    def closed(self) -> bool:
        return not (self.n_open or self.n_wrong)


def _state_of(mesh: Mesh) -> _MeshState:
    edges = mesh.edges
    return _MeshState(
        n_open=len(edges.open),
        n_wrong=len(edges.crowded) + len(edges.clashing),
        n_pieces=int(pieces_of(mesh, edges).max()) + 1,
    )


def _told_of(name: str, state: _MeshState, volume_mm3: float | None) -> Iterator[Finding]:
    """Tell what is wrong with a mesh, and why it does not matter from above."""
    base = Finding(
        code="mesh-open",
        severity=Severity.NOTE,
        says="",
        subject=name,
        basis="derived: a height field needs only what is seen from above",
        advice="Nothing to do if the map of changes looks right.",
    )
    if state.n_open:
        yield replace(
            base,
            says="the mesh is not closed, so only its upper side was used, on a plate; open edges",
            measured=float(state.n_open),
        )
    if state.n_wrong:
        yield replace(
            base,
            code="mesh-tangled",
            says="the mesh touches itself or faces both ways; only its upper side was used; edges",
            measured=float(state.n_wrong),
        )
    if volume_mm3 is not None and volume_mm3 < 0:
        yield replace(base, code="mesh-inside-out", says="the mesh is inside out and was turned")
    if state.n_pieces > 1:
        yield replace(
            base,
            code="mesh-pieces",
            says="the mesh has several pieces, which became one mold",
            measured=float(state.n_pieces),
        )
