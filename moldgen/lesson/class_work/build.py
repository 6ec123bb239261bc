"""One mold of a class, built in a process of its own: words in, files and figures out."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.errors import MoldgenError
from moldgen.execution import run_with
from moldgen.export.card.job_card import JobCard
from moldgen.finding import Finding
from moldgen.job.formats import Format
from moldgen.job.read import mold_from_words
from moldgen.language import Language, speak
from moldgen.pipeline.file_name import file_name
from moldgen.version import __version__

if TYPE_CHECKING:
    from moldgen.job.spec import MoldRequest
    from moldgen.pipeline.mold.mold import Mold
    from moldgen.pipeline.setting import Setting


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
    """

    job_text: str
    folder: str
    stock: str = ""
    formats: tuple[Format, ...] = ()
    version: str = __version__
    language: Language = Language.EN


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
    problem : str
        Why nothing was built, one sentence; empty otherwise.
    """

    files: dict[str, bytes]
    numbers: dict[str, Any]
    summary: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    card: JobCard | None = None
    problem: str = ""


def build_mold(order: BuildOrder) -> BuiltMold:
    """Build one mold.

    What cannot be built comes back as a problem, so that one job does not end those of the others.
    """
    if order.version != __version__:
        told = f"this worker runs moldgen {__version__}, not {order.version}: update it"
        return BuiltMold(files={}, numbers={}, problem=told)
    try:
        with run_with(threads=1), speak(order.language):
            return _built(order)
    except MoldgenError as error:
        return BuiltMold(files={}, numbers={}, problem=str(error))


def _built(order: BuildOrder) -> BuiltMold:
    # A worker that only reads a roster loads none of it.
    from moldgen.pipeline.mold.card import job_card
    from moldgen.pipeline.mold.make import work_out
    from moldgen.pipeline.mold.plan import drill_list, plan_of
    from moldgen.pipeline.mold.risks import mold_risks
    from moldgen.pipeline.stage import quiet
    from moldgen.stock import load_shop

    job = mold_from_words(tomllib.loads(order.job_text))
    shop = load_shop([Path(order.stock)] if order.stock else [])
    work = work_out(job, folder=Path(order.folder), shop=shop, progress=quiet)
    made = work.output.render(order.formats)
    setting, mold, settled = work.design.setting, work.mold, work.design.request
    drilling = drill_list(mold)
    card = job_card(
        settled, mold, setting,
        drilling=drilling, day=work.day, plan=plan_of(settled, mold, setting, drilling),
    )  # fmt: skip
    return BuiltMold(
        files=_behind(made.files, file_name(job.title)),
        numbers={
            **made.numbers, **_made_of(setting), "trim_s": _trim_s(settled, mold, setting),
            "risks": [asdict(row) for row in mold_risks(settled, mold, setting, drilling)],
        },
        summary=made.summary,
        findings=made.findings,
        card=card,
    )  # fmt: skip


def _made_of(setting: Setting) -> dict[str, Any]:
    """Return sheet, filament and printer, by which costs and the print queue are told."""
    filament = setting.filament.name if setting.is_printed else ""
    sheet = setting.sheet
    printer = setting.printer.name if setting.is_printed else ""
    return {
        "plastic": sheet.plastic.name, "gauge_mm": sheet.gauge_mm,
        "filament": filament, "printer": printer,
    }  # fmt: skip


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


def named_for(files: dict[str, bytes], stem: str) -> dict[str, bytes]:
    """Return files of `BuiltMold` under the name of a person."""
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
