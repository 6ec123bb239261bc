"""Jobs read and their walls built: the molds of an arrangement as pieces to be laid out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.affinity import rotate, translate

from moldgen.errors import SpecError
from moldgen.fixture.trim.line import filled
from moldgen.job import Job, load_job
from moldgen.job.command.arrange import file_and_count
from moldgen.lesson.layout.piece import LayoutPiece, Placing
from moldgen.memo import Memo
from moldgen.mold.features import foot_of, roots_of
from moldgen.mold.trim_rule import DEEP_MM, TrimUse
from moldgen.pipeline.mold.design import MOST_BYTES, MoldDesign, design_mold
from moldgen.pipeline.mold.trim_region import plan_trim, trim_use
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.solid.mesh import Mesh
from moldgen.stock import Shop

MOST_MOLDS = 1000
"""Molds that are arranged at a time. [-]."""
_SPARE_MM = 0.05
"""How far an outline is moved out, to have fewer corners. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ArrangedMold:
    """A mold of an arrangement, seen as a piece, with its walls at hand.

    Attributes
    ----------
    piece : LayoutPiece
        Its name, foot, height, draft and flange; copies have the same one.
    file : str
        The job file, as it was named; the title of a job in hand.
    design : MoldDesign
        Its stages, computed when they are asked for.
    trim : MultiPolygon
        What is cut out of the sheet, in the job's own coordinates. [mm]
    """

    piece: LayoutPiece
    file: str
    design: MoldDesign
    trim: MultiPolygon

    def mesh_at(self, placing: Placing) -> Mesh:
        """Return its walls where it is placed. [mm]."""
        return moved_mesh(self.design.raw.mesh, placing)

    def trim_at(self, placing: Placing) -> MultiPolygon:
        """Return what is cut out of the sheet where it is placed. [mm]."""
        turned = rotate(self.trim, placing.turn_deg, origin=(0.0, 0.0))
        return translate(turned, placing.x_mm, placing.y_mm)


def moved_mesh(mesh: Mesh, placing: Placing) -> Mesh:
    """Return a mesh turned and moved on the table as a placing says. [mm]."""
    turn = np.radians(placing.turn_deg)
    cos, sin = np.cos(turn), np.sin(turn)
    if placing.turn_deg % 90 == 0:
        cos, sin = np.round(cos), np.round(sin)
    axes = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
    points = mesh.points_mm @ axes.T + [placing.x_mm, placing.y_mm, 0.0]
    return Mesh(points, mesh.triangles.copy())


def job_paths(files: Iterable[str], folder: Path) -> tuple[Path, ...]:
    """Return the job files that names and patterns stand for, each as often as it is wanted.

    Raises
    ------
    SpecError
        If a pattern fits no file, or there are too many.
    """
    paths: list[Path] = []
    for words in files:
        name, count = file_and_count(words)
        for path in _named(name, folder):
            paths += [path] * count
    if len(paths) > MOST_MOLDS:
        raise SpecError("files", f"of at most {MOST_MOLDS} molds", f"{len(paths)}", "Name fewer.")
    return tuple(paths)


def _named(name: str, folder: Path) -> Sequence[Path]:
    if not set("*?[") & set(name):
        return (folder / name,)
    whole = Path(name)
    start = Path(whole.anchor) if whole.is_absolute() else folder
    pattern = str(whole.relative_to(whole.anchor)) if whole.is_absolute() else name
    found = sorted(path for path in start.glob(pattern) if path.is_file())
    if not found:
        hint = "Check the folder and the ending."
        raise SpecError("files", "a pattern of job files", f"none that fits {name!r}", hint)
    return found


