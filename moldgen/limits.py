"""How much of what strangers bring is read: sizes, corners and pixels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.quantity import Quantity, Spec


def _most(unit: str, about: str) -> Quantity:
    return Quantity(unit, about, at_least=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits(Spec):
    """How much is read before it is refused with one sentence; a server sets them lower.

    Attributes
    ----------
    drawing_bytes, mesh_bytes, picture_bytes : float
        Largest file of each kind. [bytes]
    points : float
        Most corners of a drawing's outlines.
    triangles : float
        Most triangles of a body.
    pixels : float
        Most pixels of a picture.
    """

    drawing_bytes: Annotated[float, _most("bytes", "largest drawing")] = (
        40_000_000  # larger ones are maps
    )
    mesh_bytes: Annotated[float, _most("bytes", "largest mesh")] = 1_500_000_000
    picture_bytes: Annotated[float, _most("bytes", "largest picture")] = 500_000_000
    points: Annotated[float, _most("", "most corners of outlines")] = 5_000_000
    triangles: Annotated[float, _most("", "most triangles of a body")] = 5_000_000
    pixels: Annotated[float, _most("", "most pixels of a picture")] = 60_000_000


USUAL = Limits()
"""What a person at a computer of their own may bring."""


def spoken_size(n_bytes: float) -> str:
    """Return a size as a person says it: ``1.5 GB``."""
    for unit, size in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if n_bytes >= size:
            return f"{n_bytes / size:.3g} {unit}"
    return f"{n_bytes:g} bytes"
