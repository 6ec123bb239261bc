"""What a sign's plaque has round its words: its margin, a border, marks for hanging holes."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from moldgen.job.command.mold import SignCommand
from moldgen.job.outline import JobBorder, JobHanging
from moldgen.job.spec import JobFeature, ReadAt
from moldgen.mold.choices import HangingHoles
from moldgen.mold.width_rule import least_gap_mm, least_stroke_mm

_USUAL_MARGIN_MM = 12.0
_USUAL_RELIEF_MM = 4.0
_BORDER_RELIEF_MM = 2.0
HOLE_MM = 5.0
"""Hole that a screw, a hook or a cord goes through. [mm]."""
LEAST_LAND_MM = 5.0
"""Sheet left round a hole, so that it does not tear out (common practice, no source). [mm]."""
CONE_DEG = 45.0
"""Lean of a mark's wall: the dimple it leaves guides a drill. [°]."""
TIP_MM = 0.5
"""Radius of a mark's blunt tip; the sheet does not follow a finer one. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaqueEdge:
    """What lies round the words of a plaque.

    Attributes
    ----------
    margin_mm, above_mm : float
        Plaque round the words, and how much more above them. [mm]
    features : tuple of JobFeature
        The border and the marks.
    """

    margin_mm: float
    above_mm: float = 0.0
    features: tuple[JobFeature, ...] = ()


def plaque_edge(command: SignCommand) -> PlaqueEdge:
    """Return margin, border and marks of a sign's plaque.

    The border is as wide as the narrowest stroke that forms, and as far from the words as the sheet
    needs to go down between; marks keep the same distance from words and border.
    """
    apart, edge = _apart_mm(command), _edge_mm(command)
    ledge = max(2.0, 1.5 * command.sheet_mm)
    taken, features = 0.0, []
    if command.border:
        width = _border_mm(command)
        taken = ledge + width
        features.append(_border(command, width, ledge))
    usual = max(_USUAL_MARGIN_MM, float(ceil(edge + taken + apart)) if command.border else 0.0)
    margin = usual if command.margin_mm is None else command.margin_mm
    if command.hanging_hole is HangingHoles.NONE:
        return PlaqueEdge(margin_mm=margin, features=tuple(features))
    center = taken + max(LEAST_LAND_MM, apart if command.border else 0.0) + HOLE_MM / 2
    above = max(0.0, float(ceil(edge + center + HOLE_MM / 2 + apart - margin)))
    features.append(_marks(command, center))
    return PlaqueEdge(margin_mm=margin, above_mm=above, features=tuple(features))


def _apart_mm(command: SignCommand) -> float:
    """Return what is left between walls that stand side by side on the plaque. [mm]."""
    return least_gap_mm(command.sheet_mm, command.relief_mm or _USUAL_RELIEF_MM) + 1.0


def _border_mm(command: SignCommand) -> float:
    """Return the width of the narrowest border that forms. [mm]."""
    return least_stroke_mm(command.sheet_mm, _border_relief_mm(command))


def _border_relief_mm(command: SignCommand) -> float:
    """Return how far a border stands out: so little that its ledge needs no vents. [mm]."""
    usual = max(_BORDER_RELIEF_MM, command.sheet_mm)
    return usual if command.relief_mm is None else min(usual, command.relief_mm)


def _edge_mm(command: SignCommand) -> float:
    """Return how far the plaque's flat begins inside its outline, by its edge radius. [mm]."""
    radius = command.sheet_mm if command.top_radius_mm is None else command.top_radius_mm
    return max(1.5, radius)


def _border(command: SignCommand, width_mm: float, ledge_mm: float) -> JobFeature:
    return JobFeature(
        name="border",
        outline=JobBorder(border_mm=width_mm, inset_mm=ledge_mm),
        height_mm=_border_relief_mm(command),
        draft_deg=command.draft_deg,
        top_radius_mm=command.top_radius_mm,
        base_radius_mm=command.base_radius_mm,
        plan_radius_mm=command.plan_radius_mm,
    )


def _marks(command: SignCommand, center_mm: float) -> JobFeature:
    """Return blunt cones as wide as their holes, which are gone once those are drilled."""
    two = command.hanging_hole is HangingHoles.TWO
    outline = JobHanging(hanging_mm=HOLE_MM, two=two, inset_mm=center_mm)
    return JobFeature(
        name="hanging hole",
        outline=outline,
        height_mm=HOLE_MM / 2 - TIP_MM,
        draft_deg=CONE_DEG,
        read_at=ReadAt.FOOT,
    )
