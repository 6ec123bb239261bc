"""How many triangles and placed bodies of a mesh file are handled."""

from __future__ import annotations

from pathlib import Path

from moldgen.errors import FileError
from moldgen.execution import checkpoint, limits_now


def refuse_triangles(path: Path, n_triangles: int) -> None:
    """Raise `FileError` if a file has more triangles, or points for them, than are handled."""
    checkpoint()
    most = limits_now().triangles
    if n_triangles > most:
        raise FileError(
            f"{path} has {n_triangles:,} triangles, more than the {most:,.0f} that can "
            "be handled. Reduce them and try again."
        )


def refuse_placements(path: Path, n_placed: int) -> None:
    """Raise `FileError` if a file places more bodies than are handled."""
    checkpoint()
    most = limits_now().placements
    if n_placed > most:
        raise FileError(
            f"{path} places more than {most:,.0f} bodies. Export fewer, or join them into one mesh."
        )


def no_triangles(path: Path) -> FileError:
    """Return what is raised of a file without any triangle."""
    return FileError(f"{path} holds no triangles. Save it again as a mesh of a solid.")
