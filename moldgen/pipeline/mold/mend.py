"""Mend: the smallest changes of a job that clear its cautions and stops.

Every finding names its own cures; each is tried on the job, and the one that leaves the least to
complain of is kept, until nothing grave is left or nothing helps any more.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from math import ceil, floor, log
from pathlib import Path
from typing import Any

from moldgen.errors import MoldgenError
from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.job.outline import JobAround, JobDrawn, JobText
from moldgen.job.spec import JobBody, JobFeature
from moldgen.memo import Memo
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.mold.design import MOST_BYTES, design_mold
from moldgen.pipeline.mold.quality import Quality
from moldgen.pipeline.setting import setting_of
from moldgen.stock import Shop

MOST_ROUNDS = 4
MOST_WAYS = 2
"""So many ways are told where none clears everything."""

_STEPS_MM = {Remedy.HEIGHT: 0.5, Remedy.TOP_RADIUS: 0.05, Remedy.BASE_RADIUS: 0.05,
             Remedy.PLAN_RADIUS: 0.05, Remedy.DRAFT: 0.5}  # fmt: skip
_PRICES = {Remedy.TOP_RADIUS: 0.2, Remedy.BASE_RADIUS: 0.2, Remedy.PLAN_RADIUS: 0.2,
           Remedy.DRAFT: 0.3, Remedy.HEIGHT: 1.0, Remedy.SIZE: 1.5, Remedy.GAUGE: 2.0,
           Remedy.FILAMENT: 3.0, Remedy.PRINTER: 4.0, Remedy.MACHINE: 5.0}  # fmt: skip
"""What a change costs the person who made the job, from a radius to another machine. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobChange:
    """One value of a job that was changed.

    Attributes
    ----------
    field : Remedy
        What was changed.
    feature : str
        Of which feature; empty for the whole job.
    before, after : str
        What it was and is, in words with units.
    because : str
        What it cures.
    """

    field: Remedy
    feature: str
    before: str
    after: str
    because: str

    @property
    def name(self) -> str:
        """What to refuse it by, such as ``letters.height``."""
        return f"{self.feature}.{self.field}" if self.feature else str(self.field)

    @property
    def text(self) -> str:
        """It in a line."""
        return f"{self.name}: {self.before} -> {self.after} ({self.because})"


@dataclass(frozen=True, slots=True, kw_only=True)
class MendedJob:
    """A job with changes, and what is left to say of it.

    Attributes
    ----------
    job : Job
        With the changes.
    changes : tuple of JobChange
        In the order they were made; none if nothing had to be, or could be, changed.
    before, after : tuple of Finding
        What is said of the job as it was, and as it is now.
    ways : tuple of (changes, findings)
        Where something grave is left: the nearest ways, with what each would leave.
    """

    job: Job
    changes: tuple[JobChange, ...]
    before: tuple[Finding, ...]
    after: tuple[Finding, ...]
    ways: tuple[tuple[tuple[JobChange, ...], tuple[Finding, ...]], ...] = ()

    @property
    def is_clear(self) -> bool:
        """Whether no caution and no stop is left."""
        return not _grave(self.after)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Try:
    job: Job
    changes: tuple[JobChange, ...]
    findings: tuple[Finding, ...]

    @property
    def rank(self) -> tuple[int, int, float, float]:
        """Stops, cautions, by how much they miss their limits, and what the changes cost."""
        grave = _grave(self.findings)
        n_stops = sum(one.severity is Severity.STOP for one in grave)
        missed = round(sum(map(_missed, grave)), 2)
        cost = sum(_PRICES[one.field] for one in self.changes)
        return n_stops, len(grave) - n_stops, missed, cost


