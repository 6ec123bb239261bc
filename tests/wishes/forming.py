"""What the rules say of a wish, held against its sheet formed finely.

A rule's finding is false if the run shows that the sheet forms there; a finding is absent if the
run shows a web, a bridge or a thin wall and no rule has told of it. Both are counted by feature: a
finding speaks for all the places of its feature that are alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import shapely

import moldgen as mg
from moldgen.finding import Finding, Severity, coordinates
from moldgen.mold.choices import FormingLook
from moldgen.mold.features import FeaturePlan
from moldgen.mold.sheet.findings import FAR_SHARE, LEAST_SHARE
from moldgen.mold.sheet.formed import FormedSheet, SheetBridge
from moldgen.mold.sheet.webs import Web
from wishes.wishes import Wish

AWAY = frozenset({"gap-narrow", "detail-fine", "edge-concave"})
"""Rules that say the sheet stays away from the mold, or folds."""
FOLDED = frozenset({"bodies-near", "clamp-near"})
"""Rules that say the sheet folds up."""
THIN = frozenset({"draw-areal", "draw-depth", "draw-linear", "edge-convex", "rib-narrow"})
"""Rules that say the sheet gets thin."""

_NEAR_MM = 2.0
"""How far from a feature's foot what the run shows still belongs to it. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldWish:
    """What the rules said of one wish, and what of it the run bears out.

    Attributes
    ----------
    wish : Wish
        What was asked for.
    findings : tuple of Finding
        What was said without the run.
    false : tuple of Finding
        Of these, what the run shows to form.
    absent : tuple of str
        What the run shows and no rule tells, such as ``web 4 mm tall``.
    """

    wish: Wish
    findings: tuple[Finding, ...]
    false: tuple[Finding, ...]
    absent: tuple[str, ...]

    @property
    def cautions(self) -> int:
        """How many of its findings are more than a note."""
        return sum(one.severity is not Severity.NOTE for one in self.findings)


def held(wish: Wish, look: FormingLook = FormingLook.FINE) -> HeldWish:
    """Form the sheet of a wish, and hold what the rules say of it against the run."""
    job = wish.job()
    design = mg.design(replace(job, forming=replace(job.forming, look=look)), quality="final")
    mold = design.mold
    assert mold.formed is not None
    findings = tuple(one for one in mold.findings if not one.code.startswith("form"))
    shown = _Shown(mold.formed, mold.plans, design.trim_line)
    return HeldWish(
        wish=wish,
        findings=findings,
        false=tuple(one for one in findings if shown.refutes(one)),
        absent=tuple(shown.untold(findings)),
    )


@dataclass(frozen=True)
class _Shown:
    """What a run shows within the trim line, feature by feature."""

    formed: FormedSheet
    plans: tuple[FeaturePlan, ...]
    trim: shapely.MultiPolygon

    def refutes(self, finding: Finding) -> bool:
        """Return whether a rule complains of what the run shows to form."""
        if finding.code in AWAY:
            shown: list[SheetBridge | Web] = [*self._bridges(0), *self._folds()]
            return not any(self._concerns(finding, one) for one in shown)
        if finding.code in FOLDED:
            return not self._folds()
        return finding.code in THIN and not self._is_thin(finding.subject)

    def untold(self, findings: tuple[Finding, ...]) -> Iterator[str]:
        """Yield what deserves a caution by the run, and no rule tells of."""
        away = [one for one in findings if one.code in AWAY]
        for bridge in self._bridges(FAR_SHARE):
            if not any(self._concerns(one, bridge) for one in away):
                yield f"bridge {bridge.gap_mm:.1f} mm off at {coordinates(bridge.where_mm)}"
        folded = any(one.code in FOLDED for one in findings)
        for fold in self._folds():
            if not folded and not any(self._concerns(one, fold) for one in away):
                yield f"web {fold.height_mm:.1f} mm tall at {coordinates(fold.where_mm)}"
        if self._is_thin("") and not any(one.code in THIN for one in findings):
            yield f"thin, {self.formed.thinnest.thin_mm:.2f} mm"

    def _bridges(self, least: float) -> list[SheetBridge]:
        """Return the bridges of more than so many gauges."""
        least_mm = least * self.formed.sheet.gauge_mm
        return [one for one in self.formed.bridges if one.gap_mm > least_mm]

    def _folds(self) -> list[Web]:
        folds = self.formed.folds
        return [one for one in folds if self.trim.intersects(shapely.Point(one.where_mm[:2]))]

    def _concerns(self, finding: Finding, shown: SheetBridge | Web) -> bool:
        """Return whether what is shown is at the feature that a finding speaks of."""
        at = shapely.Point(shown.where_mm[:2])
        own = [plan for plan in self.plans if plan.name == finding.subject]
        if not own:
            return True
        # What lies between two features is told of what carries both.
        near_mm = max(_NEAR_MM, finding.limit or 0.0)
        return any(plan.outer.distance(at) <= near_mm for plan in own)

    def _is_thin(self, name: str) -> bool:
        limit_mm = LEAST_SHARE * self.formed.sheet.gauge_mm
        return any(one.thin_mm < limit_mm for one in self.formed.thinned if name in (one.name, ""))
