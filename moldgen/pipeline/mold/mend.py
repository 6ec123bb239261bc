"""Mend: the smallest changes of a job that clear its cautions and stops.

Every finding names its own cures; each is tried on the job, and the one that leaves the least to
complain of is kept, until nothing grave is left or nothing helps any more.

What soon is seen of a mold is a part of all that is said of it, so that a try can be no better
than that: tries are built further in that order, and those that could not be best are not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from math import log
from pathlib import Path
from typing import TYPE_CHECKING

from moldgen.errors import MoldgenError
from moldgen.finding import Finding, Remedy, Severity
from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.memo import Memo
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.mold.cured import cured_jobs
from moldgen.pipeline.mold.design import MOST_BYTES
from moldgen.pipeline.mold.judge import Depth, Judge, OwnJudge, PoolJudge
from moldgen.pipeline.mold.mended import JobChange, MendedJob, grave, still_chosen
from moldgen.pipeline.setting import setting_of
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.stock import Shop

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing

MOST_ROUNDS = 4
MOST_WAYS = 2
"""So many ways are told where none clears everything."""

_PRICES = {Remedy.TOP_RADIUS: 0.2, Remedy.BASE_RADIUS: 0.2, Remedy.PLAN_RADIUS: 0.2,
           Remedy.DRAFT: 0.3, Remedy.HEIGHT: 1.0, Remedy.SIZE: 1.5, Remedy.GAUGE: 2.0,
           Remedy.FILAMENT: 3.0, Remedy.PRINTER: 4.0, Remedy.MACHINE: 5.0}  # fmt: skip
"""What a change costs the person who made the job, from a radius to another machine. [-]."""

Rank = tuple[int, int, float, float]
"""Stops, cautions, by how much they miss their limits, and what the changes cost."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """A job with changes, and what is said of it.

    Attributes
    ----------
    job : Job
        With the changes.
    changes : tuple of JobChange
        What was changed.
    findings : tuple of Finding
        What is said of it, or soon is seen.
    """

    job: Job
    changes: tuple[JobChange, ...]
    findings: tuple[Finding, ...]

    @property
    def rank(self) -> Rank:
        """How much there is to complain of, if this is all that is said."""
        left = grave(self.findings)
        n_stops = sum(one.severity is Severity.STOP for one in left)
        missed = round(sum(map(_missed, left)), 2)
        return n_stops, len(left) - n_stops, missed, _cost(self.changes)

    @property
    def least_rank(self) -> Rank:
        """The best rank of a job of which this is said, and perhaps more.

        Many findings of one rule may be told as one.
        """
        rules: dict[str, list[Finding]] = {}
        for one in grave(self.findings):
            rules.setdefault(one.code, []).append(one)
        stops = [code for code, same in rules.items() if any(_is_stop(one) for one in same)]
        missed = sum(
            min(_missed(one) for one in same if _is_stop(one) == (code in stops))
            for code, same in rules.items()
        )
        return len(stops), len(rules) - len(stops), round(missed, 2), _cost(self.changes)


def mend(
    job: Job,
    *,
    folder: Path,
    shop: Shop,
    refuse: Collection[str] = (),
    drawings: Mapping[str, Drawing] | None = None,
    memo: Memo | None = None,
    pool: Executor | None = None,
    stock: Mapping[str, str] | None = None,
    progress: Progress = quiet,
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
        Drawings in hand, by the name of the SVG file that the job gives for them; with them this
        process does all of it.
    memo : Memo, optional
        Keeps what is computed for other designs too, where this process tries.
    pool : Executor, optional
        Tries several changes at a time; this process, one after the other, if left out.
    stock : mapping of str to str, optional
        The shop's own stock files, by name, which a pool needs.
    progress : callable
        Told of each round of tries.

    Raises
    ------
    MoldgenError
        If the job cannot be made as it stands.
    """
    chosen = choose(
        with_names(job), setting=setting_of(job, shop), folder=folder,
        filaments=shop.filaments.entries, drawings=drawings,
    )  # fmt: skip
    judge: Judge
    if pool is None or stock is None or drawings:
        kept = Memo(MOST_BYTES) if memo is None else memo
        judge = OwnJudge(folder=folder, shop=shop, drawings=drawings, memo=kept)
    else:
        judge = PoolJudge(pool=pool, folder=folder, shop=shop, stock=stock)
    mender = _Mender(judge, shop, frozenset(refuse), progress)
    first = mender.first(chosen.job)
    best, others = mender.mended(first) if grave(first.findings) else (first, ())
    ways = tuple((one.changes, one.findings) for one in others) if grave(best.findings) else ()
    return MendedJob(
        job=best.job, changes=best.changes, before=first.findings, after=best.findings, ways=ways,
        choices=still_chosen(chosen.choices, best.changes),
    )  # fmt: skip


