"""Fitted: the strip in its jig or press, in the same place as that is printed or used."""

from __future__ import annotations

import numpy as np

from moldgen.bend.jig.held import PressedStrip
from moldgen.bend.strip.path import path_of
from moldgen.bend.strip.shape import StripShape
from moldgen.bend.strip.sheet import sheet_solid
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.sound import mesh_from_solid


def pressed_shape(held: PressedStrip) -> StripShape:
    """Return the strip with the bends that are bent, and the one in the jig pressed.

    It lies with the held leg along x and its bend line where the jig has it, but not turned
    over: `Held.signs` does that.
    """
    asked = held.shape.path.flat.angles_deg
    done = np.array([k + 1 in held.bent for k in range(len(asked))])
    angles = np.where(done, asked, 0.0)
    k = held.number - 1
    angles[k] = np.copysign(held.pressed_deg, asked[k])
    shape = StripShape(
        strip=held.strip,
        path=path_of(held.shape.path.flat, angles),
        chord_mm=held.shape.chord_mm,
    )
    leg = k if held.left else k + 1
    turned = shape.moved(-float(shape.path.headings_rad[leg]), (0.0, 0.0))
    ends = turned.path.ends_mm if held.left else turned.path.starts_mm
    shift = -ends[leg] - held.signs * np.array([held.half_mm, 0.0])
    return turned.moved(0.0, (float(shift[0]), float(shift[1])))


def strip_in_jig(held: PressedStrip, rail_mm: float) -> Body:
    """Return the strip as it is pressed, in the place it has in the jig as that is printed.

    Parameters
    ----------
    held : PressedStrip
        `Jig.block.held` or `Press.held`.
    rail_mm : float
        Thickness of the side rail, on which the edge of the strip then lies. [mm]
    """
    mesh = mesh_from_solid(sheet_solid(pressed_shape(held)))
    x, y, z = mesh.points_mm.T
    across = held.strip.width_mm - y if held.far_edge else y
    points = np.column_stack([x * held.signs[0], z * held.signs[1], rail_mm + across])
    return Body(held.strip.name, Mesh(points, mesh.triangles.copy()))
