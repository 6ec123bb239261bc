"""The files of a bent strip: layout drawing, directions, jigs, bent part, pictures, report."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from moldgen.bend.prism import laid_out
from moldgen.export.plan import Plan
from moldgen.export.report import Picture, Report, report_html_bytes
from moldgen.job.spec import Format
from moldgen.job.strip_read import job_toml
from moldgen.pipeline.bend_picture import Laid, bodies_png, side_view_png
from moldgen.pipeline.bend_plan import build_strip_plan
from moldgen.pipeline.bend_steps import directions_text, steps_of, strip_cautions
from moldgen.pipeline.bend_words import numbers_of, strip_tables, summary_of
from moldgen.pipeline.bend_work import Work, thing_of
from moldgen.pipeline.files import slug

Progress = Callable[[str], None]

_FOR = {
    "-formed.stl": "the bent strip, in millimeters",
    "-formed.glb": "the bent strip to look at",
    "-jigs.3mf": "all jigs for the slicer, with names and units",
    ".stl": "a jig for the slicer, in millimeters",
    "-layout.svg": "flat strip at 1:1, for cutters",
    "-layout.dxf": "flat strip at 1:1, for cutters",
    "-layout.pdf": "flat strip at 1:1 to print, with a check bar",
    "-directions.txt": "what to do at the bench, step by step",
    ".png": "picture",
    "findings.json": "the findings for programs",
}


def strip_files(work: Work, progress: Progress) -> dict[str, bytes]:
    """Return every file the job asks for, by name."""
    wanted = set(work.job.output.formats)
    name = slug(work.job.title)
    progress("4/6 writing meshes")
    files = dict(_mesh_files(work, name, wanted))
    plan = build_strip_plan(work.layout)
    files |= dict(_plan_files(work, plan, name, wanted))
    pictures: tuple[Picture, ...] = ()
    if wanted & {Format.PNG, Format.HTML}:
        progress("5/6 taking pictures")
        pictures = tuple(strip_pictures(work, plan))
    if Format.PNG in wanted:
        files |= {f"{name}-{picture.name}.png": picture.png for picture in pictures}
    progress("6/6 writing the report")
    if Format.JSON in wanted:
        from moldgen.export.findings_json import findings_json_bytes

        files["findings.json"] = findings_json_bytes(
            work.findings, title=work.job.title, summary=numbers_of(work)
        )
    if Format.HTML in wanted:
        files[f"{name}-directions.txt"] = directions_text(work)
        files["report.html"] = _report(work, pictures, files)
    return files


def _mesh_files(work: Work, name: str, wanted: set[Format]) -> Iterator[tuple[str, bytes]]:
    printed = work.jigs.printed
    if Format.STL in wanted:
        from moldgen.export.stl import stl_bytes

        if work.body is not None:
            yield f"{name}-formed.stl", stl_bytes([work.body.mesh], title=work.job.title)
        for one in printed:
            meshes = [body.mesh for body in one.bodies]
            yield f"{name}-{one.name}.stl", stl_bytes(meshes, title=f"{name} {one.name}")
    if Format.THREE_MF in wanted and printed:
        from moldgen.export.threemf import threemf_bytes

        bodies = laid_out([body for one in printed for body in one.bodies])
        metadata = {"Description": f"Jigs: {work.job.title}", "job": job_toml(work.job)}
        title = f"{work.job.title}, jigs"
        yield f"{name}-jigs.3mf", threemf_bytes(bodies, title=title, metadata=metadata)
    if Format.GLB in wanted and work.body is not None:
        from moldgen.export.glb import glb_bytes

        yield f"{name}-formed.glb", glb_bytes([work.body])


def _plan_files(
    work: Work, plan: Plan, name: str, wanted: set[Format]
) -> Iterator[tuple[str, bytes]]:
    if Format.SVG in wanted:
        from moldgen.export.plan_svg import svg_bytes

        yield f"{name}-layout.svg", svg_bytes(plan)
    if Format.DXF in wanted:
        from moldgen.export.plan_dxf import dxf_bytes

        yield f"{name}-layout.dxf", dxf_bytes(plan)
    if Format.PDF in wanted:
        from moldgen.export.plan_pdf import pdf_bytes

        yield f"{name}-layout.pdf", pdf_bytes(plan, paper=work.job.output.paper.value)


def strip_pictures(work: Work, plan: Plan) -> Iterator[Picture]:
    """Yield the pictures of a bent strip: side, layout, bent part, jigs with the strip in them."""
    from moldgen.export.plan_png import plan_png_bytes

    title = work.job.title
    loads = work.job.stand.load if work.job.stand and work.standing else ()
    laid = [Laid(leg=int(one.leg), marks=one.marks, thing=thing_of(one)) for one in loads]
    caption = "The bent strip from the side; the ring is its left end, on the face with the marks."
    if work.standing is not None:
        caption += " Red: center of mass, and the edges it tips over."
    yield Picture(
        name="side",
        caption=caption,
        png=side_view_png(
            work.shape, standing=work.standing, laid=laid, title=f"{title}, from the side"
        ),
    )
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


def _report(work: Work, pictures: tuple[Picture, ...], files: Mapping[str, bytes]) -> bytes:
    strip = work.part.strip
    return report_html_bytes(
        Report(
            title=work.job.title,
            subtitle=f"Bent strip: {work.bench.plastic.title}, {strip.thickness_mm:g} mm",
            summary=summary_of(work),
            findings=work.findings,
            pictures=pictures,
            tables=strip_tables(work),
            steps=steps_of(work),
            cautions=strip_cautions(),
            job_text=job_toml(work.job),
            files=tuple((name, purpose(name)) for name in (*files, "report.html")),
        )
    )


def purpose(name: str) -> str:
    """Return what a file is for, by the end of its name."""
    if name == "report.html":
        return "this report"
    return next((words for ending, words in _FOR.items() if name.endswith(ending)), "")
