"""The one way to a mold: from a job, from its features, or from any walls that stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from moldgen.errors import FileError
from moldgen.job import Job, load_job
from moldgen.job.feature_names import with_names
from moldgen.job.spec import MoldRequest
from moldgen.mold.air.evacuation import Evacuation
from moldgen.mold.rules import WallRules
from moldgen.outline.drawing import Drawing
from moldgen.pipeline.mold.checking import check_mold
from moldgen.pipeline.mold.day import TableDay, day_of, with_day_findings
from moldgen.pipeline.mold.features import ResolvedFeatures, resolve_features
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.vent_spacing import vent_in_time
from moldgen.pipeline.mold.walls import Walls, walls_of_features
from moldgen.pipeline.setting import Setting, setting_of
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.stock import Shop


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoldDesign:
    """A mold whose air gets out in time, checked, with what it was made from.

    Attributes
    ----------
    request : MoldRequest
        What was asked for.
    setting : Setting
        Sheet, machine, printer, filament.
    shop : Shop
        What else there is.
    mold : Mold
        The mold; what is known of its day at the table is not yet among its findings.
    rules : mapping of str to WallRules
        What the rules asked of each feature's wall.
    air : Evacuation
        How the vacuum comes.
    """

    request: MoldRequest
    setting: Setting
    shop: Shop
    mold: Mold
    rules: Mapping[str, WallRules]
    air: Evacuation

    def with_day(self) -> tuple[Mold, TableDay]:
        """Work out the day at the table; the mold returned has its findings too."""
        day = day_of(self.request, self.mold, self.setting, self.shop, air=self.air)
        return with_day_findings(self.mold, day), day


def design_mold(
    job: Job,
    *,
    folder: Path,
    shop: Shop,
    progress: Progress,
    drawings: Mapping[str, Drawing] | None = None,
) -> MoldDesign:
    """Design the mold of a job.

    Parameters
    ----------
    job : Job
        What is wanted.
    folder : Path
        Where paths in the job start.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told the name of each stage as it begins.
    drawings : mapping, optional
        Drawings in hand, by the name of the SVG file that the job gives for them.

    Raises
    ------
    MoldgenError
        If the job cannot be made: one sentence that says what to change.
    """
    progress(Stage(1, 6, "reading outlines"))
    job = with_names(job)
    setting = setting_of(job, shop)
    resolved = resolve_features(job, folder=folder, setting=setting, drawings=drawings)
    return design_features(job, resolved, setting=setting, shop=shop, progress=progress)


def design_features(
    request: MoldRequest,
    resolved: ResolvedFeatures,
    *,
    setting: Setting,
    shop: Shop,
    progress: Progress,
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
    progress : Progress
        Told of each stage.
    """
    progress(Stage(2, 6, "building the walls"))
    walls = walls_of_features(request, resolved, setting=setting, progress=progress)
    return design_walls(request, walls, setting=setting, shop=shop, progress=progress)


def design_walls(
    request: MoldRequest, walls: Walls, *, setting: Setting, shop: Shop, progress: Progress
) -> MoldDesign:
    """Vent, cut and check walls that stand.

    Parameters
    ----------
    request : MoldRequest
        What is asked of the mold beside its walls.
    walls : Walls
        The walls, with the forming run over them if there is one.
    setting : Setting
        Sheet, table, printer and filament.
    shop : Shop
        What the shop has.
    progress : Progress
        Told of each stage.
    """
    vented = vent_in_time(request, walls, setting=setting, shop=shop, progress=progress)
    progress(Stage(4, 6, "checking"))
    mold = check_mold(request, vented.mold, vented.survey, setting=setting, told=vented.findings)
    return MoldDesign(
        request=request, setting=setting, shop=shop, mold=mold, rules=walls.rules, air=vented.air
    )


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
    return design_mold(job, folder=path.parent, shop=shop, progress=quiet)
