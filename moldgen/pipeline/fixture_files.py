"""The files of fixtures: meshes plate by plate, pictures, drawings to cut, the sheet of use."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from moldgen.export.cautions import cautions
from moldgen.export.plan import Plan, build_plan
from moldgen.export.report import Picture, Report, Table, verdict
from moldgen.finding import Finding, Severity, ranked, worst
from moldgen.fixture.made import Bench, Facts, Fixture
from moldgen.job.spec import Format, Paper
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import (
    OutputFile,
    file_set,
    glb_file,
    plain_glb,
    plan_files,
    stl_file,
    threemf_file,
    with_documents,
)
from moldgen.pipeline.made import Made
from moldgen.solid.mesh import Body, Mesh

Used = tuple[str, str, Fixture]
"""What a fixture is for, how to be safe with it, and the fixture."""

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


def fixture_made(
    made: Made,
    used: Sequence[Used],
    bench: Bench,
    *,
    formats: Sequence[Format],
    paper: Paper = Paper.A4,
    usual: Sequence[Format] = tuple(Format),
    plan: Plan | None = None,
    tables: tuple[Table, ...] = (),
    first: Facts = (),
    last: Facts = (),
    besides: Iterable[OutputFile] = (),
) -> Made:
    """Return what was made with every file that is asked for, and its sheet of use.

    Parameters
    ----------
    made : Made
        Title, summary, findings and numbers; the findings of the fixtures are added.
    used : sequence of (use, safety, fixture)
        What is printed.
    usual : sequence of Format
        Formats of a run that names none.
    plan : Plan, optional
        Drawing at 1:1 in place of the fixture's own outline.
    first, last : tuple of (str, str)
        Steps before and after those of the fixtures.
    tables : tuple of Table
        What the sheet tells besides what the fixtures say themselves.
    besides : iterable of OutputFile
        Files that are no work of the fixtures.
    """
    every = ranked((*made.findings, *(found for _, _, one in used for found in one.findings)))
    drawing = plan or _own_plan(used)
    written = file_set(
        (
            *_mesh_files(used, bench),
            *_plan_files(drawing, file_name(made.title), paper),
            *besides,
        ),
        formats,
        pictures=lambda: _pictures(used, plan),
        usual=usual,
    )
    return with_documents(
        replace(made, findings=every),
        written,
        lambda: _Sheet(
            n_made=len(used),
            title=made.title,
            subtitle="Sheet of use",
            tables=(*tables, *_tables(used)),
            steps=(*first, *(step for _, _, one in used for step in one.steps), *last),
            cautions=(*(safety for _, safety, _ in used), *cautions()),
        ),
    )


def _mesh_files(used: Sequence[Used], bench: Bench) -> Iterator[OutputFile]:
    for _, _, one in used:
        for number, plate in enumerate(one.plates, start=1):
            word = one.name if len(one.plates) == 1 else f"{one.name}-plate-{number}"
            meshes = [body.mesh for body in plate]
            yield stl_file(
                word, meshes, title=f"{one.title}, plate {number}",
                purpose="one plate for the slicer, in millimeters",
            )  # fmt: skip
        yield threemf_file(
            one.name, partial(_side_by_side, one.plates, bench.printer.bed_width_mm),
            title=one.title, metadata={"Description": one.title},
            purpose="all plates for the slicer, with names and units",
        )  # fmt: skip
        glb = partial(plain_glb, one.shown)
        yield glb_file(one.name, glb, purpose="to look at on a screen")


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


def _plan_files(plan: Plan | None, name: str, paper: Paper) -> tuple[OutputFile, ...]:
    if plan is None:
        return ()
    return plan_files(f"{name}-plan", lambda: plan, paper=paper, purpose="outline at 1:1")


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
