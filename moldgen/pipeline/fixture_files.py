"""The files of fixtures: meshes plate by plate, pictures, drawings to cut, the sheet of use."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from moldgen.export.cautions import cautions
from moldgen.export.plan import Plan, build_plan
from moldgen.export.report import Picture, Report, Table, report_html_bytes, verdict
from moldgen.finding import Finding, Severity, ranked, worst
from moldgen.fixture.made import Bench, Facts, Fixture
from moldgen.job.command_words import ShopWords
from moldgen.job.spec import Format
from moldgen.pipeline.files import slug
from moldgen.solid.mesh import Body, Mesh

Used = tuple[str, str, Fixture]
"""What a fixture is for, how to be safe with it, and the fixture."""

_FOR = {
    ".stl": "one plate for the slicer, in millimeters",
    ".3mf": "all plates for the slicer, with names and units",
    ".glb": "to look at on a screen",
    ".svg": "outline at 1:1, for cutters",
    ".dxf": "outline at 1:1, for cutters",
    ".pdf": "outline at 1:1 to print, with a check bar",
    ".png": "picture",
    ".html": "this sheet of use",
    ".json": "the findings for programs",
}
_BETWEEN_PLATES_MM = 20.0
LEFT_OUT = "fixture-left-out"
"""Code of the finding that something is not made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheet(Report):
    """A sheet of use, whose verdict does not claim what is left out."""

    n_made: int = 1

    @property
    def verdict(self) -> str:
        """One sentence on whether to print; another on what is left out."""
        missing = left_out_words(self.findings)
        if not missing:
            return verdict(self.findings)
        if worst(self.findings) is Severity.NOTE:
            rest = "The rest is ready to print." if self.n_made else "There is nothing to print."
            return f"Not made: {missing}. {rest}"
        return f"{verdict(self.findings)} Not made: {missing}."


def left_out_words(findings: Sequence[Finding]) -> str:
    """Return what was asked for and is not made; empty if it is all there."""
    return ", ".join(dict.fromkeys(one.subject for one in findings if one.code == LEFT_OUT))


def fixture_files(
    used: Sequence[Used],
    words: ShopWords,
    bench: Bench,
    *,
    summary: Facts,
    title: str = "",
    plan: Plan | None = None,
    tables: tuple[Table, ...] = (),
    first: Facts = (),
    last: Facts = (),
    findings: Sequence[Finding] = (),
) -> dict[str, bytes]:
    """Return every file that is asked for, by name.

    Parameters
    ----------
    used : sequence of (use, safety, fixture)
        What is printed.
    title : str
        What the sheet of use is called; the first fixture's if left out.
    plan : Plan, optional
        Drawing at 1:1 in place of the fixture's own outline.
    first, last : tuple of (str, str)
        Steps before and after those of the fixtures.
    tables, findings
        What the sheet tells besides what the fixtures say themselves.
    """
    wanted = set(words.formats)
    title = title or used[0][2].title
    name = slug(title)
    files = dict(_mesh_files(used, wanted, bench))
    files |= dict(_plan_files(plan or _own_plan(used), name, words, wanted))
    pictures: tuple[Picture, ...] = ()
    if wanted & {Format.PNG, Format.HTML}:
        pictures = tuple(_pictures(used, plan))
    if Format.PNG in wanted:
        files |= {f"{picture.name}.png": picture.png for picture in pictures}
    every = ranked((*findings, *(found for _, _, one in used for found in one.findings)))
    if Format.JSON in wanted:
        from moldgen.export.findings_json import findings_json_bytes

        files["findings.json"] = findings_json_bytes(every, title=title, summary=dict(summary))
    if Format.HTML in wanted:
        files["report.html"] = report_html_bytes(
            _Sheet(
                n_made=len(used),
                title=title,
                subtitle="Sheet of use",
                summary=summary,
                findings=every,
                pictures=pictures,
                tables=(*tables, *_tables(used)),
                steps=(*first, *(step for _, _, one in used for step in one.steps), *last),
                cautions=(*(safety for _, safety, _ in used), *cautions()),
                files=tuple((word, _purpose(word)) for word in (*files, "report.html")),
            )
        )
    return files


def _mesh_files(
    used: Sequence[Used], wanted: set[Format], bench: Bench
) -> Iterator[tuple[str, bytes]]:
    for _, _, one in used:
        if Format.STL in wanted:
            from moldgen.export.stl import stl_bytes

            for number, plate in enumerate(one.plates, start=1):
                word = one.name if len(one.plates) == 1 else f"{one.name}-plate-{number}"
                meshes = [body.mesh for body in plate]
                yield f"{word}.stl", stl_bytes(meshes, title=f"{one.title}, plate {number}")
        if Format.THREE_MF in wanted:
            from moldgen.export.threemf import threemf_bytes

            metadata = {"Description": one.title}
            bodies = _side_by_side(one.plates, bench.printer.bed_width_mm)
            yield f"{one.name}.3mf", threemf_bytes(bodies, title=one.title, metadata=metadata)
        if Format.GLB in wanted:
            from moldgen.export.glb import glb_bytes

            yield f"{one.name}.glb", glb_bytes(one.shown)


def _side_by_side(plates: Sequence[Sequence[Body]], bed_mm: float) -> list[Body]:
    """Return the bodies of all plates, each plate beside the one before."""
    step = np.array([bed_mm + _BETWEEN_PLATES_MM, 0.0, 0.0])
    return [
        Body(one.name, Mesh(one.mesh.points_mm + number * step, one.mesh.triangles.copy()))
        for number, plate in enumerate(plates)
        for one in plate
    ]


def _own_plan(used: Sequence[Used]) -> Plan | None:
    outlines = [(one.title, one.outline) for _, _, one in used if one.outline is not None]
    if not outlines:
        return None
    title, outline = outlines[0]
    return build_plan(title=title, foot=outline, upright=False)


def _plan_files(
    plan: Plan | None, name: str, words: ShopWords, wanted: set[Format]
) -> Iterator[tuple[str, bytes]]:
    if plan is None:
        return
    if Format.SVG in wanted:
        from moldgen.export.plan_svg import svg_bytes

        yield f"{name}-plan.svg", svg_bytes(plan)
    if Format.DXF in wanted:
        from moldgen.export.plan_dxf import dxf_bytes

        yield f"{name}-plan.dxf", dxf_bytes(plan)
    if Format.PDF in wanted:
        from moldgen.export.plan_pdf import pdf_bytes

        yield f"{name}-plan.pdf", pdf_bytes(plan, paper=words.paper.value)


def _pictures(used: Sequence[Used], plan: Plan | None) -> Iterator[Picture]:
    from moldgen.export.picture import lit_views_png

    if plan is not None:
        from moldgen.export.plan_png import plan_png_bytes

        yield Picture(name="plan", caption="Seen from above.", png=plan_png_bytes(plan))
    for use, _, one in used:
        count = len(one.bodies)
        printed_so = one.shown[0].name in {body.name for body in one.bodies}
        many = f" One of {count}." if count > 1 and len(one.shown) == 1 and printed_so else ""
        yield Picture(
            name=one.name,
            caption=f"{one.title} from two sides. {use}{many}",
            png=lit_views_png(one.shown, title=one.title),
        )


def _tables(used: Sequence[Used]) -> Iterator[Table]:
    if len(used) == 1:
        return
    for use, safety, one in used:
        rows = (("Use", use), ("Be safe", safety), *one.facts)
        yield Table(title=one.title, header=("", "Measure"), rows=rows)


def _purpose(name: str) -> str:
    return _FOR.get("." + name.rsplit(".", 1)[-1], "")
