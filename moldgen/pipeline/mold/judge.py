"""What is said of jobs, as much of their molds built as it takes to know; here or by a pool."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from moldgen.errors import MoldgenError
from moldgen.finding import Finding, finding_from
from moldgen.job import Job
from moldgen.job.spec import JobUnderside
from moldgen.memo import Key, Memo, content_key
from moldgen.mold.choices import UndersideKind
from moldgen.mold.vents.vent import VentPlan, VentSpec
from moldgen.pipeline.job_words import packed_words, unpacked_job
from moldgen.pipeline.mold.design import MOST_BYTES, MoldDesign, design_mold
from moldgen.pipeline.mold.quality import Quality
from moldgen.pipeline.mold.vent_spacing import VentPlacer
from moldgen.pool.answers import answers
from moldgen.pool.piece import answer_of, piece_bytes
from moldgen.sandbox.messages import Message
from moldgen.solid.height.relief import Relief
from moldgen.stock import Shop

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing
    from moldgen.physics.membrane.run import FormingRun

WORK = "moldgen.pipeline.mold.judge:judge_piece"
"""What judges a job, in the words of `moldgen.pool.piece`."""
_NO_UNDERSIDE = JobUnderside(
    kind=UndersideKind.FLAT, label=False, insert="none", pry=False, arrow=False
)
_OF_BARE_WALLS = frozenset({"no-vents"})
"""What is only said because nothing was cut into the walls."""
_KEPT = Memo(MOST_BYTES)
"""What the pieces of work that this process carries out have in common."""

Said = tuple[Finding, ...] | MoldgenError
"""What is said of a job, or why it cannot be made."""


class Depth(StrEnum):
    """How much of a mold is looked at."""

    OUTLOOK = "outlook"
    """Sizes, gaps and strokes: soon, and nothing that is not said of the whole as well."""
    WALLS = "walls"
    """All that is said of the walls, without vents and underside."""
    WHOLE = "whole"


class Judge(Protocol):
    """Says what there is to say of jobs."""

    @property
    def at_once(self) -> int:
        """So many jobs are judged in the time of one. [-]."""

    def said(self, jobs: Sequence[Job], depth: Depth) -> list[Said]:
        """Return what is said of each job, as a preview sees it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OwnJudge:
    """Judges jobs in this process, one after the other.

    Attributes
    ----------
    folder, shop : Path, Shop
        Where paths in the jobs start; what there is to make them with.
    drawings : mapping, optional
        Drawings in hand.
    memo : Memo
        Keeps what designs have in common.
    """

    folder: Path
    shop: Shop
    memo: Memo
    drawings: Mapping[str, Drawing] | None = None
    at_once: int = 1
    _seen: dict[Key, MoldDesign] = field(default_factory=dict)
    """Designs of the last jobs that were looked at: their outlines need not be laid again."""

    def said(self, jobs: Sequence[Job], depth: Depth) -> list[Said]:
        """Return what is said of each job, as a preview sees it."""
        if depth is Depth.OUTLOOK:
            self._seen.clear()
        return [self._said(job, depth) for job in jobs]

    def _said(self, job: Job, depth: Depth) -> Said:
        try:
            return self.findings(job, depth)
        except MoldgenError as problem:
            return problem

    def findings(self, job: Job, depth: Depth) -> tuple[Finding, ...]:
        """Return what is said of a job.

        Raises
        ------
        MoldgenError
            If it cannot be made.
        """
        if depth is Depth.WHOLE:
            return self._design(job).mold.findings
        bare = self._bare(job)
        if depth is Depth.OUTLOOK:
            return bare.outlook
        return tuple(one for one in bare.mold.findings if one.code not in _OF_BARE_WALLS)

    def _bare(self, job: Job) -> MoldDesign:
        key = content_key(job)
        if key not in self._seen:
            vents = replace(job.vents, place=False)
            self._seen[key] = self._design(
                replace(job, vents=vents, underside=_NO_UNDERSIDE), placer=_no_vents
            )
        return self._seen[key]

    def _design(
        self, job: Job, placer: Callable[[FormingRun | None], VentPlacer] | None = None
    ) -> MoldDesign:
        return design_mold(
            job, folder=self.folder, shop=self.shop, drawings=self.drawings,
            quality=Quality.PREVIEW, memo=self.memo, placer=placer,
        )  # fmt: skip


def _no_vents(run: FormingRun | None) -> VentPlacer:
    """Return what looks for no places of vents at all."""

    def place(relief: Relief, spec: VentSpec) -> VentPlan:
        return VentPlan((), (), np.zeros_like(relief.on_table_mm))

    return place


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoolJudge:
    """Has jobs judged by a pool, several at a time.

    Attributes
    ----------
    pool : Executor
        Judges them.
    folder, shop : Path, Shop
        Where paths in the jobs start; what there is to make them with.
    stock : mapping of str to str
        The shop's own stock files, by name.
    """

    pool: Executor
    folder: Path
    shop: Shop
    stock: Mapping[str, str]
    at_once: int = 4

    def said(self, jobs: Sequence[Job], depth: Depth) -> list[Said]:
        """Return what is said of each job, as a preview sees it.

        Raises
        ------
        FileError
            If a file that a job names cannot be read.
        """
        told: dict[int, Said] = {}
        for number, answer in answers(self.pool, [self._piece(job, depth) for job in jobs]):
            try:
                found = answer_of(answer).words["findings"]
                told[number] = tuple(map(finding_from, found))
            except MoldgenError as problem:
                told[number] = problem
        return [told[number] for number in range(len(jobs))]

    def _piece(self, job: Job, depth: Depth) -> bytes:
        words, blocks = packed_words(
            job, folder=self.folder, stock=self.stock, experience=self.shop.experience
        )
        return piece_bytes(WORK, {**words, "depth": str(depth)}, blocks)


def judge_piece(words: Mapping[str, Any], blocks: Sequence[bytes], tell: object) -> Message:
    """Judge a job as a piece of work; what is said of it.

    Raises
    ------
    MoldgenError
        If it cannot be made.
    """
    with unpacked_job(words, blocks) as brought:
        judge = OwnJudge(folder=brought.folder, shop=brought.shop, memo=_KEPT)
        found = judge.findings(brought.job, Depth(words["depth"]))
        return Message({"findings": [one.as_dict() for one in found]})
