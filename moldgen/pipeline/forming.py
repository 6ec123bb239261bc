"""The forming run within a job: the sheet over the raw mold, and the files that show it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.export.report import Picture, Table
from moldgen.finding import amount
from moldgen.job import FormingLook, JobForming
from moldgen.mold.formed import Formed
from moldgen.mold.formed_findings import WEB_SHARE
from moldgen.mold.forming import Fineness, build_setup, run_setup
from moldgen.physics.membrane import FormingRun
from moldgen.pipeline.first_use import telling_first_forming
from moldgen.solid.mesh import Body, Mesh
from moldgen.stock import Gauge, Sheet, Station
from moldgen.table.sheet_choice import choices

Floats = NDArray[np.float64]
Rows = tuple[tuple[str, str], ...]

_STAGES = {"sag": "the sheet sags", "rise": "the mold rises", "draw": "air is drawn"}


def run_forming(
    mold: Mesh, wanted: JobForming, sheet: Sheet, station: Station, progress: Callable[[str], None]
) -> FormingRun | None:
    """Form the sheet over a mold as closely as the job wants, or not at all.

    Raises
    ------
    SpecError
        If the mold does not fit into the clamp's opening.
    """
    if wanted.look is FormingLook.OFF:
        return None
    setup = build_setup(
        mold,
        sheet=sheet,
        station=station,
        fineness=Fineness(wanted.look.value),
        sag_mm=wanted.sag_mm,
    )
    told: set[str] = set()
    progress = telling_first_forming(progress)

    def tell(stage: str, share: float) -> None:
        if stage in _STAGES and stage not in told:
            told.add(stage)
            progress(f"3/6 forming the sheet: {_STAGES[stage]}")

    return run_setup(setup, tell)


def forming_pictures(formed: Formed, trim: MultiPolygon, title: str) -> tuple[Picture, ...]:
    """Return the maps of thickness and arrival."""
    from moldgen.export.class_map import Mark, class_map_png
    from moldgen.export.forming_classes import arrival_classes, arrival_values, thickness_classes

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


def part_bodies(formed: Formed, trim: MultiPolygon, title: str) -> tuple[Body, ...]:
    """Return the formed and trimmed part as solids, one for each piece that is cut out."""
    from manifold3d import CrossSection, FillRule

    from moldgen.solid.shell import build_shell
    from moldgen.solid.sound import mesh_from_solid, solid_from_mesh, sound

    run = formed.run
    surface = Mesh(np.array(run.points_mm), np.array(run.mesh.triangles))
    thickness = run.thickness_at_points * formed.sheet.gauge_mm
    shell = solid_from_mesh(build_shell(surface, thickness), doing="making the part solid")
    low, high = shell.bounding_box()[2] - 1.0, shell.bounding_box()[5] + 1.0
    bodies = []
    for number, polygon in enumerate(shapely.get_parts(trim), start=1):
        rings = [_thinned_ring(polygon)]
        cutter = CrossSection(rings, FillRule.EvenOdd).extrude(high - low).translate((0, 0, low))
        cut = sound(shell ^ cutter, doing="trimming the part")
        name = title if len(shapely.get_parts(trim)) == 1 else f"{title} {number}"
        bodies.append(Body(f"{name}, formed", mesh_from_solid(cut)))
    return tuple(bodies)


def part_glb(formed: Formed, bodies: Sequence[Body]) -> bytes:
    """Return the formed part for viewing, coloured by its thickness."""
    from moldgen.export.forming_classes import thickness_classes
    from moldgen.export.glb import glb_bytes

    thickness = formed.run.thickness_at_points * formed.sheet.gauge_mm
    classes = thickness_classes(formed.sheet.gauge_mm)
    own = []
    for body in bodies:
        middles = body.mesh.corners_mm.mean(axis=1)
        own.append(classes.colours_of(thickness[nearest_points(formed.run.points_mm, middles)]))
    return glb_bytes(bodies, colours=own)


def nearest_points(points_mm: Floats, places_mm: Floats) -> NDArray[np.int64]:
    """Return for each place the number of the point nearest to it, shape (m,)."""
    tree = shapely.STRtree(shapely.points(points_mm[:, :2]))
    near: NDArray[np.int64] = np.zeros(len(places_mm), np.int64)
    # Nearest as seen from above, a few at a time, then by height among those.
    ask = shapely.points(places_mm[:, :2])
    pairs = tree.query_nearest(ask, all_matches=False)
    near[pairs[0]] = pairs[1]
    return near


def forming_rows(formed: Formed | None) -> Rows:
    """Return the line of the summary."""
    if formed is None:
        return (("Formed sheet", "not followed; --forming preview tells thickness and webs"),)
    whole = formed.whole
    least, mean = amount(whole.least_mm, "mm"), amount(whole.mean_mm, "mm")
    unsure = "" if formed.run.converged else " (not settled: a first look)"
    folds = [web for web in formed.webs if web.height_mm >= WEB_SHARE * formed.sheet.gauge_mm]
    webs = {0: "no webs", 1: "one web"}.get(len(folds), f"{len(folds)} webs")
    return (("Formed sheet", f"{least} at its thinnest, {mean} on the mean, {webs}{unsure}"),)


def forming_numbers(formed: Formed) -> dict[str, object]:
    """Return what the forming run measured, for programs."""
    return {
        "formed_least_mm": formed.whole.least_mm,
        "formed_mean_mm": formed.whole.mean_mm,
        "formed_untouched_mm2": formed.untouched_mm2,
        "formed_webs": len(formed.webs),
        "formed_bridges": len(formed.bridges),
        "forming_converged": formed.run.converged,
        "forming_residual": formed.run.residual,
    }


def forming_tables(
    formed: Formed, gauges: Sequence[Gauge], wanted_mm: float | None
) -> Iterator[Table]:
    """Return thickness by feature, its histogram and what other gauges would leave."""
    yield _feature_table(formed)
    yield _histogram_table(formed)
    if gauges:
        yield _gauge_table(formed, gauges, wanted_mm)


def _feature_table(formed: Formed) -> Table:
    rows = tuple(
        (
            thinned.name or "whole part",
            f"{thinned.least_mm:.2f} mm",
            f"{thinned.mean_mm:.2f} mm",
            f"{thinned.area_mm2 / 100:.1f} cm²",
        )
        for thinned in formed.thinned
    )
    plastic = formed.sheet.plastic
    return Table(
        title="Thickness of the formed sheet",
        header=("Feature", "Thinnest", "Mean", "Area"),
        rows=rows,
        note="From the forming run: the hot sheet as a rubber membrane that sticks where it lands. "
        f"Its stiffness is {plastic.hot_modulus_kPa:g} kPa "
        f"({plastic.sources.get('hot_modulus_kPa', 'common practice, no source')}).",
    )


def _histogram_table(formed: Formed) -> Table:
    step = 0.1 if formed.sheet.gauge_mm <= 2.0 else 0.25
    borders, areas = formed.histogram(step_mm=step)
    rows = tuple(
        (f"{low:.2f} to {high:.2f} mm", f"{area / 100:.1f} cm²")
        for low, high, area in zip(borders[:-1], borders[1:], areas, strict=True)
        if area > 0
    )
    return Table(title="How much of the part is how thick", header=("Thickness", "Area"), rows=rows)


def _gauge_table(formed: Formed, gauges: Sequence[Gauge], wanted_mm: float | None) -> Table:
    wanted = wanted_mm or formed.sheet.gauge_mm * 0.25
    found = choices(gauges, least_share=formed.least_share, wanted_mm=wanted)
    rows = tuple(
        (choice.gauge.name, f"{choice.least_mm:.2f} mm", "enough" if choice.enough else "too thin")
        for choice in found
    )
    return Table(
        title="Which gauge to take",
        header=("Gauge", "Thinnest when formed", f"For {wanted:.2g} mm"),
        rows=rows,
        note=f"The mold leaves {100 * formed.least_share:.0f} % of any gauge where the sheet is "
        "thinnest. Thicker sheet follows tight corners less and takes longer to heat.",
    )