def mend(
    job: Job,
    *,
    folder: Path,
    shop: Shop,
    refuse: Collection[str] = (),
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
    memo : Memo, optional
        Keeps what is computed for other designs too.

    Raises
    ------
    MoldgenError
        If the job cannot be made as it stands.
    """
    setting = setting_of(job, shop)
    chosen = choose(with_names(job), setting=setting, folder=folder).job
    mender = _Mender(folder, shop, frozenset(refuse), Memo(MOST_BYTES) if memo is None else memo)
    first = _Try(job=chosen, changes=(), findings=mender.findings(chosen))
    best, others = mender.search(first)
    ways = tuple((one.changes, one.findings) for one in others) if _grave(best.findings) else ()
    return MendedJob(
        job=best.job, changes=best.changes, before=first.findings, after=best.findings, ways=ways
    )


class _Mender:
    """Tries changes; every design takes what it has in common with others from one memo."""

    def __init__(self, folder: Path, shop: Shop, refuse: frozenset[str], memo: Memo) -> None:
        self.folder, self.shop, self.refuse, self.memo = folder, shop, refuse, memo

    def findings(self, job: Job) -> tuple[Finding, ...]:
        """Return what is said of a job, as a preview sees it."""
        design = design_mold(
            job, folder=self.folder, shop=self.shop, quality=Quality.PREVIEW, memo=self.memo
        )
        return design.mold.findings

    def search(self, first: _Try) -> tuple[_Try, tuple[_Try, ...]]:
        """Return the best that was found, and the nearest others that began otherwise."""
        best, seen = first, [first]
        for _ in range(MOST_ROUNDS):
            tries = list(self._tries(best))
            seen += tries
            better = min(tries, key=lambda one: one.rank, default=best)
            if better.rank[:3] >= best.rank[:3]:
                break
            best = better
            if not _grave(best.findings):
                break
        others = sorted((one for one in seen if one.changes), key=lambda one: one.rank)
        return best, tuple(_nearest(others))

    def _tries(self, base: _Try) -> Iterator[_Try]:
        done: set[tuple[str, str]] = {(one.name, one.after) for one in base.changes}
        for finding in _grave(base.findings):
            for cure in finding.cures:
                for job, change in cured_jobs(base.job, finding, cure, shop=self.shop):
                    if change.name in self.refuse or (change.name, change.after) in done:
                        continue
                    done.add((change.name, change.after))
                    try:
                        found = self.findings(job)
                    except MoldgenError:
                        continue
                    yield _Try(job=job, changes=_followed(base.changes, change), findings=found)


def cured_jobs(
    job: Job, finding: Finding, cure: Cure, *, shop: Shop
) -> Iterator[tuple[Job, JobChange]]:
    """Yield a job with one cure of a finding applied, in as many ways as there are.

    Parameters
    ----------
    job : Job
        What the finding is about.
    finding, cure : Finding, Cure
        One of its cures.
    shop : Shop
        What else there is to make it with.
    """
    because = finding.code.replace("-", " ")
    if cure.field is Remedy.GAUGE:
        yield from _regauged(job, cure, because, shop)
    elif cure.way is Way.OTHER:
        yield from _with_other(job, finding, cure.field, shop)
    else:
        for name in _subjects(job, finding.subject, cure.field):
            yield from _reshaped(job, name, cure, because)


def _regauged(job: Job, cure: Cure, because: str, shop: Shop) -> Iterator[tuple[Job, JobChange]]:
    assert cure.least is not None
    sold = sorted({one.gauge_mm for one in shop.gauges_for(job.sheet.plastic)})
    now = job.sheet.gauge_mm
    if cure.way is Way.LOWER:
        fit = [one for one in sold if one <= cure.least * 1.02 and one < now][-1:]
    else:
        fit = [one for one in sold if one >= cure.least * 0.98 and one > now][:1]
    for gauge_mm in fit:
        changed = replace(job, sheet=replace(job.sheet, gauge_mm=gauge_mm))
        yield changed, JobChange(
            field=Remedy.GAUGE, feature="", before=f"{now:.3g} mm", after=f"{gauge_mm:.3g} mm",
            because=because,
        )  # fmt: skip


def _with_other(
    job: Job, finding: Finding, field: Remedy, shop: Shop
) -> Iterator[tuple[Job, JobChange]]:
    now = getattr(job, str(field))
    for name in _others(now, finding, field, shop):
        named: dict[str, Any] = {str(field): name}
        yield replace(job, **named), JobChange(
            field=field, feature="", before=now, after=name,
            because=finding.code.replace("-", " "),
        )  # fmt: skip


def _others(now: str, finding: Finding, field: Remedy, shop: Shop) -> Iterator[str]:
    """Yield the entries of the stock that may help: the least that is enough, by itself."""
    if field is Remedy.FILAMENT:
        soft = shop.filament(now).softens_degC
        harder = [one for one in shop.filaments.entries if one.softens_degC > soft]
        yield from (one.name for one in sorted(harder, key=lambda one: one.softens_degC)[:2])
        return
    needed_mm = finding.measured or 0.0
    sized = [
        (one.opening_width_mm * one.opening_depth_mm, one.opening_width_mm, one.name)
        for one in shop.machines.entries
    ]
    if field is Remedy.PRINTER:
        sized = [
            (one.bed_width_mm * one.bed_depth_mm, one.bed_width_mm, one.name)
            for one in shop.printers.entries
        ]
    enough = sorted(one for one in sized if one[1] >= needed_mm and one[2] != now)
    yield from (name for _, _, name in enough[:1])


def _grave(findings: tuple[Finding, ...]) -> list[Finding]:
    return [one for one in findings if one.severity is not Severity.NOTE]


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


def _walk(feature: JobFeature) -> Iterator[JobFeature]:
    yield feature
    for child in (*feature.raised, *feature.sunk):
        yield from _walk(child)


def _subjects(job: Job, subject: str, field: Remedy) -> list[str]:
    """Return the features that a finding is about, by name, that a field of can be changed."""
    features = [one for body in job.body for one in _walk(body)]
    own = [one for one in features if one.name == subject]
    # What lies between features is told of what carries them; a piece, of the body it is cut from.
    if not own:
        own = [one for one in features if subject.startswith(one.name)] or list(job.body)
    if field is Remedy.SIZE:
        own = [part for one in own for part in _sized(one)]
    elif field is Remedy.HEIGHT and own and own[0].raised and subject == own[0].name:
        own = [*own, *own[0].raised]
    return list(dict.fromkeys(one.name for one in own))


def _sized(feature: JobFeature) -> Iterator[JobFeature]:
    """Yield what gives a feature its size: itself, or what it lies around."""
    if not isinstance(feature.outline, JobAround):
        yield feature
        return
    for child in (*feature.raised, *feature.sunk):
        yield from _sized(child)


def _reshaped(job: Job, name: str, cure: Cure, because: str) -> Iterator[tuple[Job, JobChange]]:
    told: list[JobChange] = []

    def change(feature: JobFeature) -> JobFeature:
        if feature.name != name:
            return replace(
                feature,
                raised=tuple(map(change, feature.raised)),
                sunk=tuple(map(change, feature.sunk)),
            )
        changed, words = (
            _resized(feature, cure) if cure.field is Remedy.SIZE else _set(feature, cure)
        )
        if words is not None:
            told.append(
                JobChange(
                    field=cure.field, feature=name, before=words[0], after=words[1],
                    because=because,
                )
            )  # fmt: skip
        return changed

    bodies = tuple(change(body) for body in job.body)
    assert all(isinstance(body, JobBody) for body in bodies)
    if told:
        yield replace(job, body=bodies), told[0]  # type: ignore[arg-type]  # replace keeps the type


_Words = tuple[str, str] | None


def _set(feature: JobFeature, cure: Cure) -> tuple[JobFeature, _Words]:
    """Return a feature with one number changed to what cures, rounded the way that still does."""
    assert cure.least is not None
    unit = "deg" if cure.field is Remedy.DRAFT else "mm"
    word = f"{cure.field}_{unit}"
    now = getattr(feature, word)
    step = _STEPS_MM[cure.field]
    if cure.way is Way.LOWER:
        value = floor(cure.least / step + 1e-9) * step
        if value <= 0 or (now is not None and value >= now):
            return feature, None
    else:
        value = ceil(cure.least / step - 1e-9) * step
        if now is None or value <= now:
            return feature, None
    value = round(value, 3)
    was = "by the rule" if now is None else f"{now:g}"
    sign = "°" if unit == "deg" else " mm"
    changed: dict[str, Any] = {word: value}
    return replace(feature, **changed), (was + (sign if now else ""), f"{value:g}{sign}")


def _resized(feature: JobFeature, cure: Cure) -> tuple[JobFeature, _Words]:
    """Return a feature whose outline is larger or smaller by a factor."""
    outline, factor = feature.outline, cure.least
    if not isinstance(outline, JobDrawn) or factor is None:
        return feature, None
    word = "height_mm" if isinstance(outline, JobText) and outline.height_mm else "width_mm"
    now = getattr(outline, word)
    if now is None:
        return feature, None
    rounding = ceil if cure.way is Way.HIGHER else floor
    value = float(rounding(factor * now * (1 - 1e-9)))
    if value <= 0 or value == now:
        return feature, None
    both: dict[str, Any] = {word: value}
    if word == "width_mm" and not isinstance(outline, JobText) and outline.height_mm is not None:
        both["height_mm"] = outline.height_mm * value / now
    changed = replace(feature, outline=replace(outline, **both))
    return changed, (f"{now:g} mm", f"{value:g} mm")
