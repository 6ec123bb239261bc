"""The files of a mold: meshes, formed part, plan, pictures, report."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from typing import TYPE_CHECKING

from shapely import MultiPolygon

from moldgen.export.report.report import Picture, Report, cautions
from moldgen.job import Job, job_toml
from moldgen.job.spec import MoldRequest, Paper
from moldgen.mold.checks import CheckResults
from moldgen.mold.rules import WallRules
from moldgen.pipeline.chosen_value import ChosenValue, choice_tables
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import (
    OutputFile,
    glb_file,
    plan_files,
    stl_files,
    threemf_file,
)
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.pictures import (
    limit_deg,
    mold_pictures,
    trusted_leans_deg,
    without_sheet,
)
from moldgen.pipeline.mold.plan import Drilling, drill_list, plan_of
from moldgen.pipeline.mold.rows import numbers_of, summary_of
from moldgen.pipeline.mold.trim_region import trim_plan_of
from moldgen.pipeline.output import Output
from moldgen.pipeline.papers import card_file, risk_file
from moldgen.pipeline.result import Result
from moldgen.pipeline.setting import Setting
from moldgen.pipeline.stage import Stage
from moldgen.solid.mesh import Body
from moldgen.trust import trust_in_mold

if TYPE_CHECKING:
    from moldgen.export.card.job_card import JobCard
    from moldgen.export.card.risk_form import RiskForm
    from moldgen.export.plan.plan import Plan
    from moldgen.mold.sheet.formed import FormedSheet
    from moldgen.pipeline.mold.day import TableDay


def mold_output(
    job: Job,
    mold: Mold,
    setting: Setting,
    rules: Mapping[str, WallRules],
    *,
    day: TableDay,
    choices: Sequence[ChosenValue] = (),
    besides: Iterable[OutputFile] = (),
) -> Output:
    """Return what becomes of a mold: its rows and figures, and what its files are made of.

    Parameters
    ----------
    choices : sequence of ChosenValue
        What was chosen where nobody asked for a value.
    besides : iterable of OutputFile
        Files that are no work of the mold's, such as the drawing it was raised from.
    """
    drilling = drill_list(mold)
    glb = partial(colored_glb, mold.bodies, mold.checked, limit_deg(mold))
    meshes = mesh_files(job, mold.bodies, glb=glb, job_text=job_toml(job))

    def report() -> Report:
        from moldgen.pipeline.mold.steps import on_the_day
        from moldgen.pipeline.mold.tables import mold_tables

        return Report(
            title=job.title,
            subtitle=f"{job.side.value.capitalize()} vacuum-forming mold",
            tables=(
                *choice_tables(choices),
                *mold_tables(
                    mold, rules, drilling, setting, wanted_mm=job.forming.least_mm, day=day
                ),
            ),
            steps=on_the_day(job, mold, setting, drilling, day),
            trust=trust_in_mold(is_formed=mold.followed is not None),
            cautions=cautions(),
            job_text=job_toml(job),
        )

    return shape_output(
        job, mold, setting,
        told=Result(
            title=job.title,
            summary=summary_of(job, mold, setting, drilling, day),
            findings=mold.findings,
            numbers=numbers_of(mold, drilling, day),
            choices=tuple(choices),
        ),
        drilling=drilling,
        meshes=(*meshes, *besides),
        report=report,
        papers=partial(_paper_files, job, mold, setting, drilling=drilling, day=day),
    )  # fmt: skip


def _paper_files(
    job: Job,
    mold: Mold,
    setting: Setting,
    plan: Callable[[], Plan],
    *,
    paper: Paper,
    drilling: Sequence[Drilling],
    day: TableDay,
) -> Iterator[OutputFile]:
    """Yield the papers that go with a mold to the table: job card and risk assessment form."""

    def card() -> JobCard:
        from moldgen.pipeline.mold.card import job_card

        return job_card(
            job, mold, setting,
            drilling=drilling, day=day, plan=plan(), link=job.output.link,
        )  # fmt: skip

    def risks() -> RiskForm:
        from moldgen.pipeline.mold.risks import mold_risk_form

        return mold_risk_form(job, mold, setting, drilling)

    name = file_name(job.title)
    yield card_file(name, card, paper=paper, purpose="the job card, for the table")
    yield risk_file(name, risks, paper=paper)


def shape_output(
    job: MoldRequest,
    mold: Mold,
    setting: Setting,
    *,
    told: Result,
    drilling: Sequence[Drilling],
    meshes: Iterable[OutputFile],
    report: Callable[[], Report],
    before: Callable[[], tuple[Picture, ...]] = lambda: (),
    templates: Callable[[Paper], Iterable[OutputFile]] = lambda _: (),
    papers: Callable[..., Iterable[OutputFile]] = lambda *_, **__: (),
) -> Output:
    """Return meshes, plans and pictures of a mold, whatever its walls were made from.

    Parameters
    ----------
    told : Result
        Title, summary, findings and numbers.
    report : callable
        Makes the report.
    meshes : iterable of OutputFile
        The mold itself.
    before : callable
        Makes pictures that come before the mold's usual ones, if any are wanted.
    templates : callable
        Offers what the mold is sawn by, for a paper.
    papers : callable
        Offers job card and risk assessment form, for the plan and a paper.
    """
    name = file_name(job.title)
    plan = cache(lambda: plan_of(job, mold, setting, drilling))
    solids = tuple(meshes)

    def files(paper: Paper) -> Iterator[OutputFile]:
        yield from templates(paper)
        yield from solids
        if mold.formed is not None:
            yield from formed_files(
                job.title, mold.formed, trim_plan_of(job, mold, setting.sheet).region
            )
            yield from _kept_run(job, mold)
        yield from plan_files(
            f"{name}-plan", plan, paper=paper, purpose="plan at 1:1", on_paper=without_sheet
        )
        yield from papers(plan, paper=paper)

    return Output(
        told=told,
        bodies=mold.bodies,
        files=files,
        pictures=lambda: (*before(), *mold_pictures(job, mold, setting, plan())),
        report=report,
        formats=job.output.formats,
        paper=job.output.paper,
        units=job.output.units,
        picture_stem=f"{name}-",
        stages=(Stage(5, 6, "drawing plans and pictures"), Stage(6, 6, "writing the report")),
    )


def mesh_files(
    job: MoldRequest, bodies: Sequence[Body], *, glb: Callable[[], bytes], job_text: str = ""
) -> Iterator[OutputFile]:
    """Yield the meshes of a mold.

    Parameters
    ----------
    glb : callable
        Makes the GLB, if it is wanted.
    job_text : str
        The job that makes the mold again, if there is one.
    """
    name = file_name(job.title)
    purpose = "the mold for the slicer, in millimeters"
    yield from stl_files(name, bodies, title=job.title, purpose=purpose)
    metadata = {"Description": f"Vacuum-forming mold: {job.title}"}
    metadata |= {"job": job_text} if job_text else {}
    purpose = "the mold for the slicer, with names and units"
    yield threemf_file(name, lambda: bodies, title=job.title, metadata=metadata, purpose=purpose)
    yield glb_file(name, glb, purpose="the mold to look at, colored by draft")


def formed_files(title: str, formed: FormedSheet, trim: MultiPolygon) -> Iterator[OutputFile]:
    """Yield the formed part as a solid."""
    from moldgen.pipeline.mold.forming_files import part_bodies, part_glb

    name = f"{file_name(title)}-part"
    bodies = cache(lambda: part_bodies(formed, trim, title))
    yield threemf_file(
        name, bodies, title=title, metadata={"Description": f"Formed part: {title}"},
        purpose="the formed part with its thickness, in millimeters",
    )  # fmt: skip
    yield glb_file(
        name, lambda: part_glb(formed, bodies()),
        purpose="the formed part to look at, colored by thickness",
    )  # fmt: skip


def _kept_run(job: MoldRequest, mold: Mold) -> Iterator[OutputFile]:
    """Yield the run itself, if the job keeps it."""
    if mold.formed is None or not job.forming.keep:
        return
    from moldgen.physics.membrane.run_file import write_run

    yield OutputFile(
        name=f"{file_name(job.title)}-forming.npz",
        purpose="the forming run, to be read again",
        content=partial(write_run, mold.formed.run),
        format=None,
    )


def colored_glb(bodies: Sequence[Body], checked: CheckResults, limit_deg: float) -> bytes:
    """Return a GLB of bodies, their walls colored by draft."""
    from moldgen.export.mesh.glb import glb_bytes
    from moldgen.export.picture.draft_map import draft_colors

    colors = draft_colors(trusted_leans_deg(checked), limit_deg=limit_deg)
    counts = [len(body.mesh.triangles) for body in bodies]
    ends = [sum(counts[: k + 1]) for k in range(len(counts))]
    own = [colors[end - count : end] for end, count in zip(ends, counts, strict=True)]
    return glb_bytes(bodies, colors=own)
