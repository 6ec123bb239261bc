"""A job with one cure of a finding applied, in as many ways as there are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil, floor
from typing import Any

from moldgen.finding import Cure, Finding, Remedy, Way
from moldgen.job import Job
from moldgen.job.outline import JobAround, JobDrawn, JobText
from moldgen.job.spec import JobBody, JobFeature
from moldgen.pipeline.mold.mended import JobChange
from moldgen.stock import Shop
from moldgen.wording import gauge_text

_STEPS_MM = {Remedy.HEIGHT: 0.5, Remedy.TOP_RADIUS: 0.05, Remedy.BASE_RADIUS: 0.05,
             Remedy.PLAN_RADIUS: 0.05, Remedy.DRAFT: 0.5}  # fmt: skip


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
    assert now is not None, "chosen first"
    if cure.way is Way.LOWER:
        fit = [one for one in sold if one <= cure.least * 1.02 and one < now][-1:]
    else:
        fit = [one for one in sold if one >= cure.least * 0.98 and one > now][:1]
    for gauge_mm in fit:
        changed = replace(job, sheet=replace(job.sheet, gauge_mm=gauge_mm))
        yield changed, JobChange(
            field=Remedy.GAUGE, feature="", before=gauge_text(now), after=gauge_text(gauge_mm),
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
    sides = {
        one.name: (one.opening_width_mm, one.opening_depth_mm) for one in shop.machines.entries
    }
    name_now = shop.machine(now).name if field is Remedy.MACHINE else shop.printer(now).name
    if field is Remedy.PRINTER:
        sides = {one.name: (one.bed_width_mm, one.bed_depth_mm) for one in shop.printers.entries}
    # One that is longer but less deep would lack the other side then.
    width_mm, depth_mm = sides.pop(name_now)
    enough = [
        (width * depth, name)
        for name, (width, depth) in sides.items()
        if width >= max(needed_mm, width_mm) and depth >= depth_mm
    ]
    yield from (name for _, name in sorted(enough)[:1])


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
