"""The one way to a mold: from a job, from its features, or from any walls that stand."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.errors import FileError, SpecError
from moldgen.finding import Finding
from moldgen.job import Job, load_job
from moldgen.job.feature_names import with_names
from moldgen.job.spec import MoldRequest
from moldgen.memo import Memo
from moldgen.mold.choices import BuildWay
from moldgen.mold.place.name import with_places
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.pipeline.graph import Computation
from moldgen.pipeline.heat.rows import noted_text
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.mold.day import heated_in
from moldgen.pipeline.mold.print_readiness import wants_overhangs
from moldgen.pipeline.mold.quality import Quality
from moldgen.pipeline.mold.stages import STAGES
from moldgen.pipeline.mold.trim_region import trim_use
from moldgen.pipeline.mold.vent_spacing import VentPlacer
from moldgen.pipeline.mold.wood import in_wood
from moldgen.pipeline.setting import Setting, setting_of
from moldgen.pipeline.stage import Progress, quiet
from moldgen.stock import Insert, Shop
from moldgen.stock.infill import USUAL_INFILL
from moldgen.wording import clock_text

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from moldgen.mold.air.evacuation import Evacuation
    from moldgen.mold.build import RawMold
    from moldgen.mold.rules import Rule, WallRules
    from moldgen.mold.sheet.formed import FormedSheet
    from moldgen.outline.drawing import Drawing
    from moldgen.physics.membrane.run import FormingRun
    from moldgen.pipeline.mold.day import TableDay
    from moldgen.pipeline.mold.features import ResolvedFeatures
    from moldgen.pipeline.mold.mold import CutMold, Mold
    from moldgen.table.printed_mold import PrintedMold

MOST_BYTES = 2**28
"""What a design keeps of its stages if nobody gives it a memo. [B]."""


class MoldDesign:
    """A mold as a graph of stages: what is asked for is computed, with what it needs and no more.

    Each property that is a stage may raise whatever makes the mold impossible: a `MoldgenError`
    with one sentence that says what to change.

    Parameters
    ----------
    request : MoldRequest
        What is asked for.
    setting : Setting
        Sheet, machine, printer, filament.
    shop : Shop
        What else there is.
    given : mapping
        What the walls are made from: ``job``, ``folder`` and ``drawings``; or ``features``; or
        ``raw`` with ``wall_findings``, ``placer``, ``vent_rule`` and ``rules``.
    quality : Quality
        How closely it is built.
    choices : tuple of ChosenValue
        What was chosen for a job that left it open.
    memo : Memo, optional
        Keeps what is computed for other designs too; an own one if left out.
    progress : callable
        Told of each stage as it begins.
    """

    def __init__(
        self,
        request: MoldRequest,
        *,
        setting: Setting,
        shop: Shop,
        given: Mapping[str, Any],
        quality: Quality = Quality.FINAL,
        choices: tuple[ChosenValue, ...] = (),
        memo: Memo | None = None,
        progress: Progress = quiet,
    ) -> None:
        self._chosen = choices
        self.request, self.setting, self.shop, self.quality = request, setting, shop, quality
        inputs = {
            **_inputs_of(request, setting, shop),
            **given,
            "quality": quality,
            "progress": progress,
        }
        kept = Memo(MOST_BYTES) if memo is None else memo
        self._stages = Computation(STAGES, inputs, kept)

    @property
    def features(self) -> ResolvedFeatures:
        """Outlines in place, with walls and radii by the rules."""
        features: ResolvedFeatures = self._stages.get("features")
        return features

    @property
    def rules(self) -> Mapping[str, WallRules]:
        """What the rules asked of each feature's wall."""
        rules: Mapping[str, WallRules] = self._stages.get("rules")
        return rules

    @property
    def raw(self) -> RawMold:
        """The walls, with nothing cut into them."""
        raw: RawMold = self._stages.get("raw")
        return raw

    @property
    def trim_line(self) -> MultiPolygon:
        """What is cut out of the formed sheet, seen from above. [mm]."""
        line: MultiPolygon = self._stages.get("trim_line")
        return line

    @property
    def formed(self) -> FormedSheet | None:
        """The sheet formed over the walls, if that is asked for."""
        formed: FormedSheet | None = self._stages.get("corrected_sheet")
        return formed

    @property
    def air(self) -> Evacuation:
        """How the vacuum comes."""
        air: Evacuation = self._stages.get("air")
        return air

    @property
    def cut(self) -> CutMold:
        """The mold with everything cut into it, not checked."""
        cut: CutMold = self._stages.get("cut")
        return cut

    @property
    def checked(self) -> Mold:
        """The mold, checked; what is known of its day at the table is not among its findings."""
        mold: Mold = self._stages.get("checked")
        return mold

    @property
    def outlook(self) -> tuple[Finding, ...]:
        """What soon is found, of size, gaps, strokes and the first layer: a part of the whole."""
        found: tuple[Finding, ...] = self._stages.get("outlook")
        return found

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the checks found, each place with its name; nothing of the day at the table."""
        return with_places(self.checked.findings, self._stages.get("place_names"))

    @property
    def day(self) -> TableDay:
        """The day at the table."""
        day: TableDay = self._stages.get("day")
        return day

    @property
    def mold(self) -> Mold:
        """The mold with all that was found, of it and of its day."""
        mold: Mold = self._stages.get("mold")
        return mold

    @property
    def choices(self) -> tuple[ChosenValue, ...]:
        """What was chosen where nobody asked for a value."""
        printed: PrintedMold = self._stages.get("printed")
        infill = _infill_choice(printed.infill) if self.setting.is_printed else ()
        return (*self._chosen, *self._feature_choices, *infill, *_noted_choice(self.setting))

    @property
    def _feature_choices(self) -> tuple[ChosenValue, ...]:
        return tuple(self.features.choices) if isinstance(self.request, Job) else ()

    def computed(self) -> frozenset[str]:
        """Return the names of the stages that were computed, or found in the memo, so far."""
        return self._stages.computed()


def design_mold(
    job: Job,
    *,
    folder: Path,
    shop: Shop,
    progress: Progress = quiet,
    drawings: Mapping[str, Drawing] | None = None,
    quality: Quality = Quality.FINAL,
    memo: Memo | None = None,
    placer: Callable[[FormingRun | None], VentPlacer] | None = None,
) -> MoldDesign:
    """Design the mold of a job; its stages are computed when they are asked for.

    Parameters
    ----------
    job : Job
        What is wanted.
    folder : Path
        Where paths in the job start.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told of each stage as it begins.
    drawings : mapping, optional
        Drawings in hand, by the name of the SVG file that the job gives for them.
    quality : Quality
        How closely it is built.
    memo : Memo, optional
        Keeps what is computed for other designs too.
    placer : callable, optional
        How places for vents are found, in place of the usual way.

    Raises
    ------
    SpecError
        If the shop has not what the job names.
    """
    job = in_wood(job) if job.build is BuildWay.WOOD else job
    chosen = choose(
        with_names(job), setting=setting_of(job, shop), folder=folder,
        filaments=shop.filaments.entries, drawings=drawings,
    )  # fmt: skip
    given: dict[str, Any] = {"job": chosen.job, "folder": folder, "drawings": drawings or {}}
    if placer is not None:
        given["placer"] = placer
    return MoldDesign(
        chosen.job, setting=chosen.setting, shop=shop, given=given, choices=chosen.choices,
        quality=quality, memo=memo, progress=progress,
    )  # fmt: skip


def design_features(
    request: MoldRequest,
    resolved: ResolvedFeatures,
    *,
    setting: Setting,
    shop: Shop,
    progress: Progress = quiet,
) -> MoldDesign:
    """Design the mold of features whose outlines are in place and whose walls are settled.

    Parameters
    ----------
    request : MoldRequest
        What is asked of the mold beside its features.
    resolved : ResolvedFeatures
        Its features in place.
    setting : Setting
        Sheet, table, printer and filament.
    shop : Shop
        What the shop has.
    progress : callable
        Told of each stage.
    """
    given = {"features": resolved}
    return MoldDesign(request, setting=setting, shop=shop, given=given, progress=progress)


def design_walls(
    request: MoldRequest,
    raw: RawMold,
    *,
    setting: Setting,
    shop: Shop,
    placer: Callable[[FormingRun | None], VentPlacer],
    vent_rule: Rule,
    rules: Mapping[str, WallRules],
    findings: Sequence[Finding],
    progress: Progress = quiet,
) -> MoldDesign:
    """Design the mold of walls that stand, whatever they were made from.

    Parameters
    ----------
    request : MoldRequest
        What is asked of the mold beside its walls.
    raw : RawMold
        The walls.
    setting : Setting
        Sheet, table, printer and filament.
    shop : Shop
        What the shop has.
    placer : callable
        How places for vents are found on them, by a forming run if there is one.
    vent_rule : Rule
        How wide vents may be.
    rules, findings : mapping, sequence of Finding
        What was asked of the walls, and found on the way to them.
    progress : callable
        Told of each stage.
    """
    given = {
        "raw": raw,
        "rules": rules,
        "placer": placer,
        "vent_rule": vent_rule,
        "wall_findings": (*findings, *raw.findings),
        "edges_open": frozenset[str](),
        "letters": (),
    }
    return MoldDesign(request, setting=setting, shop=shop, given=given, progress=progress)


def design_of_file(path: Path, shop: Shop) -> MoldDesign:
    """Design the mold of a job file.

    Raises
    ------
    FileError
        If the file is the job of a bent strip, which has no mold.
    """
    job = load_job(path)
    if not isinstance(job, Job):
        raise FileError(f"{path} is the job of a bent strip, which has no mold. Name a mold's job.")
    return design_mold(job, folder=path.parent, shop=shop)


def _inputs_of(request: MoldRequest, setting: Setting, shop: Shop) -> dict[str, Any]:
    """Return what every stage can be given of a request and its shop, by name."""
    return {
        "setting": setting,
        "solid_setting": setting.of_solid,
        "measured": setting.thickness,
        "sheet": setting.sheet,
        "machine": setting.machine,
        "printer": setting.printer,
        "filament": setting.filament,
        "filaments": tuple(shop.filaments.entries),
        "insert": _insert(request, shop),
        "side": request.side,
        "tactile": request.tactile,
        "vents": request.vents,
        "ball_mm": request.vents.ball_mm,
        "underside": request.underside,
        "label": (request.title, request.date),
        "trim": request.trim,
        "trim_use": trim_use(request),
        "look": request.forming.look,
        "sag_mm": request.forming.sag_mm,
        "check_pace": request.forming.check_pace,
        "least_mm": request.forming.least_mm,
        "closely": wants_overhangs(request.output.formats),
    }


def _infill_choice(infill: float) -> Iterator[ChosenValue]:
    if infill != USUAL_INFILL:
        yield ChosenValue(
            what="infill", value=f"{100 * infill:.0f} %",
            because="so that the top of the mold does not sink in a class of 30",
        )  # fmt: skip


def _noted_choice(setting: Setting) -> Iterator[ChosenValue]:
    """Yield the heating time where notes of the table changed it."""
    if setting.heating is None:
        return
    try:
        heated = heated_in(setting)
    except SpecError:
        return
    if heated.usable.forming_s is not None:
        yield ChosenValue(
            what="heating time", value=clock_text(heated.usable.forming_s),
            because=noted_text(heated),
        )  # fmt: skip


def _insert(request: MoldRequest, shop: Shop) -> Insert | None:
    wanted = request.underside.insert_wanted
    return shop.insert(wanted[1], wanted[0]) if wanted else None
