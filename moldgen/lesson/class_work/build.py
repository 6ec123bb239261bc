"""One mold of a class, built in a process of its own: words in, files and figures out."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from moldgen.errors import MoldgenError
from moldgen.execution import run_with
from moldgen.export.card.job_card import JobCard
from moldgen.finding import Finding
from moldgen.job import Job
from moldgen.job.formats import Format
from moldgen.job.read import mold_from_words
from moldgen.language import Language, speak
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.mold.mended import MendedJob
from moldgen.version import __version__

if TYPE_CHECKING:
    from moldgen.job.spec import MoldRequest
    from moldgen.lesson.arrange.shape import MoldShape
    from moldgen.pipeline.mold.mold import Mold
    from moldgen.pipeline.setting import Setting
    from moldgen.stock import Shop


T = TypeVar("T")
_VIEWS = "-views.png"
SHARED = frozenset({"gauge", "filament", "printer", "machine"})
"""What all of a class have in common, and mending does not change for one of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildOrder:
    """What a worker is asked to build.

    Attributes
    ----------
    job_text : str
        The job file.
    folder : str
        Where paths in it start.
    stock : str
        Stock file; the usual one if empty.
    formats : tuple of Format
        Files to write.
    version : str
        Of the program that asks: another one may understand the job in another way.
    language : Language
        What its plans and reports are read in.
    mend : bool
        Whether the job is changed so that nothing of it needs a look.
    threads : int
        On how many threads it is built; what comes out does not depend on it.
    """

    job_text: str
    folder: str
    stock: str = ""
    formats: tuple[Format, ...] = ()
    version: str = __version__
    language: Language = Language.EN
    mend: bool = False
    threads: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltMold:
    """What a worker has built.

    Attributes
    ----------
    files : dict of str to bytes
        By the name behind the title's: ``.stl``, ``-plan.pdf``.
    numbers : dict
        The figures of the mold, each with its unit in its name.
    summary : tuple of (str, str)
        Rows a person reads at a glance.
    findings : tuple of Finding
        Gravest first.
    card : JobCard or None
        Without a name; None if nothing was built.
    shape : MoldShape or None
        What is laid out of it; None if nothing was built.
    picture : bytes
        A small picture of it (PNG); empty if pictures were not asked for.
    changes : tuple of str
        What was changed of the job, a clause each.
    problem : str
        Why nothing was built, one sentence; empty otherwise.
    """

    files: dict[str, bytes]
    numbers: dict[str, Any]
    summary: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    card: JobCard | None = None
    shape: MoldShape | None = None
    picture: bytes = b""
    changes: tuple[str, ...] = ()
    problem: str = ""


def build_mold(order: BuildOrder) -> BuiltMold:
    """Build one mold.

    What cannot be built comes back as a problem, so that one job does not end those of the others.
    """
    if order.version != __version__:
        told = f"this worker runs moldgen {__version__}, not {order.version}: update it"
        return BuiltMold(files={}, numbers={}, problem=told)
    try:
        with run_with(threads=order.threads), speak(order.language):
            return _built(order)
    except MoldgenError as error:
        return BuiltMold(files={}, numbers={}, problem=str(error))


def _built(order: BuildOrder) -> BuiltMold:
    # A worker that only reads a roster loads none of it.
    from moldgen.lesson.arrange.shape import shape_of
    from moldgen.lesson.class_work.contact_sheet import small_png
    from moldgen.pipeline.mold.card import job_card
    from moldgen.pipeline.mold.make import work_out
    from moldgen.pipeline.mold.plan import drill_list, plan_of
    from moldgen.pipeline.stage import quiet
    from moldgen.stock import load_shop

    job = mold_from_words(tomllib.loads(order.job_text))
    shop = load_shop([Path(order.stock)] if order.stock else [])
    mended = _mended(job, order, shop)
    job, chosen = mended.job, mended.choices
    work = work_out(job, folder=Path(order.folder), shop=shop, progress=quiet, chosen=chosen)
    made = work.output.render(order.formats)
    setting, mold, settled = work.design.setting, work.mold, work.design.request
    drilling = drill_list(mold)
    card = job_card(
        settled, mold, setting,
        drilling=drilling, day=work.day, plan=plan_of(settled, mold, setting, drilling),
    )  # fmt: skip
    files = _behind(made.files, file_name(job.title))
    return BuiltMold(
        files=files,
        numbers={**made.numbers, **_made_of(setting), "trim_s": _trim_s(settled, mold, setting)},
        summary=made.summary,
        findings=made.findings,
        card=card,
        shape=shape_of(work.design),
        changes=tuple(one.text for one in mended.changes),
        picture=small_png(files[_VIEWS]) if _VIEWS in files else b"",
    )


def _mended(job: Job, order: BuildOrder, shop: Shop) -> MendedJob:
    """Return a job changed as little as clears its cautions, if that is asked for."""
    if not order.mend:
        return MendedJob(job=job, changes=(), before=(), after=())
    from moldgen.pipeline.mold.mend import mend

    return mend(job, folder=Path(order.folder), shop=shop, refuse=SHARED)


def _made_of(setting: Setting) -> dict[str, Any]:
    """Return sheet and filament, by which costs are told."""
    filament = setting.filament.name if setting.is_printed else ""
    sheet = setting.sheet
    return {"plastic": sheet.plastic.name, "gauge_mm": sheet.gauge_mm, "filament": filament}


def _trim_s(request: MoldRequest, mold: Mold, setting: Setting) -> float:
    """Return about how long it takes to trim the parts of a mold. [s]."""
    from moldgen.fixture.trim.tool import trim_s
    from moldgen.pipeline.mold.steps import tooling_of
    from moldgen.pipeline.mold.trim_region import trim_plan_of

    trim = trim_plan_of(request, mold, setting.sheet)
    tooling = tooling_of(trim, setting)
    gauge_mm = setting.sheet.gauge_mm
    return sum(trim_s(tooling, part.exterior.length, gauge_mm) for part in trim.region.geoms)


def _behind(files: dict[str, bytes], stem: str) -> dict[str, bytes]:
    """Return files by what their names have behind the title's."""
    return {name.removeprefix(stem): data for name, data in files.items()}


def named_for(files: Mapping[str, T], stem: str) -> dict[str, T]:
    """Return files of `BuiltMold`, or what is known of them, under the name of a person."""
    return {
        f"{stem}{name}" if name.startswith((".", "-")) else name: data
        for name, data in files.items()
    }


def distinct(orders: Sequence[BuildOrder]) -> dict[BuildOrder, list[int]]:
    """Return each different order, and which of the list ask for it."""
    asked: dict[BuildOrder, list[int]] = {}
    for i, order in enumerate(orders):
        asked.setdefault(order, []).append(i)
    return asked
