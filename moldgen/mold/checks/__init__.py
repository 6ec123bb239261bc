"""The questions asked of a mold, one file each, and the one call that asks them all."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.finding import Finding, ranked
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.closed import check_closed
from moldgen.mold.checks.draft import Draft, check_draft, measure_draft
from moldgen.mold.checks.draw import Draw, check_draw, measure_draws
from moldgen.mold.checks.follow import check_follow
from moldgen.mold.checks.radius import Rounds, check_radius, measure_rounds
from moldgen.mold.checks.sight import sight
from moldgen.mold.checks.size import check_size
from moldgen.mold.checks.spacing import Room, check_spacing, measure_room
from moldgen.mold.checks.standing import Standing, check_standing, measure_standing
from moldgen.mold.checks.stroke import check_stroke
from moldgen.mold.checks.tactile import check_tactile
from moldgen.mold.checks.undercut import Undercut, check_undercut, measure_undercuts
from moldgen.mold.checks.wall import Walls, check_wall, measure_walls
from moldgen.solid.topology import Topology

__all__ = ["Case", "Checked", "check_all"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Checked:
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
    walls : Walls
        Thickness behind every steep triangle.
    room : Room
        Distances between bodies and to the clamp.
    standings : tuple of Standing
        How each closed body stands.
    """

    findings: tuple[Finding, ...]
    topologies: tuple[Topology, ...]
    draft: Draft
    undercuts: tuple[Undercut, ...]
    draws: tuple[Draw, ...]
    rounds: Rounds
    walls: Walls
    room: Room
    standings: tuple[Standing, ...]


def check_all(case: Case) -> Checked:
    """Ask every question of a mold and return the answers, gravest finding first."""
    seen = sight(case)
    draft = measure_draft(case, seen)
    undercuts = measure_undercuts(case, seen)
    draws = measure_draws(case, seen)
    rounds = measure_rounds(case, seen)
    walls = measure_walls(case)
    room = measure_room(case)
    standings = measure_standing(case)
    return Checked(
        findings=ranked(
            (
                *check_closed(case),
                *check_size(case),
                *check_undercut(case, undercuts),
                *check_draft(case, seen, draft),
                *check_draw(case, draws),
                *check_standing(case, standings),
                *check_spacing(case, room),
                *check_stroke(case),
                *check_radius(case, rounds),
                *check_follow(case),
                *check_wall(case, walls),
                *check_tactile(case),
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
