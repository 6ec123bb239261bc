"""The files of a part that is checked: plan with its low places, pictures, formed part, report."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

import shapely

from moldgen.export.plan.plan import Plan
from moldgen.export.report.report import Picture, Report, cautions, problem_places
from moldgen.export.report.table import Table
from moldgen.finding import Finding
from moldgen.job import CheckCommand
from moldgen.job.formats import CHECK_FORMATS
from moldgen.job.spec import Paper
from moldgen.mold.checks import Case, CheckResults
from moldgen.mold.rules import hole_rule, vent_rule
from moldgen.pipeline.brought.formed import FormedMesh
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import OutputFile, glb_file, plan_files
from moldgen.pipeline.mold.files import colored_glb, formed_files
from moldgen.pipeline.mold.pictures import body_pictures, without_sheet
from moldgen.pipeline.mold.plan import plan_of_part
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.setting import Setting
from moldgen.pipeline.stage import Stage
from moldgen.solid.polygons import polygons_of
from moldgen.trust import DRAW, FORMED


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckedPart:
    """A part that somebody brings, and everything that was found out about it.

    Attributes
    ----------
    name : str
        Of its file, with the ending.
    case : Case
        The part and what it is to be formed with.
    checked : CheckResults
        What the checks measured.
    brought : FormedMesh
        What the sheet does over it.
    setting : Setting
        Sheet and machines.
    """

    name: str
    case: Case
    checked: CheckResults
    brought: FormedMesh
    setting: Setting

    @property
    def stem(self) -> str:
        """What its files begin with."""
        return file_name(Path(self.name).stem)

    @property
    def limit_deg(self) -> float:
        """Draft that is asked of it. [°]."""
        return self.setting.sheet.plastic.draft_male_deg


def check_output(
    told: Result, part: CheckedPart, command: CheckCommand, *, tables: Sequence[Table]
) -> Output:
    """Return what was found, with what its files are made of."""
    plan = cache(lambda: _plan(part, told.findings))
    return Output(
        told=told,
        bodies=tuple(part.case.bodies),
        files=lambda paper: _files(part, plan, paper),
        formats=command.formats,
        paper=command.paper,
        units=command.units,
        pictures=lambda: _pictures(told, part, plan()),
        picture_stem=f"{part.stem}-",
        usual=CHECK_FORMATS,
        stages=(Stage(3, 3, "writing files"),),
        report=lambda: Report(
            title=part.name,
            subtitle="Check of a part as a vacuum-forming mold",
            tables=tuple(tables),
            trust=(DRAW, *(FORMED if part.brought.followed is not None else ())),
            cautions=cautions(),
        ),
    )


def _plan(part: CheckedPart, findings: tuple[Finding, ...]) -> Plan:
    """Return the part on its table at 1:1, with its low places as vents to drill."""
    sheet, brought, draws = part.setting.sheet, part.brought, part.checked.draws
    foot = polygons_of(shapely.union_all([one.outer for one in part.case.outlines]))
    local_mm = draws[0].mean_thickness_mm if draws else sheet.gauge_mm
    return plan_of_part(
        title=part.name,
        # What is open has no foot, but a hull.
        foot=polygons_of(shapely.union_all(part.case.footprints)) if foot.is_empty else foot,
        places=[(place.x_mm, place.y_mm) for place in brought.places],
        vent_mm=hole_rule(vent_rule(sheet.plastic, local_mm)).value,
        trim=brought.trim,
        machine=part.setting.machine,
        findings=findings,
    )


def _files(part: CheckedPart, plan: Callable[[], Plan], paper: Paper) -> Iterator[OutputFile]:
    brought = part.brought
    glb = partial(colored_glb, part.case.bodies, part.checked, part.limit_deg)
    yield glb_file(part.stem, glb, purpose="the part to look at, colored by draft")
    if brought.formed is not None:
        yield from formed_files(part.stem, brought.formed, brought.trim)
    purpose = "plan at 1:1: foot, low spots that want a vent, trim line"
    yield from plan_files(
        f"{part.stem}-plan", plan, paper=paper, purpose=purpose, on_paper=without_sheet
    )


def _pictures(told: Result, part: CheckedPart, plan: Plan) -> tuple[Picture, ...]:
    from moldgen.export.plan.png import plan_png_bytes

    gauge = part.setting.sheet.gauge_mm
    rings = problem_places(told.findings)
    return (
        *body_pictures(
            part.name,
            part.case.bodies,
            part.checked,
            limit_deg=part.limit_deg,
            sheet_mm=gauge,
            rings=rings,
        ),
        Picture(
            name="plan",
            caption="Seen along the draw direction: foot of the part, low spots that want a vent, "
            "trim line." + " Red rings carry the numbers of the findings." * part.case.is_upright,
            png=plan_png_bytes(without_sheet(plan)),
        ),
        *part.brought.pictures(part.name, rings),
    )
