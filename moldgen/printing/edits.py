"""Part: the edits that a broken or half-right part needs before it is copied."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from moldgen.errors import SpecError
from moldgen.printing.choices import Axis
from moldgen.printing.turn import turn_to
from moldgen.quantity import Quantity
from moldgen.solid.mesh import Body, Mesh, Points
from moldgen.solid.polygons import polygons_of
from moldgen.solid.prism import prism
from moldgen.solid.slices import solid_of
from moldgen.solid.sound import mesh_from_solid, sound

LEVEL_MM = 1e-3
"""What lies within this of the lowest point lies on the table. [mm]."""
_FACTOR = Quantity("", "scale", above=0.001, below=1000)
_LENGTH = Quantity("mm", "length", above=0, at_most=5000)


def scale(body: Body, factor: float) -> Body:
    """Return a part larger or smaller in every direction, about the origin.

    Raises
    ------
    SpecError
        If the factor is not between a thousandth and a thousand.
    """
    _FACTOR.check("factor", factor)
    return _with_points(body, body.mesh.points_mm * factor)


def scale_to_length(body: Body, length_mm: float, *, measured_mm: float | None = None) -> Body:
    """Return a part scaled so that a length comes out as it should.

    Parameters
    ----------
    length_mm : float
        What it must be, as measured on the broken part. [mm]
    measured_mm : float, optional
        What the same length is in the file; the longest side of its box if left out. [mm]

    Raises
    ------
    SpecError
        If a length is not more than 0, or the scale is absurd.
    """
    _LENGTH.check("length", length_mm)
    if measured_mm is None:
        measured_mm = float(np.ptp(body.mesh.points_mm, axis=0).max())
    _LENGTH.check("measured", measured_mm)
    return scale(body, length_mm / measured_mm)


def mirror(body: Body, axis: Axis) -> Body:
    """Return a part as in a mirror that stands across an axis through the middle of its box."""
    k = list(Axis).index(axis)
    low, high = body.mesh.bounds_mm
    points = body.mesh.points_mm.copy()
    points[:, k] = low[k] + high[k] - points[:, k]
    return Body(body.name, Mesh(points, np.ascontiguousarray(body.mesh.triangles[:, ::-1])))


def turn(body: Body, *, up: tuple[float, float, float]) -> Body:
    """Return a part laid so that one of its directions points up, standing on z = 0.

    Raises
    ------
    SpecError
        If the direction has no length.
    """
    return set_down(_with_points(body, body.mesh.points_mm @ turn_to(up).T))


def set_down(body: Body) -> Body:
    """Return a part moved straight down, or up, until it stands on z = 0."""
    low = float(body.mesh.points_mm[:, 2].min())
    return body if low == 0.0 else _with_points(body, body.mesh.points_mm - [0.0, 0.0, low])


def cut_flat(body: Body, height_mm: float) -> Body:
    """Return what of a part lies above a height over its lowest point, standing on z = 0.

    Raises
    ------
    SpecError
        If the cut does not go through the part.
    GeometryError
        If the part is not closed.
    """
    low, high = (float(z) for z in body.mesh.bounds_mm[:, 2])
    if not 0 < height_mm < high - low:
        raise SpecError(
            "cut", f"between 0 and {high - low:.1f} mm", f"{height_mm:g} mm",
            "It is the height above the lowest point.",
        )  # fmt: skip
    kept = solid_of(body.mesh, name=body.name).trim_by_plane((0.0, 0.0, 1.0), low + height_mm)
    return set_down(Body(body.name, mesh_from_solid(sound(kept, doing="cutting it flat"))))


def thicken_base(body: Body, by_mm: float) -> Body:
    """Return a part with more plastic under its level underside, standing on z = 0.

    The underside's own outline, with its holes, is carried straight down.

    Raises
    ------
    SpecError
        If nothing of the part is level at its lowest point, or the amount is not more than 0.
    GeometryError
        If the part is not closed.
    """
    _LENGTH.check("thicken", by_mm)
    foot = underside_of(body.mesh)
    if foot.is_empty:
        raise SpecError(
            "thicken", "used on a part with a level underside", "a rounded or tilted one",
            "Cut it flat first.",
        )  # fmt: skip
    low = float(body.mesh.points_mm[:, 2].min())
    more = solid_of(body.mesh, name=body.name) + prism(foot, low - by_mm, low)
    return set_down(Body(body.name, mesh_from_solid(sound(more, doing="thickening the base"))))


def underside_of(mesh: Mesh) -> MultiPolygon:
    """Return what of a solid lies level at its lowest point, seen from above. [mm]."""
    low = float(mesh.points_mm[:, 2].min())
    flat = (mesh.corners_mm[:, :, 2] <= low + LEVEL_MM).all(axis=1)
    pieces = [Polygon(ring) for ring in mesh.corners_mm[flat][:, :, :2]]
    return polygons_of(shapely.union_all(pieces, grid_size=1e-7)) if pieces else MultiPolygon()


def _with_points(body: Body, points: Points) -> Body:
    return replace(body, mesh=Mesh(points, body.mesh.triangles.copy()))
