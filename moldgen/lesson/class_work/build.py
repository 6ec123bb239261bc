"""One mold of a class, built in a process of its own: words in, files and figures out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from moldgen.job import job_toml
from moldgen.job.formats import Format
from moldgen.job.packed import pack_job
from moldgen.language import Language, language_now
from moldgen.lesson.class_work.record import (
    MoldRecord,
    record_from_words,
    record_of,
    record_words,
)
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.job_words import BroughtJob, font_file, unpacked_job
from moldgen.pipeline.mold.mended import MendedJob
from moldgen.pool.piece import piece_bytes
from moldgen.sandbox.messages import Message
from moldgen.stock.experience import NO_NOTES, Experience, experience_words

if TYPE_CHECKING:
    from moldgen.job.spec import Job, MoldRequest
    from moldgen.pipeline.mold.mold import Mold
    from moldgen.pipeline.setting import Setting
    from moldgen.stock import Shop


T = TypeVar("T")
_VIEWS = "-views.png"
SHARED = frozenset({"gauge", "filament", "printer", "machine"})
"""What all of a class have in common, and mending does not change for one of them."""
WORK = "moldgen.lesson.class_work.build:build_piece"
"""What builds a mold, in the words of `moldgen.pool.piece`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildOrder:
    """What a worker is asked to build; it has all that it needs with it.

    Attributes
    ----------
    job_text : str
        The job file, which names its files without folders.
    files : dict of str to bytes
        Those files.
    stock : dict of str to str
        Own stock files, by name, as `moldgen.stock.shop.shop_from_texts` takes them.
    formats : tuple of Format
        Files to write.
    language : Language
        What its plans and reports are read in.
    mend : bool
        Whether the job is changed so that nothing of it needs a look.
    experience : Experience
        What notes of the tables say of times, thickness and lives.
    """

    job_text: str
    files: Mapping[str, bytes]
    stock: Mapping[str, str]
    formats: tuple[Format, ...] = ()
    language: Language = Language.EN
    mend: bool = False
    experience: Experience = NO_NOTES

    def piece(self) -> bytes:
        """Return it as a piece of work; the same order is the same bytes."""
        words = {
            "job": self.job_text, "files": list(self.files), "stock": dict(self.stock),
            "formats": [str(one) for one in self.formats], "language": str(self.language),
            "mend": self.mend, "experience": experience_words(self.experience),
        }  # fmt: skip
        return piece_bytes(WORK, words, list(self.files.values()))


def order_for(
    job: Job,
    *,
    folder: Path,
    stock: Mapping[str, str],
    formats: Sequence[Format],
    mend: bool = False,
    experience: Experience = NO_NOTES,
) -> BuildOrder:
    """Return the order to build a job.

    Raises
    ------
    FileError
        If a file that the job names cannot be read.
    """
    packed = pack_job(job, folder=folder, font_path=font_file)
    return BuildOrder(
        job_text=job_toml(packed.job), files=packed.files, stock=stock, formats=tuple(formats),
        language=language_now(), mend=mend, experience=experience.of_molds,
    )  # fmt: skip


def build_piece(words: Mapping[str, Any], blocks: Sequence[bytes], tell: object) -> Message:
    """Build the mold of an order; the record of it, and its files.

    Raises
    ------
    MoldgenError
        If it cannot be built.
    """
    with unpacked_job(words, blocks) as brought:
        built = _built(words, brought)
    return Message(record_words(built.record), [*built.files.values(), built.record.picture])


def built_of(answer: Message) -> BuiltMold:
    """Return what was built, from an answer of `build_piece`."""
    *contents, picture = answer.blocks
    record = record_from_words(answer.words, picture=picture)
    return BuiltMold(record=record, files=dict(zip(record.marks, contents, strict=True)))


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltMold:
    """What a worker has built.

    Attributes
    ----------
    record : MoldRecord
        What is known of it.
    files : dict of str to bytes
        By the name behind the title's: ``.stl``, ``-plan.pdf``.
    """

    record: MoldRecord
    files: dict[str, bytes]


def _built(words: Mapping[str, Any], brought: BroughtJob) -> BuiltMold:
    # A worker that only reads a roster loads none of it.
    from moldgen.lesson.arrange.shape import shape_of
    from moldgen.lesson.class_work.contact_sheet import small_png
    from moldgen.pipeline.mold.card import job_card
    from moldgen.pipeline.mold.make import work_out
    from moldgen.pipeline.mold.plan import drill_list, plan_of
    from moldgen.pipeline.mold.risks import mold_risks
    from moldgen.pipeline.stage import quiet

    job, folder, shop = brought.job, brought.folder, brought.shop
    mended = _mended(job, folder, shop) if words["mend"] else _as_it_is(job)
    job, chosen = mended.job, mended.choices
    work = work_out(job, folder=folder, shop=shop, progress=quiet, chosen=chosen)
    made = work.output.render([Format(one) for one in words["formats"]])
    setting, mold, settled = work.design.setting, work.mold, work.design.request
    drilling = drill_list(mold)
    card = job_card(
        settled, mold, setting,
        drilling=drilling, day=work.day, plan=plan_of(settled, mold, setting, drilling),
    )  # fmt: skip
    files = _behind(made.files, file_name(job.title))
    record = record_of(
        files,
        numbers={
            **made.numbers,
            "trim_s": _trim_s(settled, mold, setting),
            "printer": setting.printer.name if setting.is_printed else "",
            "risks": [asdict(row) for row in mold_risks(settled, mold, setting, drilling)],
        },
        findings=made.findings,
        sheet_words=setting.sheet.words,
        card=card,
        shape=shape_of(work.design),
        changes=tuple(one.text for one in mended.changes),
        picture=small_png(files[_VIEWS]) if _VIEWS in files else b"",
    )
    return BuiltMold(record=record, files=files)


def _as_it_is(job: Job) -> MendedJob:
    return MendedJob(job=job, changes=(), before=(), after=())


def _mended(job: Job, folder: Path, shop: Shop) -> MendedJob:
    """Return a job changed as little as clears its cautions."""
    from moldgen.pipeline.mold.mend import mend

    return mend(job, folder=folder, shop=shop, refuse=SHARED)


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
