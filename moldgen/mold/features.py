"""What a mold is made of: a tree of raised and sunk outlines on levels."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated

from shapely import MultiPolygon

from moldgen.quantity import Quantity, Spec


class Direction(StrEnum):
    """Which way a feature leaves its parent's flat."""

    RAISED = "raised"
    SUNK = "sunk"


class WallEnd(StrEnum):
    """Where on the sharp, unrounded wall the outline is measured."""

    TOP = "top"
    """The upper end of the wall."""
    FOOT = "foot"
    """The lower end of the wall."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Wall(Spec):
    """The section of a wall: height, lean and the radius at either end."""

    height_mm: Annotated[float, Quantity("mm", "height of the wall", above=0, at_most=1000)]
    draft_deg: Annotated[float, Quantity("°", "draft of the wall", at_least=0, at_most=60)]
    top_radius_mm: Annotated[
        float, Quantity("mm", "radius of the upper, convex edge", at_least=0, at_most=200)
    ]
    base_radius_mm: Annotated[
        float, Quantity("mm", "radius of the lower, concave edge", at_least=0, at_most=200)
    ]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Feature:
    """One outline raised from, or sunk into, the flat it stands on.

    Attributes
    ----------
    name : str
        What findings call it.
    region : MultiPolygon
        The outline at ``read_at``. [mm]
    direction : Direction
        Raised or sunk.
    wall : Wall
        The section every edge of the outline gets.
    read_at : WallEnd
        Where on the sharp wall the outline is measured.
    children : tuple of Feature
        Features on this feature's own flat.
    floor_corner_mm : float
        Least radius of a recess's corners at its floor, seen from above; 0 for what the lean of
        its wall leaves of those at the mouth. [mm]
    """

    name: str
    region: MultiPolygon
    direction: Direction = Direction.RAISED
    wall: Wall
    read_at: WallEnd = WallEnd.TOP
    children: tuple[Feature, ...] = field(default=())
    floor_corner_mm: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FeaturePlan:
    """A built feature seen from above: what checks, vents and drawings read.

    Attributes
    ----------
    name, parent : str
        Own name, and the name of the feature it stands on (empty for a body on the table).
    direction : Direction
        Raised or sunk.
    wall : Wall
        The section as built.
    region : MultiPolygon
        The outline as it was read. [mm]
    outer : MultiPolygon
        Everything within the line where the wall leaves the parent's flat. [mm]
    flat : MultiPolygon
        The feature's own flat, within the inner end of the wall. [mm]
    z_parent_mm, z_flat_mm : float
        Height of the parent's flat and of the own flat above the table. [mm]
    """

    name: str
    parent: str
    direction: Direction
    wall: Wall
    region: MultiPolygon
    outer: MultiPolygon
    flat: MultiPolygon
    z_parent_mm: float
    z_flat_mm: float


def roots_of(plans: Iterable[FeaturePlan]) -> tuple[FeaturePlan, ...]:
    """Return the features that stand on the table: one for each body."""
    return tuple(plan for plan in plans if not plan.parent)


def foot_of(plans: Iterable[FeaturePlan]) -> MultiPolygon:
    """Return where the bodies stand on the table. [mm]."""
    return MultiPolygon([part for root in roots_of(plans) for part in root.outer.geoms])


def bodies_of(plans: Iterable[FeaturePlan]) -> dict[str, str]:
    """Return the name of the body that each feature belongs to; parents come before children."""
    bodies: dict[str, str] = {}
    for plan in plans:
        bodies[plan.name] = bodies.get(plan.parent, plan.name)
    return bodies
