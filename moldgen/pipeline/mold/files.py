"""The files of a mold: meshes, formed part, plan, pictures, report."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from typing import TYPE_CHECKING

from shapely import MultiPolygon

from moldgen.export.report.report import Picture, Report, cautions
from moldgen.job import Job, job_toml
from moldgen.job.spec import MoldRequest
from moldgen.mold.checks import CheckResults
from moldgen.mold.rules import WallRules
from moldgen.mold.sheet.formed import FormedSheet
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import (
    FileSet,
    OutputFile,
    file_set,
    glb_file,
    plan_files,
    stl_files,
    threemf_file,
    with_documents,
)
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.pictures import (
    limit_deg,
    mold_pictures,
    trim_of,
    trusted_leans_deg,
    without_sheet,
)
from moldgen.pipeline.mold.plan import Drilling, drill_list, plan_of
from moldgen.pipeline.mold.rows import numbers_of, summary_of
from moldgen.pipeline.mold.steps import on_the_day
from moldgen.pipeline.mold.tables import mold_tables
from moldgen.pipeline.result import Result
from moldgen.pipeline.setting import Setting
from moldgen.solid.mesh import Body

if TYPE_CHECKING:
    from moldgen.pipeline.mold.day import TableDay


Progress = Callable[[str], None]


def mold_made(
    job: Job,
    mold: Mold,
    setting: Setting,
    rules: Mapping[str, WallRules],
    progress: Progress,
    *,
    day: TableDay,
    besides: Iterable[OutputFile] = (),
) -> Result:
    """Return what becomes of a mold: its rows and figures, and every file the job asks for.

    Parameters
    ----------
    besides : iterable of OutputFile
        Files that are no work of the mold's, such as the drawing it was raised from.
    """
    drilling = drill_list(mold)
    progress("5/6 drawing plans and pictures")
    glb = partial(colored_glb, mold.bodies, mold.checked, limit_deg(mold))
    meshes = mesh_files(job, mold.bodies, glb=glb, job_text=job_toml(job))
    written = mold_file_set(job, mold, setting, drilling=drilling, meshes=(*meshes, *besides))
    progress("6/6 writing the report")
    made = Result(
        title=job.title,
        summary=summary_of(job, mold, setting, drilling, day),
        findings=mold.findings,
        numbers=numbers_of(mold, drilling, day),
    )
    return with_documents(
        made,
        written,
        lambda: Report(
            title=job.title,
            subtitle=f"{job.side.value.capitalize()} vacuum-forming mold",
            tables=mold_tables(
                mold, rules, drilling, setting, wanted_mm=job.forming.least_mm, day=day
            ),
            steps=on_the_day(job, mold, setting, drilling, day),
            cautions=cautions(),
            job_text=job_toml(job),
        ),
    )


def mold_file_set(
    job: MoldRequest,
    mold: Mold,
    setting: Setting,
    *,
    drilling: Sequence[Drilling],
    meshes: Iterable[OutputFile],
    before: Callable[[], tuple[Picture, ...]] = lambda: (),
) -> FileSet:
    """Return meshes, plans and pictures of a mold that its job asks for.

    Parameters
    ----------
    meshes : iterable of OutputFile
        The mold itself.
    before : callable
        Makes pictures that come before the mold's usual ones, if any are wanted.
    """
    name = file_name(job.title)
    plan = cache(lambda: plan_of(job, mold, setting, drilling))
    drawings = plan_files(
        f"{name}-plan", plan,
        paper=job.output.paper, purpose="plan at 1:1", on_paper=without_sheet,
    )  # fmt: skip
    formed: tuple[OutputFile, ...] = ()
    if mold.formed is not None:
        formed = (*formed_files(job.title, mold.formed, trim_of(job, mold)), *_kept_run(job, mold))
    return file_set(
        (*meshes, *formed, *drawings),
        job.output.formats,
        pictures=lambda: (*before(), *mold_pictures(job, mold, setting, plan())),
        picture_stem=f"{name}-",
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
    from moldgen.export.picture.views import draft_colors

    colors = draft_colors(trusted_leans_deg(checked), limit_deg=limit_deg)
    counts = [len(body.mesh.triangles) for body in bodies]
    ends = [sum(counts[: k + 1]) for k in range(len(counts))]
    own = [colors[end - count : end] for end, count in zip(ends, counts, strict=True)]
    return glb_bytes(bodies, colors=own)