def read_jobs(paths: Sequence[Path]) -> tuple[tuple[Job, Path], ...]:
    """Return the jobs of files, each file read once.

    Raises
    ------
    FileError
        If one cannot be read.
    SpecError
        If one is the job of a bent strip, or wrong.
    """
    known = {path: load_job(path) for path in dict.fromkeys(paths)}
    for path, job in known.items():
        if not isinstance(job, Job):
            raise SpecError("files", "jobs of molds", f"{path}, a bent strip", "Leave it out.")
    return tuple((job, path) for path in paths if isinstance(job := known[path], Job))


def design_jobs(
    jobs: Sequence[tuple[Job, Path]],
    *,
    shop: Shop,
    folder: Path | None = None,
    machine: str = "",
    printer: str = "",
    memo: Memo | None = None,
    progress: Progress = quiet,
) -> tuple[ArrangedMold, ...]:
    """Build the walls of jobs, each once however often it is wanted.

    Parameters
    ----------
    jobs : sequence of (Job, Path)
        Each as often as it is to be formed, with the file it comes from.
    shop : Shop
        What there is to make them with.
    folder : Path, optional
        Where paths in the jobs start; the folder of each file if left out.
    machine, printer : str
        In the place of those that the jobs name, if given.
    memo : Memo, optional
        Keeps what is computed for other designs too.
    progress : callable
        Told of each mold as it begins.

    Raises
    ------
    MoldgenError
        If one cannot be made: one sentence that names its file.
    """
    memo = memo or Memo(MOST_BYTES)
    different = list(dict.fromkeys(path for _, path in jobs))
    first = {path: job for job, path in reversed(jobs)}
    names = _names([first[path].title for path in different], different)
    built = {}
    for number, path in enumerate(different, start=1):
        progress(Stage(1, 4, f"walls of {names[path]}", (number - 1) / len(different)))
        job = replace(
            first[path],
            machine=machine or first[path].machine, printer=printer or first[path].printer,
        )  # fmt: skip
        design = design_mold(
            job, folder=path.parent if folder is None else folder, shop=shop, memo=memo
        )
        built[path] = _arranged(design, names[path], str(path))
    return tuple(built[path] for _, path in jobs)


def _names(titles: Sequence[str], paths: Sequence[Path]) -> dict[Path, str]:
    """Return what each file's mold is called: its title, with the file where titles agree."""
    counts = Counter(titles)
    return {
        path: title if counts[title] == 1 else f"{title} ({path.stem})"
        for title, path in zip(titles, paths, strict=True)
    }


def _arranged(design: MoldDesign, name: str, file: str) -> ArrangedMold:
    raw, setting = design.raw, design.setting
    plan = plan_trim(design.request.trim, trim_use(design.request), raw.plans, sheet=setting.sheet)
    on_block = plan.use is TrimUse.RIM
    piece = LayoutPiece(
        name=name,
        outline=outline_of(foot_of(raw.plans)),
        height_mm=raw.height_mm,
        draft_deg=min(root.wall.draft_deg for root in roots_of(raw.plans)),
        flange_mm=0.0 if on_block else plan.wanted_mm,
        alone=raw.height_mm >= DEEP_MM and not on_block,
    )
    return ArrangedMold(piece=piece, file=file, design=design, trim=plan.region)


def outline_of(foot: MultiPolygon) -> Polygon:
    """Return one outline round a foot, with few corners; round several pieces their hull. [mm]."""
    whole = filled(foot)
    one = whole.geoms[0] if len(whole.geoms) == 1 else shapely.convex_hull(whole)
    round_it = one.buffer(_SPARE_MM, quad_segs=2).simplify(_SPARE_MM)
    return Polygon(round_it.exterior)


def by_sheet(molds: Sequence[ArrangedMold]) -> Iterator[tuple[int, ...]]:
    """Yield the numbers of molds that are formed in the same sheet, in the order given."""
    groups: dict[tuple[str, float], list[int]] = {}
    for number, mold in enumerate(molds):
        sheet = mold.design.setting.sheet
        groups.setdefault((sheet.plastic.name, sheet.gauge_mm), []).append(number)
    yield from map(tuple, groups.values())
