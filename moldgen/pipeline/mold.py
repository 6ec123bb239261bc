"""A mold as the recipes hand it on, and what of the shop it is made with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon

from moldgen.finding import Finding
from moldgen.job.command_words import ShopWords
from moldgen.job.spec import MoldRequest, Side, TrimShape
from moldgen.mold.checks import Checked
from moldgen.mold.checks.spacing import flange_mm
from moldgen.mold.features import FeaturePlan, foot_of
from moldgen.mold.finish import BoreSpec
from moldgen.mold.formed import Formed
from moldgen.mold.marking import Marking
from moldgen.mold.rules import Rule
from moldgen.mold.underside import Underside
from moldgen.mold.vents import VentPlan
from moldgen.solid.mesh import Body
from moldgen.solid.relief import Relief
from moldgen.stock import Filament, Gauge, Printer, Sheet, Shop, Station


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What of the shop a mold is made with."""

    sheet: Sheet
    station: Station
    printer: Printer
    filament: Filament
    gauges: tuple[Gauge, ...] = ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CutMold:
    """A mold with everything cut into it, before the checks.

    Attributes
    ----------
    bodies : tuple of Body
        The pieces to be printed, as they stand on the table. [mm]
    plans : tuple of FeaturePlan
        Every feature as built.
    vents : VentPlan
        Where the air goes.
    vent_rule : Rule
        Why the vents are as wide as they are.
    bore : BoreSpec
        How they are bored.
    undersides : tuple of Underside
        What is cut under each top-level feature.
    markings : tuple of Marking
        What is sunk under each top-level feature.
    findings : tuple of Finding
        All findings so far.
    relief : Relief
        The mold seen from above, before vents were cut. [mm]
    formed : Formed, optional
        The sheet that was formed over it, if the job wants to know.
    """

    bodies: tuple[Body, ...]
    plans: tuple[FeaturePlan, ...]
    vents: VentPlan
    vent_rule: Rule
    bore: BoreSpec
    undersides: tuple[Underside, ...]
    markings: tuple[Marking, ...]
    findings: tuple[Finding, ...]
    relief: Relief
    formed: Formed | None = None

    @property
    def foot(self) -> MultiPolygon:
        """Where the mold stands on the table. [mm]."""
        return foot_of(self.plans)

    @property
    def height_mm(self) -> float:
        """Greatest height above the table. [mm]."""
        return float(max(body.mesh.points_mm[:, 2].max() for body in self.bodies))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mold(CutMold):
    """A finished mold with everything that was decided and measured on the way.

    Attributes
    ----------
    checked : Checked
        Every check's answer; its findings are among those of the mold, the gravest first.
    """

    checked: Checked


def setting_of(request: MoldRequest, shop: Shop) -> Setting:
    """Look up what a mold is made with.

    Raises
    ------
    SpecError
        With the nearest names, if there is no such entry.
    """
    return _setting(request, request.sheet.plastic, request.sheet.gauge_mm, shop=shop)


def setting_of_words(words: ShopWords, shop: Shop) -> Setting:
    """Look up what a short command names.

    Raises
    ------
    SpecError
        With the nearest names, if there is no such entry.
    """
    return _setting(words, words.plastic, words.gauge_mm, shop=shop)


def _setting(
    named: MoldRequest | ShopWords, plastic: str, gauge_mm: float, *, shop: Shop
) -> Setting:
    return Setting(
        sheet=Sheet(plastic=shop.plastic(plastic), gauge_mm=gauge_mm),
        station=shop.station(named.station),
        printer=shop.printer(named.printer),
        filament=shop.filament(named.filament),
        gauges=shop.gauges_for(plastic),
    )


def trim_region(request: MoldRequest, foot: MultiPolygon, height_mm: float) -> MultiPolygon:
    """Return the region the formed parts are cut out along. [mm]."""
    flange = trim_flange_mm(request, height_mm)
    if request.trim.shape is TrimShape.STRAIGHT:
        box = shapely.buffer(shapely.box(*foot.bounds), flange)
        return _as_multi([MultiPolygon([shapely.box(*box.bounds)])])
    return _as_multi([shapely.buffer(foot, flange, quad_segs=24)])


def trim_flange_mm(request: MoldRequest, height_mm: float) -> float:
    """Return how much sheet is left round a part of some height. [mm]."""
    if request.trim.flange_mm is not None:
        return request.trim.flange_mm
    return flange_mm(1000.0 if request.side is Side.FEMALE else height_mm)


def _as_multi(regions: Sequence[MultiPolygon]) -> MultiPolygon:
    return MultiPolygon([part for region in regions for part in shapely.get_parts(region)])
