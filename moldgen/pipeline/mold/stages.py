"""The stages of a mold: each a function of what it needs, named after what it returns.

What a stage needs is another stage or is given: the job's features, what else is asked for, what
of the shop the mold is made with, how closely it is built. `STAGES` puts them together;
`moldgen.pipeline.mold.design.MoldDesign` asks for them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from shapely import MultiPolygon

from moldgen.finding import Finding
from moldgen.job import Job
from moldgen.job.spec import JobTrim, JobUnderside, JobVents, Side
from moldgen.mold.air.evacuation import Evacuation
from moldgen.mold.air.swept import swept_most_L
from moldgen.mold.build import RawMold, build_raw_mold
from moldgen.mold.checks import Case, CheckResults, Survey, check_survey
from moldgen.mold.checks import survey as survey_of
from moldgen.mold.checks.draw import Draw
from moldgen.mold.choices import FormingLook
from moldgen.mold.features import Direction, foot_of
from moldgen.mold.place.letter import PlacedLetter
from moldgen.mold.place.name import PlaceNames, with_places
from moldgen.mold.rules import Rule, WallRules
from moldgen.mold.rules import vent_rule as vent_rule_of
from moldgen.mold.trim_rule import TrimUse
from moldgen.mold.underside.cut import BoreSpec
from moldgen.mold.vents.by_ball import place_vents
from moldgen.outline.drawing import Drawing
from moldgen.pipeline.graph import Graph
from moldgen.pipeline.mold import day as table_day
from moldgen.pipeline.mold.checking import check_mold, mold_case
from moldgen.pipeline.mold.cutting import (
    UndersideRequest,
    cut_bodies,
    uncut_bodies,
    underside_spec,
)
from moldgen.pipeline.mold.features import ResolvedFeatures, resolve_features, thinnest_mm
from moldgen.pipeline.mold.forming import FORMED_SHARE, HASTE, foresee, run_forming
from moldgen.pipeline.mold.mold import CutMold, Mold
from moldgen.pipeline.mold.outlook import foreseen_findings
from moldgen.pipeline.mold.print_readiness import PrintReadiness, readiness_of
from moldgen.pipeline.mold.quality import Quality
from moldgen.pipeline.mold.thickness import thin_ratio
from moldgen.pipeline.mold.trim_region import TrimPlan, check_trim_plan, plan_trim
from moldgen.pipeline.mold.vent_spacing import (
    VentedWalls,
    VentPlacer,
    VentSearch,
    vent_in_time,
)
from moldgen.pipeline.setting import Setting
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.solid.height.relief import Relief, relief_for_ball
from moldgen.solid.polygons import polygons_of
from moldgen.stock import Filament, FormingMachine, Insert, Printer, Sheet
from moldgen.stock.experience import NoteEstimate
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.stay import soft_s

if TYPE_CHECKING:
    from moldgen.mold.sheet.formed import FormedSheet
    from moldgen.physics.membrane.run import FormingRun


def features(
    *,
    job: Job,
    folder: Path,
    drawings: Mapping[str, Drawing],
    setting: Setting,
    progress: Progress,
) -> ResolvedFeatures:
    """Return outlines in place, with walls and radii by the rules."""
    progress(Stage(1, 6, "reading outlines"))
    return resolve_features(job, folder=folder, setting=setting, drawings=drawings)


def raw(*, features: ResolvedFeatures, quality: Quality, progress: Progress) -> RawMold:
    """Return walls that stand, with nothing cut into them."""
    progress(Stage(2, 6, features.work.told("building the walls")))
    return build_raw_mold(features.bodies, chord_mm=quality.chord_mm)


def rules(*, features: ResolvedFeatures) -> Mapping[str, WallRules]:
    """Return what the rules asked of each feature's wall."""
    return features.rules


def wall_findings(*, features: ResolvedFeatures, raw: RawMold) -> tuple[Finding, ...]:
    """Return what was found until the walls stood."""
    return (*features.findings, *raw.findings)


def edges_open(*, features: ResolvedFeatures) -> frozenset[str]:
    """Return the features whose radii nobody asked for."""
    return frozenset(features.edges_open)


def letters(*, features: ResolvedFeatures) -> tuple[PlacedLetter, ...]:
    """Return the letters of every text, where they stand."""
    return tuple(features.letters)


