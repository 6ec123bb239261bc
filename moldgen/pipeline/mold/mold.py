"""A mold as the recipes hand it on, and what of the shop it is made with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from shapely import MultiPolygon

from moldgen.finding import Finding
from moldgen.mold.checks import CheckResults
from moldgen.mold.features import FeaturePlan, bodies_of, foot_of
from moldgen.mold.rules import Rule
from moldgen.mold.underside.cut import BoreSpec
from moldgen.mold.underside.marking import Marking
from moldgen.mold.underside.underside import Underside
from moldgen.mold.vents.vent import VentPlan
from moldgen.solid.height.relief import Relief
from moldgen.solid.mesh import Body, Mesh, joined

if TYPE_CHECKING:
    from moldgen.mold.sheet.formed import FormedSheet


@dataclass(frozen=True, eq=False, kw_only=True)
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
    formed : FormedSheet, optional
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
    formed: FormedSheet | None = None

    @cached_property
    def mesh(self) -> Mesh:
        """All bodies in one. [mm]."""
        return joined([body.mesh for body in self.bodies])

    @cached_property
    def foot(self) -> MultiPolygon:
        """Where the mold stands on the table. [mm]."""
        return foot_of(self.plans)

    @cached_property
    def owner(self) -> Mapping[str, str]:
        """Name of the body that each feature belongs to."""
        return bodies_of(self.plans)

    @property
    def height_mm(self) -> float:
        """Greatest height above the table. [mm]."""
        return float(self.mesh.bounds_mm[1, 2])

    @property
    def widest_vent_mm(self) -> float:
        """The narrow way over the widest vent, as drawn. [mm]."""
        widest = max((vent.across_mm for vent in self.vents.vents), default=0.0)
        return widest + self.bore.undersize_mm


@dataclass(frozen=True, eq=False, kw_only=True)
class Mold(CutMold):
    """A finished mold with everything that was decided and measured on the way.

    Attributes
    ----------
    checked : CheckResults
        Every check's answer; its findings are among those of the mold, the gravest first.
    foreseen : FormedSheet, optional
        What a quick run tells of a deep mold that was not asked to be followed.
    """

    checked: CheckResults
    foreseen: FormedSheet | None = None

    @property
    def followed(self) -> FormedSheet | None:
        """The formed sheet, whether its run was asked for or not."""
        return self.formed or self.foreseen
