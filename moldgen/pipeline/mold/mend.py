"""Mend: the smallest changes of a job that clear its cautions and stops.

Every finding names its own cures; each is tried on the job, and the one that leaves the least to
complain of is kept, until nothing grave is left or nothing helps any more.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from math import log
from pathlib import Path
from typing import TYPE_CHECKING

from moldgen.errors import MoldgenError
from moldgen.finding import Finding, Remedy, Severity
from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.job.spec import JobUnderside
from moldgen.memo import Memo
from moldgen.mold.choices import UndersideKind
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.mold.cured import cured_jobs
from moldgen.pipeline.mold.design import MOST_BYTES, design_mold
from moldgen.pipeline.mold.mended import JobChange, MendedJob, grave, still_chosen
from moldgen.pipeline.mold.quality import Quality
from moldgen.pipeline.setting import setting_of
from moldgen.stock import Shop

_Find = Callable[[Job], tuple[Finding, ...]]

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing

MOST_ROUNDS = 4
MOST_WAYS = 2
"""So many ways are told where none clears everything."""

_PRICES = {Remedy.TOP_RADIUS: 0.2, Remedy.BASE_RADIUS: 0.2, Remedy.PLAN_RADIUS: 0.2,
           Remedy.DRAFT: 0.3, Remedy.HEIGHT: 1.0, Remedy.SIZE: 1.5, Remedy.GAUGE: 2.0,
           Remedy.FILAMENT: 3.0, Remedy.PRINTER: 4.0, Remedy.MACHINE: 5.0}  # fmt: skip
"""What a change costs the person who made the job, from a radius to another machine. [-]."""

_NO_UNDERSIDE = JobUnderside(
    kind=UndersideKind.FLAT, label=False, insert="none", pry=False, arrow=False
)
_FAR_MM = 500.0
"""Spacing of vents that are looked for all the same, as far as may be asked. [mm]."""
_OF_BARE_WALLS = frozenset({"no-vents"})
"""What is only said because nothing was cut into the walls."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Try:
    job: Job
    changes: tuple[JobChange, ...]
    findings: tuple[Finding, ...]

    @property
    def rank(self) -> tuple[int, int, float, float]:
        """Stops, cautions, by how much they miss their limits, and what the changes cost."""
        left = grave(self.findings)
        n_stops = sum(one.severity is Severity.STOP for one in left)
        missed = round(sum(map(_missed, left)), 2)
        return n_stops, len(left) - n_stops, missed, _cost(self.changes)


def mend(
    job: Job,
    *,
    folder: Path,
    shop: Shop,
    refuse: Collection[str] = (),
    drawings: Mapping[str, Drawing] | None = None,
    memo: Memo | None = None,
) -> MendedJob:
    """Return a job with the smallest changes that clear its cautions and stops.

    Parameters
    ----------
    job : Job
        What is wanted; what it leaves open is chosen first.
    folder : Path
        Where paths in the job start.
    shop : Shop
        What there is to make it with.
    refuse : collection of str
        Changes that must not be made, such as ``letters.height`` or ``gauge``.
    drawings : mapping, optional
        Drawings in hand, by the name of the SVG file that the job gives for them.
    memo : Memo, optional
        Keeps what is computed for other designs too.

    Raises
    ------
    MoldgenError
        If the job cannot be made as it stands.
    """
    chosen = choose(
        with_names(job), setting=setting_of(job, shop), folder=folder,
        filaments=shop.filaments.entries, drawings=drawings,
    )  # fmt: skip
    kept = Memo(MOST_BYTES) if memo is None else memo
    mender = _Mender(folder, shop, frozenset(refuse), drawings=drawings, memo=kept)
    first = _Try(job=chosen.job, changes=(), findings=mender.findings(chosen.job))
    best, others = mender.mended(first) if grave(first.findings) else (first, ())
    ways = tuple((one.changes, one.findings) for one in others) if grave(best.findings) else ()
    return MendedJob(
        job=best.job, changes=best.changes, before=first.findings, after=best.findings, ways=ways,
        choices=still_chosen(chosen.choices, best.changes),
    )  # fmt: skip


