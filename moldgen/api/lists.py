"""What there is to choose from: shapes and faces."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moldgen.outline.library.shapes import ShapeInfo
    from moldgen.typeface.face import Face


def shapes() -> tuple[ShapeInfo, ...]:
    """Return the outline library: name, title, description and proportions of every shape.

    Returns
    -------
    tuple of ShapeInfo
        In the order of their names.
    """
    from moldgen.outline.library.shapes import list_shapes

    return list_shapes()


def shape_names() -> tuple[str, ...]:
    """Return the names that ``drawing(shape=...)`` takes.

    Returns
    -------
    tuple of str
        In alphabetical order.
    """
    return tuple(shape.name for shape in shapes())


def fonts() -> tuple[Face, ...]:
    """Return the faces that form well, with the letter heights from which they do.

    Returns
    -------
    tuple of Face
        The usual one first; ``sign(font=...)`` takes their names, and those of other fonts.
    """
    from moldgen.typeface.face import load_faces

    return tuple(load_faces())
