"""Files of a forming run: the formed part as a solid, and to look at."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from moldgen.arrays import Floats
from moldgen.mold.sheet.formed import FormedSheet
from moldgen.solid.mesh import Body, Mesh


def _thinned_ring(polygon: shapely.Polygon) -> Floats:
    simple = shapely.simplify(polygon, 0.05)
    return np.asarray(simple.exterior.coords)[:-1]


def part_bodies(formed: FormedSheet, trim: MultiPolygon, title: str) -> tuple[Body, ...]:
    """Return the formed and trimmed part as solids, one for each piece that is cut out."""
    from moldgen.solid.prism import prism
    from moldgen.solid.shell import build_shell
    from moldgen.solid.sound import mesh_from_solid, solid_from_mesh, sound

    run = formed.run
    surface = Mesh(np.array(run.points_mm), np.array(run.mesh.triangles))
    thickness = run.thickness_at_points * formed.sheet.gauge_mm
    shell = solid_from_mesh(build_shell(surface, thickness), doing="making the part solid")
    low, high = shell.bounding_box()[2] - 1.0, shell.bounding_box()[5] + 1.0
    bodies = []
    for number, polygon in enumerate(shapely.get_parts(trim), start=1):
        cutter = prism(Polygon(_thinned_ring(polygon)), low, high)
        cut = sound(shell ^ cutter, doing="trimming the part")
        name = title if len(shapely.get_parts(trim)) == 1 else f"{title} {number}"
        bodies.append(Body(f"{name}, formed", mesh_from_solid(cut)))
    return tuple(bodies)


def part_glb(formed: FormedSheet, bodies: Sequence[Body]) -> bytes:
    """Return the formed part for viewing, colored by its thickness."""
    from moldgen.export.mesh.glb import glb_bytes
    from moldgen.export.picture.forming_scales import thickness_scale

    thickness = formed.run.thickness_at_points * formed.sheet.gauge_mm
    scale = thickness_scale(formed.sheet.gauge_mm)
    own = []
    for body in bodies:
        at_points = thickness[nearest_points(formed.run.points_mm, body.mesh.points_mm)]
        own.append(scale.colors_of(at_points[body.mesh.triangles].mean(axis=1)))
    return glb_bytes(bodies, colors=own)


def nearest_points(points_mm: Floats, places_mm: Floats) -> NDArray[np.int64]:
    """Return for each place the number of the point nearest to it, shape (m,)."""
    tree = shapely.STRtree(shapely.points(points_mm[:, :2]))
    near: NDArray[np.int64] = np.zeros(len(places_mm), np.int64)
    # Nearest as seen from above, a few at a time, then by height among those.
    ask = shapely.points(places_mm[:, :2])
    pairs = tree.query_nearest(ask, all_matches=False)
    near[pairs[0]] = pairs[1]
    return near
