"""Sheet and filament from the shop's stock, where a job leaves them open.

The usual ones are taken unless the rules have something to say against them; then the nearest
that they have nothing against. Nothing is built for it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, log
from pathlib import Path
from typing import TYPE_CHECKING

import shapely

from moldgen.errors import MoldgenError
from moldgen.finding import Severity, worst
from moldgen.job import Job
from moldgen.job.spec import JobFeature
from moldgen.mold.build import outer_region
from moldgen.mold.checks.outlines import Outline
from moldgen.mold.checks.stroke import NarrowPlace, narrow_places
from moldgen.mold.features import Direction, Feature
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.pipeline.mold.features import resolve_features, thinnest_mm
from moldgen.pipeline.setting import Setting
from moldgen.printing.warp import PULL_MM, end_pull_mm
from moldgen.stock import Filament, Sheet
from moldgen.wording import gauge_text

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing

MOST_GAUGES = 4
"""So many other gauges are looked at. [-]."""

_SAME_MM = 0.03
"""Gauges nearer than this are one: 1.5 mm and 0.060 in. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeObjection:
    """What speaks against a gauge, and the band of gauges in which it may not.

    Attributes
    ----------
    because : str
        A clause.
    low_mm, high_mm : float
        The band. [mm]
    """

    because: str
    low_mm: float = 0.0
    high_mm: float = inf


@dataclass(frozen=True, slots=True)
class GaugeChooser:
    """Looks for a gauge that the rules have nothing against.

    Attributes
    ----------
    settle : callable
        Returns the job with all else chosen, for a setting.
    folder : Path
        Where paths in the job start.
    drawings : mapping
        Drawings in hand, by the name of the SVG file.
    """

    settle: Callable[[Setting], Job]
    folder: Path
    drawings: Mapping[str, Drawing]

    def choose(self, usual: Setting) -> tuple[Setting, ChosenValue | None]:
        """Return the setting with the nearest gauge that fits, and what is to be said of it.

        The usual gauge stays where nothing speaks against it, and where no other is better.
        """
        objection = _not_sold(usual) or self._objection(usual)
        if objection is None:
            return usual, None
        for gauge_mm in _gauges_to_try(usual, objection):
            other = _with_gauge(usual, gauge_mm)
            if self._objection(other) is None:
                told = ChosenValue(
                    what="sheet", value=gauge_text(gauge_mm), because=objection.because
                )
                return other, told
        return usual, None

    def _objection(self, setting: Setting) -> GaugeObjection | None:
        """Return what the rules have against the gauge of a setting, or None."""
        gauge_mm = setting.sheet.gauge_mm
        try:
            job = self.settle(setting)
            bodies = resolve_features(
                job, folder=self.folder, setting=setting, drawings=self.drawings
            ).bodies
        except MoldgenError:  # told where it is built
            return None
        narrow = list(narrow_places(tuple(_outlines(bodies)), gauge_mm))
        if narrow:
            return _too_narrow(narrow, gauge_mm)
        factor = 1.0 if setting.thickness is None else setting.thickness.value
        least_mm, mean_mm = job.forming.least_mm, factor * thinnest_mm(bodies, gauge_mm)
        if least_mm is None or mean_mm >= least_mm:
            return None
        because = f"{gauge_text(gauge_mm)} would be thinner than {least_mm:g} mm on the mean"
        return GaugeObjection(because=because, low_mm=gauge_mm * least_mm / mean_mm)


def _not_sold(setting: Setting) -> GaugeObjection | None:
    gauge_mm, plastic = setting.sheet.gauge_mm, setting.sheet.plastic
    sold = [one for one in setting.gauges if abs(one.gauge_mm - gauge_mm) <= _SAME_MM]
    if sold or not setting.gauges:
        return None
    return GaugeObjection(because=f"{plastic.name} is not sold in {gauge_text(gauge_mm)}")


def _too_narrow(narrow: Sequence[NarrowPlace], gauge_mm: float) -> GaugeObjection:
    first = narrow[0]
    kind = "ribs" if first.rib else "gaps"
    where = f" of {first.outline.name}" if first.outline.name else ""
    return GaugeObjection(
        because=f"the {kind}{where} are too narrow for {gauge_text(gauge_mm)}",
        high_mm=min(one.thickest_mm for one in narrow),
    )


