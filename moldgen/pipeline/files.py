"""The files of a job: meshes, plan, pictures, report, findings."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.export.plan import Layer, Plan
from moldgen.export.report import Picture, Report, cautions, problem_places, report_html_bytes
from moldgen.finding import Finding
from moldgen.job import Job, job_toml
from moldgen.job.spec import Format, MoldRequest
from moldgen.mold.checks import Checked
from moldgen.mold.checks.draft import TOLERANCE_DEG
from moldgen.mold.rules import WallRules
from moldgen.pipeline.layout import Drilling, drill_list, plan_of
from moldgen.pipeline.made import Made
from moldgen.pipeline.mold import Mold, Setting, trim_region
from moldgen.pipeline.words import mold_tables, numbers_of, on_the_day, summary_of
from moldgen.solid.mesh import Body, joined

if TYPE_CHECKING:
    from moldgen.pipeline.working import Working

Progress = Callable[[str], None]

_PLANNED = {Format.SVG, Format.DXF, Format.PDF}
_PICTURED = {Format.PNG, Format.HTML}

_FOR = {
    "-part.3mf": "the formed part with its thickness, in millimeters",
    "-part.glb": "the formed part to look at, coloured by thickness",
    ".npz": "the forming run, to be read again",
    ".stl": "the mold for the slicer, in millimeters",
    ".3mf": "the mold for the slicer, with names and units",
    ".glb": "the mold to look at, coloured by draft",
    ".svg": "plan at 1:1",
    ".dxf": "plan at 1:1",
    ".pdf": "plan at 1:1 to print, with a check bar",
    ".png": "picture",
    ".html": "this report",
    ".json": "the findings for programs",
}


def mold_made(
    job: Job,
    mold: Mold,
    setting: Setting,
    rules: Mapping[str, WallRules],
    progress: Progress,
    *,
    working: Working,
) -> Made:
    """Return what becomes of a mold: its rows and figures, and every file the job asks for."""
    wanted = set(job.output.formats)
    drilling = drill_list(mold)
    progress("5/6 drawing plans and pictures")
    files, pictures = files_and_pictures(
        job, mold, setting, drilling, pack=lambda: _packed_meshes(job, mold, wanted)
    )
    progress("6/6 writing the report")
    made = Made(
        title=job.title,
        summary=summary_of(job, mold, setting, drilling, working),
        findings=mold.findings,
        files=files,
        numbers=numbers_of(mold, drilling, working),
    )
    return with_documents(
        made,
        wanted,
        lambda made: _report(made, job, mold, setting, rules, drilling, pictures, working),
    )


def files_and_pictures(
    job: MoldRequest,
    mold: Mold,
    setting: Setting,
    drilling: Sequence[Drilling],
    *,
    pack: Callable[[], dict[str, bytes]],
    before: Callable[[], tuple[Picture, ...]] = lambda: (),
) -> tuple[dict[str, bytes], tuple[Picture, ...]]:
    """Return meshes, plans and pictures that a job asks for, and the pictures for its report.

    Parameters
    ----------
    pack : callable
        Makes the files of the meshes: on one processor, while pictures are drawn on the other.
    before : callable
        Makes pictures that come before the mold's usual ones, if any are wanted.
    """
    wanted = set(job.output.formats)
    plans: dict[str, bytes] = {}
    pictures: tuple[Picture, ...] = ()
    with ThreadPoolExecutor(1) as beside:
        packed = beside.submit(pack)
        if wanted & (_PLANNED | _PICTURED):
            plan = plan_of(job, mold, setting, drilling)
            plans = dict(plan_files(job, plan, wanted))
            if wanted & _PICTURED:
                pictures = (*before(), *mold_pictures(job, mold, setting, plan))
        files = packed.result() | plans
    if Format.PNG in wanted:
        files |= {f"{slug(job.title)}-{picture.name}.png": picture.png for picture in pictures}
    return files, pictures


def _packed_meshes(job: Job, mold: Mold, wanted: set[Format]) -> dict[str, bytes]:
    """Return the files of the mold's meshes and of the formed part."""
    glb = partial(_coloured_glb, mold)
    files = dict(mesh_files(job, mold.bodies, wanted, glb=glb, job_text=job_toml(job)))
    return files | dict(formed_files(job, mold, wanted))


