"""The files of a bent strip: layout drawing, directions, jigs, bent part, pictures, report."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from moldgen.bend.stand.rest import rest_text
from moldgen.export.plan.plan import Plan
from moldgen.export.report.cautions import strip_cautions
from moldgen.export.report.report import Picture, Report
from moldgen.job.any_job import job_toml
from moldgen.job.spec import Format, Paper
from moldgen.pipeline.chosen_value import choice_tables
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import (
    OutputFile,
    glb_file,
    plain_glb,
    plan_files,
    stl_file,
    threemf_file,
)
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Stage
from moldgen.pipeline.strip.papers import strip_paper_files
from moldgen.pipeline.strip.pictures import bodies_png
from moldgen.pipeline.strip.plan import build_strip_plan
from moldgen.pipeline.strip.rows import numbers_of, strip_tables, summary_of
from moldgen.pipeline.strip.side_view import LeaningThing, side_view_of
from moldgen.pipeline.strip.steps import directions_text, steps_of
from moldgen.pipeline.strip.work import BentStrip, thing_of
from moldgen.printing.bed import laid_out
from moldgen.trust import STRIP
from moldgen.wording import gauge_text


def strip_output(work: BentStrip) -> Output:
    """Return what becomes of a bent strip: its rows and figures, and what files are made of."""
    plan = build_strip_plan(work.layout)
    name = file_name(work.job.title)
    jigs = (body for one in work.jigs.printed for body in one.bodies)
    return Output(
        told=Result(
            title=work.job.title,
            summary=summary_of(work),
            findings=work.findings,
            numbers=numbers_of(work),
            choices=work.choices,
        ),
        bodies=(*([] if work.body is None else [work.body]), *jigs),
        files=lambda paper: _files(work, plan, name, paper),
        pictures=lambda: strip_pictures(work, plan),
        report=lambda: _report(work),
        formats=work.job.output.formats,
        paper=work.job.output.paper,
        units=work.job.output.units,
        picture_stem=f"{name}-",
        stages=(
            Stage(4, 6, "writing meshes"),
            Stage(5, 6, "taking pictures"),
            Stage(6, 6, "writing the report"),
        ),
    )


def _files(work: BentStrip, plan: Plan, name: str, paper: Paper) -> Iterator[OutputFile]:
    job, printed = work.job, work.jigs.printed
    if work.body is not None:
        yield stl_file(
            f"{name}-formed", [work.body.mesh], title=job.title,
            purpose="the bent strip, in millimeters",
        )  # fmt: skip
    for one in printed:
        meshes = [body.mesh for body in one.bodies]
        yield stl_file(
            f"{name}-{one.name}", meshes, title=f"{name} {one.name}",
            purpose="a jig for the slicer, in millimeters",
        )  # fmt: skip
    if printed:
        yield threemf_file(
            f"{name}-jigs", lambda: laid_out([body for one in printed for body in one.bodies]),
            title=f"{job.title}, jigs",
            metadata={"Description": f"Jigs: {job.title}", "job": job_toml(job)},
            purpose="all jigs for the slicer, with names and units",
        )  # fmt: skip
    if work.body is not None:
        glb = partial(plain_glb, [work.body])
        yield glb_file(f"{name}-formed", glb, purpose="the bent strip to look at")
    yield from plan_files(f"{name}-layout", lambda: plan, paper=paper, purpose="flat strip at 1:1")
    yield from strip_paper_files(work, plan, name, paper)
    yield OutputFile(
        name=f"{name}-directions.txt",
        purpose="what to do at the bench, step by step",
        content=lambda: directions_text(work),
        format=Format.HTML,
    )


def strip_pictures(work: BentStrip, plan: Plan) -> Iterator[Picture]:
    """Yield the pictures of a bent strip: side, layout, bent part, jigs with the strip in them."""
    from moldgen.export.picture.side_view import side_view_png
    from moldgen.export.plan.png import plan_png_bytes

    title = work.job.title
    loads = work.job.stand.load if work.job.stand and work.standing else ()
    laid = [LeaningThing(leg=int(one.leg), marks=one.marks, thing=thing_of(one)) for one in loads]
    caption = "The bent strip from the side; the ring is its left end, on the face with the marks."
    if work.standing is not None:
        caption += f" It stands on {rest_text(work.shape)}."
        caption += " Red: center of mass, and the edges it tips over."
    view = side_view_of(
        work.shape, standing=work.standing, laid=laid, title=f"{title}, from the side"
    )
    yield Picture(name="side", caption=caption, png=side_view_png(view))
    yield Picture(
        name="layout",
        caption="The flat strip: cut the edge, draw the bend lines from the ticks beside it.",
        png=plan_png_bytes(plan),
    )
    if work.body is not None:
        yield Picture(
            name="formed",
            caption="The bent strip from two sides.",
            png=bodies_png([], strip=work.body, title=title),
        )
    for one in work.jigs.printed:
        what = (
            "with the strip in it, as it is used" if one.strip is not None else "as it is printed"
        )
        yield Picture(
            name=one.name,
            caption=f"{one.title[0].upper()}{one.title[1:]}, {what}. {one.use}",
            png=bodies_png(one.shown, strip=one.strip, title=one.title),
        )


def _report(work: BentStrip) -> Report:
    strip = work.part.strip
    return Report(
        title=work.job.title,
        subtitle=f"Bent strip: {work.bench.plastic.title}, {gauge_text(strip.thickness_mm)}",
        tables=(*strip_tables(work), *choice_tables(work.choices)),
        trust=STRIP,
        steps=steps_of(work),
        cautions=strip_cautions(),
        job_text=job_toml(work.job),
    )
