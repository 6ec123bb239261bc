"""Jobs read and their walls built: the molds of an arrangement as pieces to be laid out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from shapely import MultiPolygon
from shapely.affinity import rotate, translate

from moldgen.errors import SpecError
from moldgen.export.mesh.threemf import WrittenBody, written_bodies
from moldgen.job import Job, load_job
from moldgen.job.command.arrange import file_and_count
from moldgen.lesson.arrange.shape import MoldShape, shape_of
from moldgen.lesson.layout.piece import LayoutPiece, Placing
from moldgen.memo import Memo
from moldgen.pipeline.mold.design import MOST_BYTES, MoldDesign, design_mold
from moldgen.pipeline.setting import Setting
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.solid.mesh import Mesh
from moldgen.stock import Sheet, Shop
from moldgen.wording import fold

MOST_MOLDS = 1000
"""Molds that are arranged at a time. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ArrangedMold:
    """A mold of an arrangement, seen as a piece, with its meshes at hand.

    Attributes
    ----------
    shape : MoldShape
        What is laid out of it; copies have the same one.
    piece : LayoutPiece
        That of its shape, under the name that the arrangement has for it.
    file : str
        The job file, as it was named; the title of a job in hand.
    setting : Setting
        Sheet, table and printer.
    walls : callable
        Gives its walls with nothing cut into them; asked only where they are formed. [mm]
    finished : callable
        Gives its finished bodies, as they are written; asked only where they are printed.
    mark : str
        What it is known by from one arrangement to the next; empty if there is no next one.
    color : str
        Of the sheet that it is formed from; any, if empty.
    group : str
        Whose sheets it stands on, with molds of the same group alone; those of all, if empty.
    """

    shape: MoldShape
    piece: LayoutPiece
    file: str
    setting: Setting
    walls: Callable[[], Mesh]
    finished: Callable[[], Sequence[WrittenBody]]
    mark: str = ""
    color: str = ""
    group: str = ""

    @property
    def sheet_mark(self) -> str:
        """What its sheets are known by from one arrangement to the next."""
        return fold(f"{self.sheet_words} {self.group}".strip())

    @property
    def sheet_words(self) -> str:
        """Plastic, gauge and color of its sheet: ``HIPS 1.5 mm, red``."""
        return colored(self.setting.sheet, self.color)

    def mesh_at(self, placing: Placing) -> Mesh:
        """Return its walls where it is placed. [mm]."""
        return moved_mesh(self.walls(), placing)

    def trim_at(self, placing: Placing) -> MultiPolygon:
        """Return what is cut out of the sheet where it is placed. [mm]."""
        turned = rotate(self.shape.trim, placing.turn_deg, origin=(0.0, 0.0))
        return translate(turned, placing.x_mm, placing.y_mm)


def colored(sheet: Sheet, color: str) -> str:
    """Return plastic, gauge and color of a sheet as they are told: ``HIPS 1.5 mm, red``."""
    return f"{sheet.words}, {color}" if color else sheet.words


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
    names = names_of([first[path].title for path in different], different)
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


def names_of(titles: Sequence[str], paths: Sequence[Path]) -> dict[Path, str]:
    """Return what each file's mold is called: its title, with the file where titles agree."""
    counts = Counter(titles)
    return {
        path: title if counts[title] == 1 else f"{title} ({path.stem})"
        for title, path in zip(titles, paths, strict=True)
    }


def _arranged(design: MoldDesign, name: str, file: str) -> ArrangedMold:
    shape = shape_of(design)
    return ArrangedMold(
        shape=shape,
        piece=replace(shape.piece, name=name),
        file=file,
        setting=design.setting,
        walls=lambda: design.raw.mesh,
        finished=lambda: written_bodies(design.mold.bodies),
    )


def by_sheet(molds: Sequence[ArrangedMold]) -> Iterator[tuple[int, ...]]:
    """Yield the numbers of molds that stand on the same sheets, in the order given.

    One group of people comes after another.
    """
    order = {group: k for k, group in enumerate(dict.fromkeys(mold.group for mold in molds))}
    sheets: dict[str, list[int]] = {}
    for number, mold in sorted(enumerate(molds), key=lambda one: order[one[1].group]):
        sheets.setdefault(mold.sheet_mark, []).append(number)
    yield from map(tuple, sheets.values())
