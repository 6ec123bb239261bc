"""Pictures and files of a forming run."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from moldgen.arrays import Floats
from moldgen.export.report.report import Picture
from moldgen.mold.sheet.formed import FormedSheet
from moldgen.physics.membrane.run import FormingRun
from moldgen.solid.mesh import Body, Mesh


def forming_pictures(formed: FormedSheet, trim: MultiPolygon, title: str) -> tuple[Picture, ...]:
    """Return the maps of thickness and arrival."""
    from moldgen.export.picture.class_map import Mark, class_map_png
    from moldgen.export.picture.forming_classes import (
        arrival_classes,
        arrival_values,
        thickness_classes,
    )

    surface = Mesh(np.array(formed.run.points_mm), np.array(formed.run.mesh.triangles))
    x, y, _ = formed.whole.where_mm
    rings = tuple(_thinned_ring(polygon) for polygon in shapely.get_parts(trim))
    thinnest = Mark(x_mm=x, y_mm=y, words=f"thinnest: {formed.whole.least_mm:.2f} mm")
    thickness = class_map_png(
        surface, formed.thickness_mm, thickness_classes(formed.sheet.gauge_mm),
        title=title, marks=(thinnest,), lines_mm=rings, counted=formed.part,
    )  # fmt: skip
    arrival = class_map_png(
        surface, arrival_values(vacuum_at_arrival(formed.run)), arrival_classes(),
        title=title, lines_mm=rings, counted=formed.part,
    )  # fmt: skip
    return (
        Picture(name="thickness", png=thickness,
                caption="How thick the sheet comes out, seen from above within the trim line."),
        Picture(name="arrival", png=arrival,
                caption="When the sheet comes to rest: the darker, the later. Air must get out "
                        "where it is dark; where it is red the sheet bridges."),
    )  # fmt: skip


def _thinned_ring(polygon: shapely.Polygon) -> Floats:
    simple = shapely.simplify(polygon, 0.05)
    return np.asarray(simple.exterior.coords)[:-1]


def vacuum_at_arrival(run: FormingRun) -> Floats:
    """Return the share of the greatest vacuum at which each triangle came to rest.

    -1 while the mold rose, inf where a corner touches nothing, shape (m,).
    """
    arrival = run.arrival[run.mesh.triangles].max(axis=1)
    held = np.isinf(run.arrival) & run.mesh.held
    hung = (np.isinf(run.arrival) & ~held)[run.mesh.triangles].any(axis=1)
    drawn = run.history.time >= 1.0
    pressure = run.history.pressure_per_mm[drawn] / max(run.spec.pressure_per_mm, 1e-12)
    finite = np.where(np.isfinite(arrival), arrival, 0.0)
    share = np.interp(finite, run.history.time[drawn], np.maximum.accumulate(pressure))
    share = np.where(finite <= 1.0, -1.0, np.maximum(share, 1e-6))
    return np.where(hung, np.inf, share)


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
    from moldgen.export.picture.forming_classes import thickness_classes

    thickness = formed.run.thickness_at_points * formed.sheet.gauge_mm
    classes = thickness_classes(formed.sheet.gauge_mm)
    own = []
    for body in bodies:
        middles = body.mesh.corners_mm.mean(axis=1)
        own.append(classes.colors_of(thickness[nearest_points(formed.run.points_mm, middles)]))
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
