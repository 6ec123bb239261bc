"""What a comparison knows of one mold, worked out here or by whoever has a hand free."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.errors import MoldgenError
from moldgen.finding import Severity, counted
from moldgen.job import Job
from moldgen.memo import Memo
from moldgen.pipeline.job_words import packed_words, unpacked_job
from moldgen.pipeline.mold.design import MOST_BYTES
from moldgen.pipeline.mold.forming_pictures import SheetThickness, thickness_of
from moldgen.pipeline.mold.make import MoldWork, work_out
from moldgen.pipeline.mold.trim_region import trim_plan_of
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.pool.answers import answers
from moldgen.pool.piece import answer_of, piece_bytes
from moldgen.sandbox.messages import Message
from moldgen.solid.polygons import polygons_of
from moldgen.stock import Shop

WORK = "moldgen.pipeline.mold.figures:figures_piece"
"""What works out a mold, in the words of `moldgen.pool.piece`."""
NO_NUMBERS: Mapping[str, Any] = dict.fromkeys(
    ("stops", "cautions", "thinnest_mm", "mean_mm", "heat_s", "cool_s", "mass_g", "print_s")
)
"""The numbers of a mold that cannot be made."""
_ARRAYS = ("points_mm", "triangles", "at_points_mm", "part_mm", "part_mm2")
_KEPT = Memo(MOST_BYTES)
"""What the pieces of work that this process carries out have in common."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeenSheet:
    """A formed sheet as a map shows it.

    Attributes
    ----------
    thickness : SheetThickness
        How thick it comes out.
    trim : MultiPolygon
        What is cut out of it. [mm]
    outlines : tuple of MultiPolygon
        Outlines of the mold. [mm]
    """

    thickness: SheetThickness
    trim: MultiPolygon
    outlines: tuple[MultiPolygon, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoldFigures:
    """What a comparison knows of a mold.

    Attributes
    ----------
    numbers : mapping
        Those of `NO_NUMBERS`, each with its unit in its name.
    window_s : tuple of three floats or None
        When the sheet is soft enough, when it is formed, when it is too hot. [s]
    seen : SeenSheet or None
        The formed sheet, if it was followed.
    """

    numbers: Mapping[str, Any]
    window_s: tuple[float | None, float | None, float | None]
    seen: SeenSheet | None


def outcome(job: Job, folder: Path, shop: Shop, memo: Memo) -> MoldFigures | str:
    """Return what is known of a mold, or why there is none: that is an answer as well."""
    try:
        return _figures(work_out(job, folder=folder, shop=shop, progress=quiet, memo=memo))
    except MoldgenError as problem:
        return str(problem)


def figures_by(
    pool: Executor,
    jobs: Sequence[Job],
    *,
    folder: Path,
    shop: Shop,
    stock: Mapping[str, str],
    progress: Progress,
) -> list[MoldFigures | str]:
    """Return what `outcome` does of each job, worked out by a pool.

    Parameters
    ----------
    pool : Executor
        Works them out.
    jobs : sequence of Job
        What is wanted.
    folder : Path
        Where paths in the jobs start.
    shop : Shop
        What there is to make them with.
    stock : mapping of str to str
        Its own stock files, by name.
    progress : callable
        Told of each that is done.
    """
    found: dict[int, MoldFigures | str] = {}
    pieces: dict[int, bytes] = {}
    for number, job in enumerate(jobs):
        try:
            words, blocks = packed_words(
                job, folder=folder, stock=stock, experience=shop.experience
            )
            pieces[number] = piece_bytes(WORK, words, blocks)
        except MoldgenError as problem:
            found[number] = str(problem)
    progress(Stage(1, len(jobs), "building molds"))
    numbers = list(pieces)
    for at, answer in answers(pool, list(pieces.values())):
        found[numbers[at]] = _figures_of(answer)
        done = counted(len(jobs), "mold")
        progress(Stage(len(found), len(jobs), f"{len(found)} of {done} built"))
    return [found[number] for number in range(len(jobs))]


def figures_piece(words: Mapping[str, Any], blocks: Sequence[bytes], tell: object) -> Message:
    """Work out a mold as a piece of work; what is known of it.

    Raises
    ------
    MoldgenError
        If it cannot be made.
    """
    with unpacked_job(words, blocks) as brought:
        work = work_out(
            brought.job, folder=brought.folder, shop=brought.shop, progress=quiet, memo=_KEPT
        )
        return _message(_figures(work))


def _figures(work: MoldWork) -> MoldFigures:
    told = work.output.told
    printed = told.numbers.get("print") or {}
    counts = {kind: sum(one.severity is kind for one in told.findings) for kind in Severity}
    heated = work.day.heated
    clock = None if heated is None else heated.usable.clock
    return MoldFigures(
        numbers={
            "stops": counts[Severity.STOP],
            "cautions": counts[Severity.CAUTION],
            "thinnest_mm": told.numbers.get("formed_thin_mm"),
            "mean_mm": told.numbers.get("formed_mean_mm") or told.numbers.get("mean_thickness_mm"),
            "heat_s": told.numbers.get("heat_s"),
            "cool_s": told.numbers.get("cool_s"),
            "mass_g": printed.get("mass_g"),
            "print_s": printed.get("time_s"),
        },
        window_s=(None, None, None)
        if heated is None or clock is None
        else (clock.opens_s, heated.usable.forming_s, clock.ends_s),
        seen=_seen(work),
    )


def _seen(work: MoldWork) -> SeenSheet | None:
    mold, design = work.mold, work.design
    if mold.formed is None:
        return None
    return SeenSheet(
        thickness=thickness_of(mold.formed),
        trim=trim_plan_of(design.request, mold, design.setting.sheet).region,
        outlines=(mold.foot, *(plan.flat for plan in mold.plans if not plan.flat.is_empty)),
    )


def _message(figures: MoldFigures) -> Message:
    words: dict[str, Any] = {"numbers": dict(figures.numbers), "window_s": figures.window_s}
    if figures.seen is None:
        return Message(words)
    seen = figures.seen
    arrays = [np.ascontiguousarray(getattr(seen.thickness, name)) for name in _ARRAYS]
    words |= {
        "gauge_mm": seen.thickness.gauge_mm,
        "arrays": [[one.dtype.str, list(one.shape)] for one in arrays],
    }
    shapes = [shapely.to_wkb(one) for one in (seen.trim, *seen.outlines)]
    return Message(words, [*(one.tobytes() for one in arrays), *shapes])


def _figures_of(answer: bytes) -> MoldFigures | str:
    try:
        words, blocks = answer_of(answer)
    except MoldgenError as problem:
        return str(problem)
    opens_s, forms_s, closes_s = words["window_s"]
    return MoldFigures(
        numbers=words["numbers"],
        window_s=(opens_s, forms_s, closes_s),
        seen=_seen_of(words, blocks) if "arrays" in words else None,
    )


def _seen_of(words: Mapping[str, Any], blocks: Sequence[bytes]) -> SeenSheet:
    kinds = words["arrays"]
    arrays: dict[str, NDArray[Any]] = {
        name: np.frombuffer(block, np.dtype(kind)).reshape(shape)
        for name, (kind, shape), block in zip(_ARRAYS, kinds, blocks, strict=False)
    }
    trim, *outlines = (polygons_of(shapely.from_wkb(one)) for one in blocks[len(kinds) :])
    return SeenSheet(
        thickness=SheetThickness(gauge_mm=words["gauge_mm"], **arrays),
        trim=trim,
        outlines=tuple(outlines),
    )
