"""How long a forming run takes: a word of 150 mm, 12 mm tall, on meshes of growing fineness.

Run it from the repository: ``python -m tests.benchmarks.forming``.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from statistics import median
from time import perf_counter, process_time

import numpy as np
from shapely.affinity import scale, translate

from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.physics.membrane import force_kernel as kernel
from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.run import FormingRun, FormingSpec
from moldgen.physics.membrane.sheet_mesh import SheetMesh, build_sheet_mesh
from moldgen.physics.membrane.touch import MoldFaces, buckets_of
from moldgen.physics.membrane.work import work_of

from .clock import median_s
from .subjects import raised

TITLE = "Forming run over HARBOR, 150 mm, 12 mm tall, warm"
PREVIEW_PACE = 0.45
AIMS_S = {(57720, 1.0): 1.5, (15200, PREVIEW_PACE): 0.2}
"""Seconds that a fine run at full pace and a coarse preview may take, by triangles and pace."""
CLAMP_MM = [(-95.0, -40.0), (95.0, -40.0), (95.0, 40.0), (-95.0, 40.0)]


def main() -> None:
    """Print the table."""
    print(f"\n{TITLE}")
    for label, figures in forming_rows():
        print(f"  {label:<44}{figures}", flush=True)


def forming_rows() -> Iterator[tuple[str, str]]:
    """Yield time against triangles, the cost of a triangle in a step, and the plain twin's."""
    mold = word_faces()
    form_sheet(build_sheet_mesh(CLAMP_MM, size_mm=16), mold, spec=FormingSpec(most_steps=64))
    for pace in (1.0, PREVIEW_PACE):
        for size_mm in (8.0, 4.0, 2.0, 1.03, 0.8):
            mesh = build_sheet_mesh(CLAMP_MM, size_mm=size_mm)
            yield f"{len(mesh.triangles)} triangles, pace {pace:g}", _timed(mesh, mold, pace)
    yield from twin_rows()


def _timed(mesh: SheetMesh, mold: MoldFaces, pace: float) -> str:
    """Return the median of five runs in words."""
    walls_s, processors_s = [], []
    for _ in range(5):
        start, used = perf_counter(), process_time()
        run = form_sheet(mesh, mold, spec=FormingSpec(pace=pace))
        walls_s.append(perf_counter() - start)
        processors_s.append(process_time() - used)
    return _figures(
        run, median(walls_s), median(processors_s), AIMS_S.get((len(mesh.triangles), pace))
    )


def _figures(run: FormingRun, wall_s: float, processor_s: float, aim_s: float | None) -> str:
    per = processor_s / run.steps / len(run.mesh.triangles)
    aim = f"   (aim {aim_s:g})" if aim_s else ""
    return (
        f"{wall_s:8.3f} s {run.steps:6d} steps {1e9 * per:6.1f} ns per triangle and step"
        f"{'' if run.converged else ', not converged'}{aim}"
    )


def twin_rows() -> Iterator[tuple[str, str]]:
    """Yield the time of the forces alone, compiled and in plain numpy."""
    mesh = build_sheet_mesh(CLAMP_MM, size_mm=1.03)
    work = work_of(mesh, buckets_of(word_faces()), rubber=Rubber(), start_mm=0.0)
    points = np.column_stack([1.1 * mesh.points_mm, 0.01 * mesh.points_mm[:, 0] ** 2])
    part, law = work.part, work.sheet.law
    rows = part.points[0]
    rows[part.place[part.place >= 0], :3] = points[part.place >= 0]
    compiled = partial(
        kernel.pull, part.corners, part.metric, law, rows, part.pulls[0], part.areas[0]
    )
    ours_s = median_s(compiled, times=20, clock=process_time)
    twin_s = median_s(partial(plain_forces, mesh, points), times=3, clock=process_time)
    per = 1e9 / len(mesh.triangles)
    yield "forces, compiled", f"{ours_s * per:8.1f} ns per triangle"
    yield "forces, plain numpy", f"{twin_s * per:8.1f} ns per triangle, {twin_s / ours_s:.0f} times"


def plain_forces(mesh: SheetMesh, points: np.ndarray) -> np.ndarray:
    """Return the neo-Hookean forces of all points in a few lines of numpy, shape (n, 3)."""
    flat = mesh.points_mm[mesh.triangles]
    now = points[mesh.triangles]
    inverse = np.linalg.inv(np.swapaxes(flat[:, 1:] - flat[:, :1], 1, 2))
    gradient = np.swapaxes(now[:, 1:] - now[:, :1], 1, 2) @ inverse
    c = np.swapaxes(gradient, 1, 2) @ gradient
    over = 1.0 / np.linalg.det(c)
    stress = np.eye(2) - np.linalg.inv(c) * over[:, None, None]
    pulls = mesh.areas_mm2[:, None, None] * (gradient @ stress) @ np.swapaxes(inverse, 1, 2)
    forces = np.zeros_like(points)
    np.add.at(forces, mesh.triangles[:, 0], pulls.sum(axis=2))
    for corner in (1, 2):
        np.add.at(forces, mesh.triangles[:, corner], -pulls[:, :, corner - 1])
    return forces


def word_faces() -> MoldFaces:
    """Return the word as a mold, its middle over the origin."""
    word = outline_from_text(TextSpec(text="HARBOR", height_mm=40)).region
    x0, y0, x1, y1 = word.bounds
    factor = 150 / (x1 - x0)
    word = scale(translate(word, -(x0 + x1) / 2, -(y0 + y1) / 2), factor, factor, origin=(0, 0))
    corners = [mesh.corners_mm for mesh in raised(word).meshes]
    return MoldFaces(corners_mm=np.concatenate(corners))


if __name__ == "__main__":
    main()
