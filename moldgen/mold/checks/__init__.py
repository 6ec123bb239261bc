"""The questions asked of a mold, one file each, and the one call that asks them all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from moldgen.execution import checkpoint
from moldgen.finding import Finding, ranked, worst
from moldgen.mold.checks.added import check_added
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.closed import check_closed
from moldgen.mold.checks.draft import Draft, check_draft, measure_draft
from moldgen.mold.checks.draw import Draw, check_draw, measure_draws
from moldgen.mold.checks.fine_detail import check_follow
from moldgen.mold.checks.radius import Rounds, check_radius, measure_rounds
from moldgen.mold.checks.sight import Sight, sight
from moldgen.mold.checks.size import check_size
from moldgen.mold.checks.spacing import Room, check_spacing, measure_room
from moldgen.mold.checks.standing import BodyStability, check_standing, measure_standing
from moldgen.mold.checks.stroke import check_stroke
from moldgen.mold.checks.tactile import check_tactile
from moldgen.mold.checks.turned_over import check_upside
from moldgen.mold.checks.undercut import Undercut, check_undercut, measure_undercuts
from moldgen.mold.checks.wall import WallThickness, check_wall, measure_walls
from moldgen.solid.topology import Topology

__all__ = ["Case", "CheckResults", "Survey", "check_all", "check_survey", "grouped", "survey"]

MOST_ALIKE = 3
"""From so many findings of one rule on, one stands for them all."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Survey:
    """What every question starts from: what the sheet can reach, and how far it is drawn.

    Attributes
    ----------
    case : Case
        The mold and what it is used with.
    seen : Sight
        What is seen along the draw direction.
    draws : tuple of Draw
        The whole part, then each feature.
    """

    case: Case
    seen: Sight
    draws: tuple[Draw, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class CheckResults:
    """Everything that was found and measured.

    Attributes
    ----------
    findings : tuple of Finding
        Gravest first.
    topologies : tuple of Topology
        How the triangles of each body hang together.
    draft : Draft
        Lean per triangle, in the order of the bodies' triangles; least; histogram.
    undercuts : tuple of Undercut
        The deepest first.
    draws : tuple of Draw
        The whole part, then each feature.
    rounds : Rounds
        Radius at every edge.
    walls : WallThickness
        Thickness behind every steep triangle.
    room : Room
        Distances between bodies and to the clamp.
    standings : tuple of BodyStability
        How each closed body stands.
    """

    findings: tuple[Finding, ...]
    topologies: tuple[Topology, ...]
    draft: Draft
    undercuts: tuple[Undercut, ...]
    draws: tuple[Draw, ...]
    rounds: Rounds
    walls: WallThickness
    room: Room
    standings: tuple[BodyStability, ...]


def survey(case: Case, *, draws: tuple[Draw, ...] | None = None) -> Survey:
    """Look at a mold along its draw direction.

    Parameters
    ----------
    draws : tuple of Draw, optional
        How far the sheet is drawn, if that was measured on the same walls before.
    """
    seen = sight(case)
    checkpoint()
    return Survey(case=case, seen=seen, draws=measure_draws(case, seen) if draws is None else draws)


def check_all(case: Case) -> CheckResults:
    """Ask every question of a mold and return the answers, gravest finding first."""
    return check_survey(survey(case))


def check_survey(surveyed: Survey) -> CheckResults:
    """Ask every question of a mold that was looked at before."""
    case, seen, draws = surveyed.case, surveyed.seen, surveyed.draws
    draft = measure_draft(case, seen)
    checkpoint()
    undercuts = measure_undercuts(case, seen)
    checkpoint()
    rounds = measure_rounds(case, seen)
    checkpoint()
    walls = measure_walls(case)
    checkpoint()
    room = measure_room(case)
    checkpoint()
    standings = measure_standing(case)
    return CheckResults(
        findings=ranked(
            grouped(
                (
                    *check_closed(case),
                    *check_size(case),
                    *check_undercut(case, undercuts),
                    *check_upside(case, seen, undercuts),
                    *check_draft(case, seen, draft),
                    *check_draw(case, draws),
                    *check_standing(case, standings),
                    *check_spacing(case, room),
                    *check_stroke(case),
                    *check_radius(case, rounds),
                    *check_follow(case),
                    *check_wall(case, walls, seen.seen),
                    *check_tactile(case),
                    *check_added(case),
                )
            )
        ),
        topologies=case.topologies,
        draft=draft,
        undercuts=undercuts,
        draws=draws,
        rounds=rounds,
        walls=walls,
        room=room,
        standings=standings,
    )


def grouped(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return one finding per rule where three or more features or bodies break the same one.

    The one kept is the gravest and furthest from its limit; it tells of how many it stands for.
    """
    rules: dict[str, list[Finding]] = {}
    for finding in findings:
        rules.setdefault(finding.code, []).append(finding)
    kept: list[Finding] = []
    for same in rules.values():
        kept += same if len(same) < MOST_ALIKE else [_stands_for(same)]
    return tuple(kept)


def _stands_for(same: list[Finding]) -> Finding:
    gravest = worst(same)
    gravest_one = max((f for f in same if f.severity is gravest), key=_off)
    return replace(
        gravest_one, says=f"in {len(same)} places like this, here the worst, {gravest_one.says}"
    )


def _off(finding: Finding) -> float:
    """How far a finding is from its limit, as a share of the larger of the two."""
    if finding.measured is None or finding.limit is None:
        return 0.0
    larger = max(abs(finding.measured), abs(finding.limit))
    return abs(finding.measured - finding.limit) / larger if larger else 0.0
