"""What a class has in common: one sheet for all, letters of one height, plaques of one size."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import astuple, dataclass, replace
from pathlib import Path

from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.job.outline import JobAround, JobShape
from moldgen.lesson.class_work.kept_sizes import KeptSizes, KnownSizes
from moldgen.lesson.class_work.person_job import PersonJob, first_text, with_text
from moldgen.lesson.class_work.plaque_size import (
    PlaqueSize,
    needed_size,
    share_of,
    stays_text,
    still_does,
)
from moldgen.pipeline.mold.choose import ChosenJob, choose
from moldgen.pipeline.mold.features import resolve_features
from moldgen.pipeline.setting import setting_of
from moldgen.stock import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class SizedJobs:
    """The jobs of a class, with plaques of one size.

    Attributes
    ----------
    jobs : tuple of PersonJob
        In the same order.
    notes : tuple of str
        Where the size comes from, if their words alone would have another; a sentence each.
    """

    jobs: tuple[PersonJob, ...]
    notes: tuple[str, ...] = ()


def one_sheet(
    jobs: Sequence[PersonJob], *, folder: Path, shop: Shop, kept: KeptSizes | None = None
) -> tuple[PersonJob, ...]:
    """Return the jobs of a class with one thickness of sheet, the least that anybody needs.

    Jobs that say a thickness keep it.
    """
    known = kept or KeptSizes()
    measured = _measured(jobs, _leaves_gauge_open, _gauge_of(folder, shop), known.of("gauge"))
    if not measured:
        return tuple(jobs)
    gauge_mm = min(gauge for gauge, *_ in measured.values())
    return tuple(_with_gauge(one, gauge_mm) if i in measured else one for i, one in enumerate(jobs))


def _leaves_gauge_open(one: PersonJob) -> bool:
    return one.job is not None and one.job.sheet.gauge_mm is None


def _with_gauge(one: PersonJob, gauge_mm: float) -> PersonJob:
    assert one.job is not None
    return replace(one, job=replace(one.job, sheet=replace(one.job.sheet, gauge_mm=gauge_mm)))


def one_size(
    jobs: Sequence[PersonJob],
    *,
    like: Job,
    folder: Path,
    shop: Shop,
    kept: KeptSizes | None = None,
    anew: bool = False,
) -> SizedJobs:
    """Return the jobs of a class with plaques of one size, where a plaque goes round its words.

    The plaque is as large as the longest word needs, but for words much longer than the others:
    their letters are made smaller, and that is told. If the size of an earlier run still does
    (`still_does`), it stays, and that is told too. Jobs of other kinds stay as they are.

    Parameters
    ----------
    jobs : sequence of PersonJob
        Of a class.
    like : Job
        What they make; a size is kept for others like it.
    folder : Path
        Where paths in the jobs start.
    shop : Shop
        What there is to make them with.
    kept : KeptSizes, optional
        What an earlier run measured, and the size that it settled.
    anew : bool
        Whether the size of an earlier run does not count.
    """
    known = kept or KeptSizes()
    heights = _measured(jobs, _leaves_height_open, _height_of(folder, shop), known.of("height"))
    jobs = _one_height(jobs, heights)
    measured = _measured(jobs, _goes_round, _size_of(folder, shop), known.of("size"))
    sizes = {i: PlaqueSize(width, depth) for i, (width, depth) in measured.items()}
    if len(sizes) < 2:
        return SizedJobs(jobs=tuple(jobs))
    spare_mm = max(_margins_mm(jobs[i]) for i in sizes)
    needed = needed_size(list(sizes.values()), spare_mm=spare_mm)

    def settle(earlier: Sequence[float]) -> Sequence[float]:
        before = PlaqueSize(*earlier) if len(earlier) == 2 and not anew else needed
        stays = still_does(before, needed, spare_mm=spare_mm)
        return astuple(before if stays else needed)

    whole = PlaqueSize(*known.of("plaque").settled(like, settle))
    return SizedJobs(
        jobs=tuple(
            _sized(one, sizes[i], whole) if i in sizes else one for i, one in enumerate(jobs)
        ),
        notes=(stays_text(whole, needed),) if str(whole) != str(needed) else (),
    )


def _one_height(
    jobs: Sequence[PersonJob], heights: Mapping[int, Sequence[float]]
) -> tuple[PersonJob, ...]:
    """Return jobs that left the height of their words open with one that suits them all."""
    if not heights:
        return tuple(jobs)
    least_mm = min(height for height, *_ in heights.values())
    return tuple(
        replace(one, job=with_text(_of(one), lambda text: replace(text, height_mm=least_mm)))
        if i in heights
        else one
        for i, one in enumerate(jobs)
    )


def _leaves_height_open(one: PersonJob) -> bool:
    text = None if one.job is None else first_text(one.job)
    return text is not None and text.is_open


def _of(one: PersonJob) -> Job:
    assert one.job is not None
    return one.job


def _measured(
    jobs: Sequence[PersonJob],
    wanted: Callable[[PersonJob], bool],
    measure: Callable[[Job], Sequence[float]],
    known: KnownSizes,
) -> dict[int, Sequence[float]]:
    """Return the measures of each job that is wanted and has them, by its place.

    What cannot be made is left out, and told where it is built.
    """
    found: dict[int, Sequence[float]] = {}
    for i, one in enumerate(jobs):
        if wanted(one) and (sizes := known.get(_of(one), measure)):
            found[i] = sizes
    return found


def _chosen(job: Job, folder: Path, shop: Shop) -> ChosenJob:
    return choose(with_names(job), setting=setting_of(job, shop), folder=folder)


def _gauge_of(folder: Path, shop: Shop) -> Callable[[Job], Sequence[float]]:
    return lambda job: (_chosen(job, folder, shop).setting.sheet.gauge_mm,)


def _height_of(folder: Path, shop: Shop) -> Callable[[Job], Sequence[float]]:
    def measure(job: Job) -> Sequence[float]:
        text = first_text(_chosen(job, folder, shop).job)
        return (text.height_mm,) if text is not None and text.height_mm else ()

    return measure


def _goes_round(one: PersonJob) -> bool:
    """Tell whether a job has one plaque that goes round its words, which have a height."""
    job = one.job
    if job is None or one.entry.job or len(job.body) != 1:
        return False
    text = first_text(job)
    is_round = isinstance(job.body[0].outline, JobAround)
    return is_round and text is not None and text.height_mm is not None


def _size_of(folder: Path, shop: Shop) -> Callable[[Job], Sequence[float]]:
    """Return what measures width and depth of a plaque. [mm]."""

    def measure(job: Job) -> Sequence[float]:
        chosen = _chosen(job, folder, shop)
        resolved = resolve_features(chosen.job, folder=folder, setting=chosen.setting)
        x0, y0, x1, y1 = resolved.bodies[0].region.bounds
        return x1 - x0, y1 - y0

    return measure


def _margins_mm(one: PersonJob) -> float:
    """Return the margins left and right of the words of a plaque. [mm]."""
    around = _of(one).body[0].outline
    assert isinstance(around, JobAround)
    return 2 * around.around_mm


def _sized(one: PersonJob, own: PlaqueSize, whole: PlaqueSize) -> PersonJob:
    """Return a job on the plaque of the class."""
    job = _of(one)
    around = job.body[0].outline
    assert isinstance(around, JobAround)
    spare_mm = _margins_mm(one)
    share = min(
        share_of(whole.width_mm, own.width_mm, spare_mm=spare_mm),
        share_of(whole.depth_mm, own.depth_mm, spare_mm=spare_mm),
    )
    changes = one.changes
    if share < 1:
        job, height_mm = _smaller(job, share)
        changes = (*changes, f"letters {height_mm:g} mm high, so that the word fits")
    corner = around.corner_mm / min(whole.width_mm, whole.depth_mm)
    plaque = JobShape(
        shape="rounded-plaque", width_mm=round(whole.width_mm, 2),
        height_mm=round(whole.depth_mm, 2), proportions=(("corner", round(corner, 4)),),
        x_mm=around.x_mm, y_mm=around.y_mm,
    )  # fmt: skip
    return replace(
        one, job=replace(job, body=(replace(job.body[0], outline=plaque),)), changes=changes
    )


def _smaller(job: Job, share: float) -> tuple[Job, float]:
    """Return a job with smaller letters, and their height. [mm]."""
    text = first_text(job)
    assert text is not None
    assert text.height_mm is not None
    # Down to a tenth, so that the word surely fits.
    height_mm = int(text.height_mm * share * 10) / 10
    return with_text(job, lambda old: replace(old, height_mm=height_mm)), height_mm