def relief(*, raw: RawMold, ball_mm: float) -> Relief:
    """Return the walls seen from above, as finely as the rolling ball needs."""
    return relief_for_ball(raw.mesh, ball_mm)


def trim_plan(*, raw: RawMold, trim: JobTrim, trim_use: TrimUse, sheet: Sheet) -> TrimPlan:
    """Return how and where the formed parts are cut from their sheet."""
    return plan_trim(trim, trim_use, raw.plans, sheet=sheet)


def trim_line(*, trim_plan: TrimPlan) -> MultiPolygon:
    """Return what is cut out of the formed sheet, seen from above."""
    return trim_plan.region


def kept_foot(*, raw: RawMold, trim_line: MultiPolygon) -> MultiPolygon:
    """Return where the mold carries the part: its foot within the trim line."""
    foot = foot_of(raw.plans)
    return foot if trim_line.covers(foot) else polygons_of(trim_line.intersection(foot))


def forming_run(
    *,
    raw: RawMold,
    look: FormingLook,
    sag_mm: float,
    sheet: Sheet,
    machine: FormingMachine,
    progress: Progress,
) -> FormingRun | None:
    """Return the sheet formed over the walls, if that is asked for."""
    return run_forming(
        raw.mesh, look=look, sag_mm=sag_mm, sheet=sheet, machine=machine, progress=progress
    )


def hasty_run(
    *,
    raw: RawMold,
    look: FormingLook,
    check_pace: bool,
    sag_mm: float,
    sheet: Sheet,
    machine: FormingMachine,
) -> FormingRun | None:
    """Return the same sheet formed at half the pace, if what the pace does is to be measured."""
    if not check_pace:
        return None
    return run_forming(
        raw.mesh, look=look, sag_mm=sag_mm, sheet=sheet, machine=machine, progress=quiet,
        pace_share=HASTE,
    )  # fmt: skip


def formed(
    *,
    forming_run: FormingRun | None,
    hasty_run: FormingRun | None,
    sheet: Sheet,
    relief: Relief,
    trim_line: MultiPolygon,
    raw: RawMold,
) -> FormedSheet | None:
    """Return what is read off the forming run."""
    if forming_run is None:
        return None
    from moldgen.mold.sheet.formed import read_run

    return read_run(
        forming_run, sheet=sheet, relief=relief, trim=trim_line, plans=raw.plans, hasty=hasty_run
    )


def corrected_sheet(
    *, formed: FormedSheet | None, measured: NoteEstimate | None
) -> FormedSheet | None:
    """Return the same with what notes of the table say of its thinnest places."""
    return None if formed is None else replace(formed, measured=measured)


def wall_case(
    *,
    raw: RawMold,
    sheet: Sheet,
    machine: FormingMachine,
    printer: Printer,
    side: Side,
    tactile: bool,
) -> Case:
    """Return the bare walls and what they are used with, as every check looks at them."""
    return mold_case(
        uncut_bodies(raw), raw.plans, sheet=sheet, machine=machine, printer=printer,
        side=side, tactile=tactile,
    )  # fmt: skip


def outlook(
    *, wall_case: Case, wall_findings: Sequence[Finding], setting: Setting
) -> tuple[Finding, ...]:
    """Return what soon is seen of the walls, before the sheet or the vents are looked at.

    All of it is among what is said of the whole mold.
    """
    return foreseen_findings(wall_case, wall_findings, setting)


def wall_survey(*, wall_case: Case) -> Survey:
    """Return what is seen of the bare walls along their pull."""
    return survey_of(wall_case)


def wall_results(*, wall_survey: Survey, quality: Quality) -> CheckResults | None:
    """Return every check's answer on the bare walls, where they are all that is checked."""
    return None if quality.cuts_underside else check_survey(wall_survey)


def draws(*, wall_survey: Survey) -> tuple[Draw, ...]:
    """Return how far the sheet is drawn: a matter of the walls, whatever is bored into them."""
    return wall_survey.draws


def quick_run(
    *,
    raw: RawMold,
    look: FormingLook,
    draws: Sequence[Draw],
    sag_mm: float,
    sheet: Sheet,
    machine: FormingMachine,
    progress: Progress,
) -> FormingRun | None:
    """Return the sheet formed quickly over deep walls, if nobody says whether it is followed."""
    return foresee(
        raw.mesh, draws, look=look, sag_mm=sag_mm, sheet=sheet, machine=machine, progress=progress
    )