def with_documents(made: Made, wanted: set[Format], report: Callable[[Made], bytes]) -> Made:
    """Return what was made with its findings for programs and its report, those that are wanted."""
    files = dict(made.files)
    if Format.JSON in wanted:
        from moldgen.export.findings_json import findings_json_bytes

        files["findings.json"] = findings_json_bytes(
            made.findings, title=made.title, summary=made.numbers
        )
    if Format.HTML in wanted:
        files["report.html"] = report(replace(made, files=files))
    return replace(made, files=files)


def mesh_files(
    job: MoldRequest,
    bodies: Sequence[Body],
    wanted: set[Format],
    *,
    glb: Callable[[], bytes],
    job_text: str = "",
) -> Iterator[tuple[str, bytes]]:
    """Yield name and content of the meshes of a mold.

    Parameters
    ----------
    glb : callable
        Makes the GLB, if it is wanted.
    job_text : str
        The job that makes the mold again, if there is one.
    """
    name = slug(job.title)
    if Format.STL in wanted:
        from moldgen.export.stl import stl_bytes

        for body in bodies:
            word = name if len(bodies) == 1 else f"{name}-{slug(body.name)}"
            yield f"{word}.stl", stl_bytes([body.mesh], title=f"{job.title}, {body.name}")
    if Format.THREE_MF in wanted:
        from moldgen.export.threemf import threemf_bytes

        metadata = {"Description": f"Vacuum-forming mold: {job.title}"}
        metadata |= {"job": job_text} if job_text else {}
        yield f"{name}.3mf", threemf_bytes(bodies, title=job.title, metadata=metadata)
    if Format.GLB in wanted:
        yield f"{name}.glb", glb()


def formed_files(job: MoldRequest, mold: Mold, wanted: set[Format]) -> Iterator[tuple[str, bytes]]:
    """Return the formed part as a solid, and the run itself if it is to be kept."""
    if mold.formed is None:
        return
    from moldgen.pipeline.forming import part_bodies, part_glb

    name = f"{slug(job.title)}-part"
    if wanted & {Format.THREE_MF, Format.GLB}:
        bodies = part_bodies(mold.formed, _trim(job, mold), job.title)
        if Format.THREE_MF in wanted:
            from moldgen.export.threemf import threemf_bytes

            metadata = {"Description": f"Formed part: {job.title}"}
            yield f"{name}.3mf", threemf_bytes(bodies, title=job.title, metadata=metadata)
        if Format.GLB in wanted:
            yield f"{name}.glb", part_glb(mold.formed, bodies)
    if job.forming.keep:
        from moldgen.physics.forming_file import write_run

        yield f"{slug(job.title)}-forming.npz", write_run(mold.formed.run)


def _coloured_glb(mold: Mold) -> bytes:
    from moldgen.export.glb import glb_bytes
    from moldgen.export.picture import draft_colours

    colours = draft_colours(trusted_leans_deg(mold.checked), limit_deg=_limit_deg(mold))
    counts = [len(body.mesh.triangles) for body in mold.bodies]
    ends = [sum(counts[: k + 1]) for k in range(len(counts))]
    own = [colours[end - count : end] for end, count in zip(ends, counts, strict=True)]
    return glb_bytes(mold.bodies, colours=own)


def plan_files(job: MoldRequest, plan: Plan, wanted: set[Format]) -> Iterator[tuple[str, bytes]]:
    """Yield name and content of the plan at 1:1."""
    name = f"{slug(job.title)}-plan"
    if Format.SVG in wanted:
        from moldgen.export.plan_svg import svg_bytes

        yield f"{name}.svg", svg_bytes(plan)
    if Format.DXF in wanted:
        from moldgen.export.plan_dxf import dxf_bytes

        yield f"{name}.dxf", dxf_bytes(plan)
    if Format.PDF in wanted:
        from moldgen.export.plan_pdf import pdf_bytes

        yield f"{name}.pdf", pdf_bytes(_without_sheet(plan), paper=job.output.paper.value)


def _without_sheet(plan: Plan) -> Plan:
    """Leave out the sheet and the clamp, which would fill many pages with nothing."""
    return plan.only(*(layer for layer in Layer if layer not in {Layer.SHEET, Layer.CLAMP}))