def _gauges_to_try(setting: Setting, objection: GaugeObjection) -> list[float]:
    """Return the gauges the sheet is sold in that may do, the nearest first. [mm]."""
    usual_mm = setting.sheet.gauge_mm
    every = {one.gauge_mm for one in setting.gauges}
    # An inch gauge beside the metric size that it is sold as is the same sheet.
    sold = {one.gauge_mm for one in setting.gauges if one.nominal_mm not in every}
    may = [mm for mm in sold if objection.low_mm <= mm <= objection.high_mm and mm != usual_mm]
    return sorted(may, key=lambda mm: (abs(log(mm / usual_mm)), mm))[:MOST_GAUGES]


def _with_gauge(setting: Setting, gauge_mm: float) -> Setting:
    return replace(setting, sheet=Sheet(plastic=setting.sheet.plastic, gauge_mm=gauge_mm))


def _outlines(features: Sequence[Feature], parent: str = "") -> Iterator[Outline]:
    for one in features:
        yield Outline(
            name=one.name, parent=parent, raised=one.direction is Direction.RAISED,
            region=one.region, outer=one.region, height_mm=one.wall.height_mm, z_mm=0.0,
        )  # fmt: skip
        yield from _outlines(one.children, one.name)


@dataclass(frozen=True, slots=True)
class FilamentChooser:
    """Looks for a filament that stands a class under a sheet.

    Attributes
    ----------
    job : Job
        In which nothing else is open.
    folder : Path
        Where paths in the job start.
    drawings : mapping
        Drawings in hand, by the name of the SVG file.
    """

    job: Job
    folder: Path
    drawings: Mapping[str, Drawing]

    def choose(
        self, usual: Setting, filaments: Sequence[Filament]
    ) -> tuple[Setting, ChosenValue | None]:
        """Return the setting with a filament that stands, and what is to be said of it.

        The usual one stays where it stands; else of those that do and whose ends stay on the bed
        the one that softens first is taken, which is the easiest to print. Where there is none the
        usual one stays too, and is told, unless it would sink at once.
        """
        now, sinks = usual.filament, self._sinks(usual)
        if sinks is None:
            return usual, None
        harder = [one for one in filaments if one.stands_degC > now.stands_degC]
        ranked = [replace(usual, filament=one) for one in sorted(harder, key=_stands_degC)]
        standing = [one for one in ranked if self._sinks(one) is None]
        flat = [one for one in standing if self._pull_mm(one) <= PULL_MM]
        fit = flat or (standing if sinks is Severity.STOP else [])
        if not fit:
            return usual, None
        because = f"{now.name} would soften under this sheet in a class of 30"
        return fit[0], ChosenValue(what="filament", value=fit[0].filament.name, because=because)

    def _sinks(self, setting: Setting) -> Severity | None:
        """Return how grave it is what a class does to a mold printed so; None if it is not."""
        # Heat is a matter of its own, which a job that names its filament never asks here.
        from moldgen.pipeline.mold.day import life_of_a_class
        from moldgen.table.life_findings import top_findings

        life = life_of_a_class(setting, max(_height_mm(body) for body in self.job.body))
        gravest = worst(top_findings(life)) if life is not None else None
        return None if gravest is Severity.NOTE else gravest

    def _pull_mm(self, setting: Setting) -> float:
        """Return how far the ends of the mold want to pull in; 0 if it cannot be built. [mm]."""
        try:
            resolved = resolve_features(
                self.job, folder=self.folder, setting=setting, drawings=self.drawings
            )
            pieces = [part for body in resolved.bodies for part in outer_region(body).geoms]
        except MoldgenError:  # told where it is built
            return 0.0
        longest_mm = max(2 * float(shapely.minimum_bounding_radius(piece)) for piece in pieces)
        return end_pull_mm(longest_mm, setting.filament)


def _stands_degC(filament: Filament) -> float:
    return filament.stands_degC


def _height_mm(feature: JobFeature) -> float:
    """Return how far a feature and all that stands on it rise. [mm]."""
    return feature.wall_mm + max(map(_height_mm, feature.raised), default=0.0)