def foreseen(
    *,
    quick_run: FormingRun | None,
    sheet: Sheet,
    relief: Relief,
    trim_line: MultiPolygon,
    raw: RawMold,
    measured: NoteEstimate | None,
) -> FormedSheet | None:
    """Return what is read off the quick run; it changes nothing of the mold or its day."""
    read = formed(
        forming_run=quick_run, hasty_run=None, sheet=sheet, relief=relief, trim_line=trim_line,
        raw=raw,
    )  # fmt: skip
    return corrected_sheet(formed=read, measured=measured)


def printed(*, raw: RawMold, solid_setting: Setting) -> PrintedMold:
    """Return the mold as heat sees it, filled so that its top lasts."""
    return table_day.mold_that_lasts(solid_setting, raw.height_mm)


def stiff_s(
    *,
    formed: FormedSheet | None,
    draws: Sequence[Draw],
    sheet: Sheet,
    machine: FormingMachine,
    printed: PrintedMold,
) -> float | None:
    """Return how long the sheet stays soft on the mold; None if it never gets stiff."""
    thinnest = thin_ratio(formed, draws, sheet.gauge_mm)
    return soft_s(sheet, machine, printed, thickness_ratio=thinnest)


def swept_L(*, raw: RawMold, machine: FormingMachine) -> float:
    """Return most of the air that the sheet pushes out."""
    return swept_most_L(raw.meshes, machine)


def placer(*, raw: RawMold) -> Callable[[FormingRun | None], VentPlacer]:
    """Return how places for vents are found on these walls, by a forming run if there is one."""

    def by_run(run: FormingRun | None) -> VentPlacer:
        if run is None:
            return lambda relief, spec: place_vents(relief, raw.plans, spec)
        from moldgen.mold.vents.by_run import place_vents_by_run

        return lambda relief, spec: place_vents_by_run(relief, run, raw.plans, spec)

    return by_run


def vent_rule(*, features: ResolvedFeatures, sheet: Sheet) -> Rule:
    """Return how wide vents may be, and why."""
    return vent_rule_of(sheet.plastic, thinnest_mm(features.bodies, sheet.gauge_mm))


def underside_request(
    *,
    underside: JobUnderside,
    insert: Insert | None,
    label: tuple[str, str],
    sheet: Sheet,
    printer: Printer,
) -> UndersideRequest:
    """Return what is asked of the side that stands on the table."""
    title, date = label
    return UndersideRequest(
        wanted=underside,
        insert=insert,
        spec=underside_spec(underside, sheet, printer),
        bore=BoreSpec.for_printer(printer),
        title=title,
        date=date,
        sheet=sheet,
    )


def vented(
    *,
    raw: RawMold,
    relief: Relief,
    kept_foot: MultiPolygon,
    forming_run: FormingRun | None,
    placer: Callable[[FormingRun | None], VentPlacer],
    vents: JobVents,
    vent_rule: Rule,
    underside_request: UndersideRequest,
    machine: FormingMachine,
    swept_L: float,
    stiff_s: float | None,
    progress: Progress,
) -> VentedWalls:
    """Return vents close enough that the air is out in time, and what is cut from below."""
    progress(Stage(3, 6, "placing vents", FORMED_SHARE))
    search = VentSearch(
        raw=raw, relief=relief, trim=kept_foot, place=placer(forming_run), wanted=vents,
        rule=vent_rule,
        asked=underside_request, machine=machine, swept_L=swept_L, stiff_s=stiff_s,
    )  # fmt: skip
    return vent_in_time(search, progress)


def cut(
    *,
    raw: RawMold,
    relief: Relief,
    formed: FormedSheet | None,
    wall_findings: Sequence[Finding],
    vent_rule: Rule,
    underside_request: UndersideRequest,
    vented: VentedWalls,
    quality: Quality,
) -> CutMold:
    """Return the mold with everything cut into it, unless that is left out of a preview."""
    layout, bore = vented.layout, underside_request.bore
    unforeseen: tuple[Finding, ...] = ()
    bodies = uncut_bodies(raw)
    if quality.cuts_underside:
        bodies, unforeseen = cut_bodies(raw, layout, bore)
    return CutMold(
        bodies=bodies, plans=raw.plans, vents=layout.vents, vent_rule=vent_rule, bore=bore,
        undersides=layout.undersides, markings=layout.markings,
        findings=(*wall_findings, *layout.findings, *unforeseen),
        relief=relief, formed=formed,
    )  # fmt: skip


