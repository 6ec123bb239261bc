"""The files of a mold that is built from boards: templates, lists, pictures, report."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from moldgen.export.report.report import Report, cautions
from moldgen.export.report.table import Table
from moldgen.finding import Making
from moldgen.job import Job, job_toml
from moldgen.mold.features import Feature
from moldgen.mold.rules import WallRules
from moldgen.mold.wood.wood import WoodMold, build_wood
from moldgen.pipeline.chosen_value import ChosenValue, choice_tables
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import OutputFile, glb_file, stl_files, threemf_file
from moldgen.pipeline.mold.day import TableDay
from moldgen.pipeline.mold.day_tables import air_tables, heat_tables
from moldgen.pipeline.mold.files import colored_glb, shape_output
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.pictures import limit_deg
from moldgen.pipeline.mold.plan import drill_list
from moldgen.pipeline.mold.rows import numbers_of, summary_of
from moldgen.pipeline.mold.steps import on_the_day
from moldgen.pipeline.mold.tables import draft_table, shape_tables, stock_table
from moldgen.pipeline.mold.wood import board_system
from moldgen.pipeline.mold.wood_tables import (
    NO_ROWS,
    NO_STEPS,
    wood_numbers,
    wood_rows,
    wood_steps,
    wood_tables,
)
from moldgen.pipeline.mold.wood_templates import stack_picture, template_files
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.setting import Setting
from moldgen.pipeline.types import Rows
from moldgen.trust import trust_in_wood


def wood_output(
    job: Job,
    mold: Mold,
    setting: Setting,
    rules: Mapping[str, WallRules],
    *,
    bodies: Sequence[Feature],
    day: TableDay,
    choices: Sequence[ChosenValue] = (),
) -> Output:
    """Return what becomes of a mold that is built from boards.

    Parameters
    ----------
    bodies : sequence of Feature
        What it is made of, with walls settled.
    day : TableDay
        The day at the table.
    choices : sequence of ChosenValue
        What was chosen where nobody asked for a value.
    """
    wood = build_wood(bodies, mold.vents.vents, board_system(job))
    channels = [one.airways for one in mold.undersides if not one.airways.is_empty]
    drilling = drill_list(mold)

    told = _LayerWords(job=job, mold=mold, setting=setting, rules=rules, wood=wood, day=day)

    def report() -> Report:
        return Report(
            title=job.title,
            subtitle=f"{job.side.value.capitalize()} vacuum-forming mold, built from boards",
            making=Making.BUILD,
            tables=(*choice_tables(choices), *told.tables()),
            steps=told.steps(),
            trust=trust_in_wood(is_formed=mold.followed is not None),
            cautions=cautions(of_wood=True),
            job_text=job_toml(job),
        )

    return shape_output(
        job, mold, setting,
        told=Result(
            title=job.title,
            summary=_summary(summary_of(job, mold, setting, drilling, day), wood),
            findings=mold.findings,
            numbers=wood_numbers(wood, numbers_of(mold, drilling, day), day.ready),
            choices=tuple(choices),
            making=Making.BUILD,
        ),
        drilling=drilling,
        meshes=_solids(job, mold),
        templates=lambda paper: template_files(job, wood, channels, paper=paper),
        report=report,
        before=lambda: (stack_picture(job, wood),),
    )  # fmt: skip


def _summary(rows: Rows, wood: WoodMold) -> Rows:
    """Return the rows, those of the print left out, those of the wood after the forming table."""
    kept = [row for row in rows if row[0] not in NO_ROWS]
    at = 1 + [label for label, _ in kept].index("Forming table")
    return (*kept[:at], *wood_rows(wood), *kept[at:])


_RELEASE = "Ease the part off all round; a little air between part and mold helps."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _LayerWords:
    """What the report is made of."""

    job: Job
    mold: Mold
    setting: Setting
    rules: Mapping[str, WallRules]
    wood: WoodMold
    day: TableDay

    def tables(self) -> Iterator[Table]:
        """Yield the lists of the wood, then what holds of any mold."""
        mold, setting = self.mold, self.setting
        yield from wood_tables(self.wood, mold)
        yield from shape_tables(mold, self.rules, setting, wanted_mm=self.job.forming.least_mm)
        yield from heat_tables(self.day)
        yield from air_tables(self.day)
        yield draft_table(mold.checked.draft)
        yield stock_table(setting.sheet.plastic)

    def steps(self) -> Rows:
        """Return how it is built, and then the day at the table."""
        at_table = on_the_day(self.job, self.mold, self.setting, (), self.day)
        rest = [step for step in at_table if step[0] not in NO_STEPS]
        trimmed = [word for word, _ in rest].index("Trim")
        built = wood_steps(self.job, self.mold, self.wood)
        return (*built, *rest[:trimmed], ("Release", _RELEASE), *rest[trimmed:])


def _solids(job: Job, mold: Mold) -> Iterator[OutputFile]:
    """Yield the mold as a solid: for a router, or to look at."""
    name, purpose = file_name(job.title), "the mold as a solid, for a router, in millimeters"
    yield from stl_files(name, mold.bodies, title=job.title, purpose=purpose)
    metadata = {"Description": f"Vacuum-forming mold: {job.title}", "job": job_toml(job)}
    yield threemf_file(
        name, lambda: mold.bodies, title=job.title, metadata=metadata, purpose=purpose
    )
    glb = partial(colored_glb, mold.bodies, mold.checked, limit_deg(mold))
    yield glb_file(name, glb, purpose="the mold to look at, colored by draft")