class _Mender:
    """Tries changes, and has them judged."""

    def __init__(
        self, judge: Judge, shop: Shop, refuse: frozenset[str], progress: Progress
    ) -> None:
        self.judge, self.shop, self.refuse, self.progress = judge, shop, refuse, progress

    def first(self, job: Job) -> Try:
        """Return a job as it stands, with all that is said of it."""
        self.progress(Stage(1, MOST_ROUNDS + 2, "looking at the job as it stands"))
        return Try(job=job, changes=(), findings=self._findings(job, Depth.WHOLE))

    def _findings(self, job: Job, depth: Depth) -> tuple[Finding, ...]:
        (said,) = self.judge.said([job], depth)
        if isinstance(said, MoldgenError):
            raise said
        return said

    def mended(self, first: Try) -> tuple[Try, tuple[Try, ...]]:
        """Return the best that was found, and the nearest others that began otherwise.

        Where all that is grave is said of the walls alone, only these are built to look for it,
        and the whole mold to make sure.
        """
        walls = replace(first, findings=self._findings(first.job, Depth.WALLS))
        if _codes(walls) == _codes(first):
            best, others = self._search(walls, Depth.WALLS)
            whole = replace(best, findings=self._findings(best.job, Depth.WHOLE))
            if whole.rank[:2] <= best.rank[:2]:
                told = others if grave(whole.findings) else ()
                return whole, tuple(
                    replace(one, findings=self._findings(one.job, Depth.WHOLE)) for one in told
                )
        return self._search(first, Depth.WHOLE)

    def _search(self, first: Try, depth: Depth) -> tuple[Try, tuple[Try, ...]]:
        best, seen = first, list[_Candidate]()
        for number in range(MOST_ROUNDS):
            self.progress(Stage(number + 2, MOST_ROUNDS + 2, "trying changes"))
            candidates = self._candidates(best)
            seen += candidates
            better = next(self._in_order(candidates, depth), best)
            if better.rank[:3] >= best.rank[:3]:
                break
            best = better
            if not grave(best.findings):
                return best, ()
        return best, tuple(_nearest(self._in_order(seen, depth)))

    def _candidates(self, base: Try) -> list[_Candidate]:
        """Return a job with one change more, in all ways, the cheapest first."""
        changed = sorted(self._changed(base), key=lambda one: _cost(one[1]))
        seen = self.judge.said([job for job, _ in changed], Depth.OUTLOOK)
        return [
            _Candidate(seen=Try(job=job, changes=changes, findings=said))
            for (job, changes), said in zip(changed, seen, strict=True)
            if not isinstance(said, MoldgenError)
        ]

    def _in_order(self, candidates: Iterable[_Candidate], depth: Depth) -> Iterator[Try]:
        """Yield tries, the best first; none is looked at further before it could be the next."""
        waiting = list(candidates)
        while waiting:
            waiting.sort(key=lambda one: one.rank)  # of equals the cheaper stays before
            if (tried := waiting[0].tried) is not None:
                del waiting[0]
                yield tried
                continue
            ahead = [one for one in waiting[: self.judge.at_once] if one.tried is None]
            self._try(ahead, depth)
            waiting = [one for one in waiting if one.tried is not None or one not in ahead]

    def _try(self, candidates: list[_Candidate], depth: Depth) -> None:
        for one, said in zip(
            candidates, self.judge.said([one.seen.job for one in candidates], depth), strict=True
        ):
            one.tried = None if isinstance(said, MoldgenError) else replace(one.seen, findings=said)

    def _changed(self, base: Try) -> Iterator[tuple[Job, tuple[JobChange, ...]]]:
        done: set[tuple[str, str]] = {(one.name, one.after) for one in base.changes}
        for finding in grave(base.findings):
            for cure in finding.cures:
                for job, change in cured_jobs(base.job, finding, cure, shop=self.shop):
                    if change.name not in self.refuse and (change.name, change.after) not in done:
                        done.add((change.name, change.after))
                        yield job, _followed(base.changes, change)


@dataclass(slots=True, eq=False)
class _Candidate:
    """A job that may be tried: what soon is seen of it, and if it was tried all that is said."""

    seen: Try
    tried: Try | None = None

    @property
    def rank(self) -> Rank:
        return self.seen.least_rank if self.tried is None else self.tried.rank


def _is_stop(finding: Finding) -> bool:
    return finding.severity is Severity.STOP


def _codes(tried: Try) -> list[str]:
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


def _nearest(tries: Iterable[Try]) -> Iterator[Try]:
    """Yield the best tries that begin with different changes."""
    begun: set[str] = set()
    for one in tries:
        if one.changes[0].name not in begun:
            begun.add(one.changes[0].name)
            yield one
        if len(begun) == MOST_WAYS:
            return