def survey(
    *,
    cut: CutMold,
    wall_survey: Survey,
    sheet: Sheet,
    machine: FormingMachine,
    printer: Printer,
    side: Side,
    tactile: bool,
    quality: Quality,
) -> Survey:
    """Return what is seen of the finished mold along its pull."""
    if not quality.cuts_underside:
        return wall_survey
    case = mold_case(
        cut.bodies, cut.plans, sheet=sheet, machine=machine, printer=printer, side=side,
        tactile=tactile, widest_vent_mm=cut.widest_vent_mm,
    )  # fmt: skip
    return survey_of(case, draws=wall_survey.draws)


def checked(
    *,
    cut: CutMold,
    survey: Survey,
    wall_results: CheckResults | None,
    corrected_sheet: FormedSheet | None,
    foreseen: FormedSheet | None,
    machine: FormingMachine,
    printer: Printer,
    least_mm: float | None,
    vents: JobVents,
    vented: VentedWalls,
    edges_open: frozenset[str],
    progress: Progress,
) -> Mold:
    """Return the mold with every check's answer; nothing is known of its day at the table yet."""
    progress(Stage(4, 6, "checking"))
    return check_mold(
        replace(cut, formed=corrected_sheet), wall_results or check_survey(survey), foreseen,
        machine=machine, printer=printer, least_mm=least_mm, vents_placed=vents.place,
        told=vented.findings, edges_open=edges_open,
    )  # fmt: skip


def place_names(*, checked: Mold, letters: Sequence[PlacedLetter]) -> PlaceNames:
    """Return what places of the mold are called."""
    return PlaceNames(
        raised=[plan for plan in checked.plans if plan.direction is Direction.RAISED],
        sunk=[plan for plan in checked.plans if plan.direction is Direction.SUNK],
        letters=letters,
    )


def air(*, vented: VentedWalls) -> Evacuation:
    """Return how the vacuum comes."""
    return vented.air


def ready(
    *, checked: Mold, setting: Setting, closely: bool, printed: PrintedMold
) -> PrintReadiness:
    """Return what printing the mold takes."""
    return readiness_of(checked, setting, closely=closely, infill=printed.infill)


def day(
    *,
    checked: Mold,
    setting: Setting,
    insert: Insert | None,
    filaments: tuple[Filament, ...],
    air: Evacuation,
    ready: PrintReadiness,
    printed: PrintedMold,
) -> table_day.TableDay:
    """Return the day at the forming table."""
    return table_day.day_of(
        checked,
        setting,
        insert=insert,
        filaments=filaments,
        air=air,
        ready=ready,
        printed=printed,
    )


def mold(
    *,
    checked: Mold,
    day: table_day.TableDay,
    trim_plan: TrimPlan,
    place_names: PlaceNames,
) -> Mold:
    """Return the mold with all that was found, of it, of its trim line and of its day.

    Every place has its name.
    """
    told = replace(checked, findings=(*checked.findings, *check_trim_plan(trim_plan)))
    whole = table_day.with_day_findings(told, day)
    return replace(whole, findings=with_places(whole.findings, place_names))


STAGES = Graph(
    features, raw, rules, wall_findings, edges_open, letters,
    relief, trim_plan, trim_line, kept_foot, forming_run,
    hasty_run, formed, corrected_sheet, wall_case, outlook, wall_survey, wall_results, draws,
    quick_run, foreseen, printed, stiff_s, swept_L, placer, vent_rule,
    underside_request, vented, cut, survey, checked, place_names, air, ready, day, mold,
    by_content={"features", "kept_foot"},
    optional={
        "forming_run", "hasty_run", "formed", "corrected_sheet", "quick_run", "foreseen",
        "wall_results",
    },
    without_effect={"progress"},
)  # fmt: skip
"""Every stage of a mold. Outlines are read anew each time: they may come from files."""
