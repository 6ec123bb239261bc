"""How much the walls lean: every face the sheet lies on against the draw direction."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.outlines import Outline
from moldgen.mold.checks.sight import Sight

TOLERANCE_DEG = 0.1
"""Shortfall that chords of rounded corners may cause. [°]."""

FLAT_DEG = 89.5
"""Lean from which a face is a flat and not a wall. [°]."""

LEAST_AREA_MM2 = 1.0
"""Area of steep wall below which nobody notices. [mm²]."""

_SPE = "SPE Thermoforming Division, Thermoforming 101, 'Draft Angles', 25(1) 2006"


@dataclass(frozen=True, eq=False, kw_only=True)
class Draft:
    """The lean of the walls from the draw direction.

    Attributes
    ----------
    leans_deg : ndarray, shape (m,)
        Lean of every triangle that the sheet lies on or grips: 0 upright, negative undercut, 90
        flat; nan for the underside and the walls of vents. [°]
    surely_deg : ndarray, shape (m,)
        The same, plus what rounding of the coordinates can hide. [°]
    areas_mm2 : ndarray, shape (m,)
        Area of the triangles. [mm²]
    least_deg : float
        Least lean that is beyond doubt, of more wall than `LEAST_AREA_MM2`; nan for a mold
        without walls. [°]
    triangle : int
        Where that is; -1 for a mold without walls.
    """

    leans_deg: Floats
    surely_deg: Floats
    areas_mm2: Floats
    least_deg: float
    triangle: int

    def histogram(self, *, step_deg: float = 1.0) -> tuple[Floats, Floats]:
        """Return the borders of the classes and the wall area in each, flats left out.

        Parameters
        ----------
        step_deg : float
            Width of a class; classes run from -90 to 90. [°]

        Returns
        -------
        borders_deg : ndarray, shape (k + 1,)
            Borders of the classes. [°]
        areas_mm2 : ndarray, shape (k,)
            Area in each class. [mm²]
        """
        wall = self.leans_deg < FLAT_DEG
        borders = np.linspace(-90, 90, round(180 / step_deg) + 1)
        areas, _ = np.histogram(self.leans_deg[wall], borders, weights=self.areas_mm2[wall])
        return borders, areas


def measure_draft(case: Case, sight: Sight) -> Draft:
    """Measure the lean of every triangle that the sheet lies on or grips.

    A triangle whose corners are rounded to single precision may be turned by twice that step
    over its least height; that much is added before a wall counts as too steep, so needles left
    over by a modeler prove nothing, while a wall of 1 mm is known to 0.002° at 100 mm.
    """
    counts = (sight.seen | sight.grips) & (case.mesh.areas_mm2 > 0)
    lean = np.where(counts, case.leans_deg, np.nan)
    surely = np.minimum(lean + case.uncertainty_deg, 90.0)
    least = _least(np.where(lean < FLAT_DEG, surely, np.nan), case.mesh.areas_mm2)
    return Draft(
        leans_deg=lean,
        surely_deg=surely,
        areas_mm2=case.mesh.areas_mm2,
        least_deg=float(surely[least]) if least >= 0 else float("nan"),
        triangle=least,
    )


def _least(walls_deg: Floats, areas_mm2: Floats) -> int:
    """Return the steepest wall, nan being none, but for slivers nobody notices; -1 for none."""
    steepest = np.argsort(walls_deg, kind="stable")[: np.isfinite(walls_deg).sum()]
    if not len(steepest):
        return -1
    so_far = np.cumsum(areas_mm2[steepest])
    least_mm2 = min(LEAST_AREA_MM2, 0.5 * float(so_far[-1]))
    return int(steepest[np.searchsorted(so_far, least_mm2)])


def check_draft(case: Case, sight: Sight, draft: Draft) -> tuple[Finding, ...]:
    """Ask whether every wall leans enough for the part to come off, feature by feature."""
    findings = []
    for number, outline in enumerate(case.outlines):
        own = (case.owner == number) & ~sight.grips & (draft.leans_deg < FLAT_DEG)
        findings += _low(case, draft, outline, np.flatnonzero(own))
    return tuple(findings)


def _low(case: Case, draft: Draft, outline: Outline, own: NDArray[np.int64]) -> list[Finding]:
    field = "draft_male_deg" if outline.raised else "draft_female_deg"
    limit = float(getattr(case.sheet.plastic, field))
    stated = outline.draft_deg
    surely = draft.surely_deg[own]
    low = own[surely < limit - TOLERANCE_DEG]
    lost = own[surely < stated - TOLERANCE_DEG] if stated is not None else own[:0]
    findings = []
    if draft.areas_mm2[lost].sum() > LEAST_AREA_MM2:
        findings.append(_finding(case, draft, outline, lost, limit=float(stated or 0), lost=True))
    elif draft.areas_mm2[low].sum() > LEAST_AREA_MM2:
        findings.append(_finding(case, draft, outline, low, limit=limit, lost=False))
    return findings


def _finding(
    case: Case,
    draft: Draft,
    outline: Outline,
    low: NDArray[np.int64],
    *,
    limit: float,
    lost: bool,
) -> Finding:
    worst = low[int(np.argmin(draft.surely_deg[low]))]
    least = float(draft.surely_deg[worst])
    rises = float(np.ptp(case.mesh.corners_mm[low, :, 2]))
    sticks = outline.raised and least < 0.5 and rises > 2 * case.sheet.gauge_mm
    field = "draft_male_deg" if outline.raised else "draft_female_deg"
    return Finding(
        code="draft-lost" if lost else "draft-low",
        severity=Severity.STOP if sticks else Severity.CAUTION,
        says=(
            f"{draft.areas_mm2[low].sum():.0f} mm² of wall have less draft than "
            + ("stated" if lost else "the part needs to release")
        ),
        measured=least,
        limit=limit,
        unit="°",
        where_mm=case.place(case.middles_mm[worst]),
        subject=outline.name,
        basis="the draft stated for this feature" if lost else case.source(field, _SPE),
        advice=f"Give these walls at least {limit:g}° of draft.",
    )