class _Mender:
    """Tries changes; every design takes what it has in common with others from one memo."""

    def __init__(
        self,
        folder: Path,
        shop: Shop,
        refuse: frozenset[str],
        *,
        drawings: Mapping[str, Drawing] | None,
        memo: Memo,
    ) -> None:
        self.folder, self.shop, self.refuse = folder, shop, refuse
        self.drawings, self.memo = drawings, memo

    def findings(self, job: Job) -> tuple[Finding, ...]:
        """Return what is said of a job, as a preview sees it."""
        design = design_mold(
            job, folder=self.folder, shop=self.shop, drawings=self.drawings,
            quality=Quality.PREVIEW, memo=self.memo,
        )  # fmt: skip
        return design.mold.findings

    def wall_findings(self, job: Job) -> tuple[Finding, ...]:
        """Return what is said of a job's walls alone, without vents and underside: much sooner."""
        no_vents = replace(job.vents, place=False, spacing_mm=_FAR_MM)
        bare = replace(job, vents=no_vents, underside=_NO_UNDERSIDE)
        return tuple(one for one in self.findings(bare) if one.code not in _OF_BARE_WALLS)

    def mended(self, first: _Try) -> tuple[_Try, tuple[_Try, ...]]:
        """Return the best that was found, and the nearest others that began otherwise.

        Where all that is grave is said of the walls alone, only these are built to look for it,
        and the whole mold to make sure.
        """
        walls = replace(first, findings=self.wall_findings(first.job))
        if _codes(walls) == _codes(first):
            best, others = self._search(walls, self.wall_findings)
            whole = replace(best, findings=self.findings(best.job))
            if whole.rank[:2] <= best.rank[:2]:
                told = others if grave(whole.findings) else ()
                return whole, tuple(replace(one, findings=self.findings(one.job)) for one in told)
        return self._search(first, self.findings)

    def _search(self, first: _Try, find: _Find) -> tuple[_Try, tuple[_Try, ...]]:
        best, seen = first, [first]
        for _ in range(MOST_ROUNDS):
            tries = list(self._tries(best, find))
            seen += tries
            better = min(tries, key=lambda one: one.rank, default=best)
            if better.rank[:3] >= best.rank[:3]:
                break
            best = better
            if not grave(best.findings):
                break
        others = sorted((one for one in seen if one.changes), key=lambda one: one.rank)
        return best, tuple(_nearest(others))

    def _tries(self, base: _Try, find: _Find) -> Iterator[_Try]:
        """Yield a job with one change more, the cheapest first, until one is clear."""
        for job, changes in sorted(self._changed(base), key=lambda one: _cost(one[1])):
            try:
                found = find(job)
            except MoldgenError:
                continue
            yield _Try(job=job, changes=changes, findings=found)
            if not grave(found):
                return

    def _changed(self, base: _Try) -> Iterator[tuple[Job, tuple[JobChange, ...]]]:
        done: set[tuple[str, str]] = {(one.name, one.after) for one in base.changes}
        for finding in grave(base.findings):
            for cure in finding.cures:
                for job, change in cured_jobs(base.job, finding, cure, shop=self.shop):
                    if change.name not in self.refuse and (change.name, change.after) not in done:
                        done.add((change.name, change.after))
                        yield job, _followed(base.changes, change)


def _codes(tried: _Try) -> list[str]:
    return sorted(one.code for one in grave(tried.findings))


def _cost(changes: tuple[JobChange, ...]) -> float:
    return sum(_PRICES[one.field] for one in changes)


def _missed(finding: Finding) -> float:
    """Return by what share a finding misses its limit; as much again where that is not told."""
    if finding.measured is None or not finding.limit or finding.measured <= 0:
        return 1.0
    return abs(log(finding.measured / finding.limit)) if finding.limit > 0 else 1.0


def _followed(changes: tuple[JobChange, ...], change: JobChange) -> tuple[JobChange, ...]:
    """Return changes with another one; of the same value it takes the place of the earlier."""
    same = [one for one in changes if one.name == change.name]
    others = tuple(one for one in changes if one.name != change.name)
    return (*others, replace(change, before=same[0].before) if same else change)


def _nearest(tries: list[_Try]) -> Iterator[_Try]:
    """Yield the best tries that begin with different changes."""
    begun: set[str] = set()
    for one in tries:
        if one.changes[0].name not in begun and len(begun) < MOST_WAYS:
            begun.add(one.changes[0].name)
            yield one
