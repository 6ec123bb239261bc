"""From a part that somebody brings to findings: whether it forms and comes off."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moldgen.finding import Finding, Severity, ranked
from moldgen.job import CheckCommand
from moldgen.mold.checks import Case, check_all, grouped
from moldgen.mold.checks.deep import depth_text
from moldgen.mold.place.name import PlaceNames, with_places
from moldgen.mold.vents.vent import BALL_BASIS, LowPlace
from moldgen.pipeline.brought.check_files import CheckedPart, check_output
from moldgen.pipeline.brought.formed import form_brought
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.mesh_file import UPS, bodies_from_file
from moldgen.pipeline.mold.forming_tables import forming_rows
from moldgen.pipeline.mold.rows import check_summary, measured
from moldgen.pipeline.mold.tables import draft_table, draw_table, stock_table
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.setting import setting_of_text
from moldgen.pipeline.stage import Progress, Stage
from moldgen.solid.mesh import Body
from moldgen.stock import Shop


def check(path: Path, *, command: CheckCommand, shop: Shop, progress: Progress) -> Result:
    """Check a mesh that somebody brings, and write what is asked for; see `check_part`."""
    output = check_part(path, command=command, shop=shop, progress=progress)
    return output.render(progress=progress)


def check_part(
    path: Path,
    *,
    command: CheckCommand,
    shop: Shop,
    progress: Progress,
    brought: Sequence[Body] = (),
) -> Output:
    """Check a mesh that somebody brings as a mold for this shop.

    Parameters
    ----------
    path : Path
        Its file, or what it is called.
    command : CheckCommand
        What is asked.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told of each stage as it begins.
    brought : sequence of Body
        The mesh, if it was read already. [mm]

    Raises
    ------
    MoldgenError
        If the file cannot be read, or a name is not in stock.
    """
    progress = telling_first_use(progress)
    progress(Stage(1, 3, "reading the part"))
    setting = setting_of_text(command, shop)
    bodies, doubts = (list(brought), []) if brought else bodies_from_file(path, command.unit)
    progress(Stage(2, 3, "checking the part"))
    case = Case(
        bodies=tuple(bodies), sheet=setting.sheet, machine=setting.machine,
        printer=setting.printer, draw_direction=UPS[command.draw_direction],
    )  # fmt: skip
    checked = check_all(case)
    followed = form_brought(case, checked.draws, command, progress)
    sheet = followed.measured_by(setting.thickness)
    findings = ranked(
        grouped([*doubts, *checked.findings, *sheet.findings, *map(_low_finding, sheet.places)])
    )
    if case.is_upright:
        findings = with_places(findings, _names(case))
    summary = (
        *check_summary(bodies, checked, setting, len(sheet.places)),
        *forming_rows(sheet.formed, sheet.foreseen, because=depth_text(checked.draws)),
    )
    tables = (
        draw_table(checked, setting),
        *sheet.tables(setting.gauges),
        draft_table(checked.draft),
        stock_table(setting.sheet.plastic),
    )
    told = Result(
        title=f"Check of {path.name}", summary=summary, findings=findings,
        numbers=measured(checked) | sheet.numbers,
    )  # fmt: skip
    part = CheckedPart(name=path.name, case=case, checked=checked, brought=sheet, setting=setting)
    return check_output(told, part, command, tables=tables)


def _names(case: Case) -> PlaceNames:
    """Return what places of a part are called: by its pieces, as seen from above."""
    outlines = [one for one in case.outlines if not (one.region.is_empty or one.outer.is_empty)]
    return PlaceNames(
        raised=[one for one in outlines if one.raised],
        sunk=[one for one in outlines if not one.raised],
    )


def _low_finding(place: LowPlace) -> Finding:
    return Finding(
        code="low-place",
        severity=Severity.NOTE,
        says="the sheet gets here last; without a vent it traps air",
        measured=place.gap_mm,
        unit="mm",
        where_mm=(place.x_mm, place.y_mm, place.z_mm),
        basis=BALL_BASIS,
        advice="Drill a vent here, unless there is one.",
    )