def mold_pictures(
    job: MoldRequest, mold: Mold, setting: Setting, plan: Plan
) -> tuple[Picture, ...]:
    """Return the pictures of a mold: views, section, plan, draft map."""
    from moldgen.export.plan_png import plan_png_bytes

    places = problem_places(mold.findings)
    return (
        *body_pictures(
            job.title, mold.bodies, mold.checked, _limit_deg(mold), setting.sheet.gauge_mm
        ),
        Picture(
            name="plan",
            caption="Seen from above: holes, channels under the mold, trim line. "
            "Red rings carry the numbers of the findings.",
            png=plan_png_bytes(_without_sheet(plan), problems_mm=places),
        ),
        *_formed_pictures(job, mold),
    )


def _formed_pictures(job: MoldRequest, mold: Mold) -> tuple[Picture, ...]:
    if mold.formed is None:
        return ()
    from moldgen.pipeline.forming import forming_pictures

    return forming_pictures(mold.formed, _trim(job, mold), job.title)


def _trim(job: MoldRequest, mold: Mold) -> MultiPolygon:
    return trim_region(job, mold.foot, mold.height_mm)


def body_pictures(
    title: str, bodies: Sequence[Body], checked: Checked, limit_deg: float, sheet_mm: float
) -> tuple[Picture, ...]:
    """Return the pictures that any mesh can have."""
    from moldgen.export.picture import draft_map_png, lit_views_png
    from moldgen.export.section_picture import section_png

    leans = trusted_leans_deg(checked)
    whole = (Body(title, joined([body.mesh for body in bodies])),)
    return (
        Picture(
            name="views",
            caption="The mold from two sides.",
            png=lit_views_png(whole, title=title),
        ),
        Picture(
            name="section",
            caption="Cut through the mold, with the sheet above it.",
            png=section_png(whole, sheet_mm=sheet_mm, title=title),
        ),
        Picture(
            name="draft",
            caption="The draft of every wall, seen from above.",
            png=draft_map_png(whole, leans, limit_deg=limit_deg, title=title),
        ),
    )


def trusted_leans_deg(checked: Checked) -> NDArray[np.float64]:
    """Return the lean of every triangle, nan where it is a sliver that proves nothing. [°]."""
    draft = checked.draft
    doubtful = draft.surely_deg - draft.leans_deg > TOLERANCE_DEG
    sliver = doubtful & (draft.leans_deg >= 0) & (draft.leans_deg < draft.least_deg)
    return np.where(sliver, np.nan, draft.leans_deg)


def _report(
    made: Made,
    job: Job,
    mold: Mold,
    setting: Setting,
    rules: Mapping[str, WallRules],
    drilling: tuple[Drilling, ...],
    pictures: Sequence[Picture],
    working: Working,
) -> bytes:
    return report_html_bytes(
        Report(
            title=made.title,
            subtitle=f"{job.side.value.capitalize()} vacuum-forming mold",
            summary=made.summary,
            findings=made.findings,
            pictures=tuple(pictures),
            tables=mold_tables(
                mold, rules, drilling, setting, wanted_mm=job.forming.least_mm, working=working
            ),
            steps=on_the_day(job, mold, setting, drilling, working),
            cautions=cautions(),
            job_text=job_toml(job),
            files=tuple((name, _purpose(name)) for name in made.files),
        )
    )


def check_report(
    title: str,
    summary: tuple[tuple[str, str], ...],
    findings: tuple[Finding, ...],
    pictures: Sequence[Picture],
    tables: Sequence[object],
) -> bytes:
    """Return the report on a part that somebody else made."""
    return report_html_bytes(
        Report(
            title=title,
            subtitle="Check of a part as a vacuum-forming mold",
            summary=summary,
            findings=findings,
            pictures=tuple(pictures),
            tables=tuple(tables),  # type: ignore[arg-type]
            cautions=cautions(),
        )
    )


def slug(words: str) -> str:
    """Return words as a plain file name: small letters, figures and hyphens."""
    plain = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:60] or "mold"


def _limit_deg(mold: Mold) -> float:
    return min(plan.wall.draft_deg for plan in mold.plans)


def _purpose(name: str) -> str:
    return next((purpose for end, purpose in _FOR.items() if name.endswith(end)), "")
