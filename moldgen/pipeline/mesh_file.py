"""Brought: a mesh file becomes bodies; its unit is asked about where its size is doubtful."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moldgen.errors import FileError
from moldgen.finding import Finding
from moldgen.job.command.shop import DrawDirection, MeshUnit
from moldgen.named_file import told, visible
from moldgen.solid.mesh import Body, is_flat, joined
from moldgen.solid.reading.mesh_file import check_unit, load_mesh
from moldgen.solid.topology import topology_of

UPS = {
    DrawDirection.Z: (0.0, 0.0, 1.0), DrawDirection.MINUS_Z: (0.0, 0.0, -1.0),
    DrawDirection.X: (1.0, 0.0, 0.0), DrawDirection.MINUS_X: (-1.0, 0.0, 0.0),
    DrawDirection.Y: (0.0, 1.0, 0.0),
    DrawDirection.MINUS_Y: (0.0, -1.0, 0.0),
}  # fmt: skip
"""What the words for a direction mean."""


def bodies_from_file(path: Path, unit: MeshUnit | None) -> tuple[list[Body], list[Finding]]:
    """Return the bodies of a mesh file, and what its size makes doubtful.

    Raises
    ------
    FileError
        If the file cannot be read.
    SpecError
        If the unit contradicts the file.
    """
    word = unit.value if unit is not None else None
    bodies = load_mesh(path, unit=word)
    return bodies, check_unit(path, bodies, unit=word)


def solid_from_file(path: Path, unit: MeshUnit | None) -> tuple[Body, list[Finding]]:
    """Return all bodies of a mesh file as one closed body.

    Raises
    ------
    FileError
        If the file cannot be read, or a body in it is open.
    """
    bodies, doubts = bodies_from_file(path, unit)
    refuse_open(path, bodies)
    return Body(path.stem, joined([body.mesh for body in bodies])), doubts


def refuse_open(path: Path, bodies: Sequence[Body]) -> None:
    """Raise `FileError` unless every body is a closed solid."""
    refuse_flat(path, bodies)
    for body in bodies:
        topology = topology_of(body.mesh)
        if not topology.closed:
            raise FileError(
                f"{told(path)}: {visible(body.name)} is not a closed solid, {topology.why_open}"
            )


def refuse_flat(path: Path, bodies: Sequence[Body]) -> None:
    """Raise `FileError` if a body has no thickness, so that there is nothing to print."""
    for body in bodies:
        if is_flat(body.mesh, closed=topology_of(body.mesh).closed):
            own = "" if body.name == path.stem else f": {visible(body.name)}"
            raise FileError(
                f"{told(path)}{own} is flat and encloses nothing. Give it a thickness, then save "
                "it again."
            )
