"""Whether a layout keeps what it must: measured on the outlines themselves, not on cells."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations

import shapely

from moldgen.lesson.layout.piece import PieceLayout, Shot

SLACK_MM = 1e-6
"""What rounding may take off a distance. [mm]."""


def faults_of(layout: PieceLayout) -> tuple[str, ...]:
    """Return what is wrong with a layout, a sentence each; nothing if it is sound.

    Every piece lies once, or is left out; inside of its area, so far from the edge, from every
    other piece on it and off what is kept out; alone if it must be.

    Parameters
    ----------
    layout : PieceLayout
        Made by whatever method: only its placings are believed, and measured anew.
    """
    counts = Counter(piece for shot in layout.shots for piece in shot.pieces)
    counts.update(one.piece for one in layout.left_out)
    wrong = [k for k in range(len(layout.task.pieces)) if counts[k] != 1]
    counted = [f"{layout.task.pieces[k].name} lies {counts[k]} times" for k in wrong]
    return (*counted, *(fault for shot in layout.shots for fault in faults_of_shot(layout, shot)))


def least_gap_of(layout: PieceLayout, shot: Shot) -> float:
    """Return the least distance between two pieces of a shot; infinite for one alone. [mm]."""
    pairs = combinations(layout.regions(shot), 2)
    return min((float(one.distance(other)) for one, other in pairs), default=float("inf"))


def faults_of_shot(layout: PieceLayout, shot: Shot) -> Iterator[str]:
    """Yield what is wrong with one filled area of a layout, a sentence each."""
    task, regions = layout.task, layout.regions(shot)
    names = [task.pieces[k].name for k in shot.pieces]
    area = task.area
    for k, region, name in zip(shot.pieces, regions, names, strict=True):
        edge = task.edges_mm[k] - SLACK_MM
        inside = shapely.box(edge, edge, area.width_mm - edge, area.depth_mm - edge)
        if not inside.covers(region):
            yield f"{name} is nearer than {task.edges_mm[k]:g} mm to the edge"
        if any(region.intersection(one).area > SLACK_MM for one in area.keep_outs):
            yield f"{name} lies on what is kept out"
        if task.pieces[k].alone and len(names) > 1:
            yield f"{name} is not alone"
    for i, j in combinations(range(len(names)), 2):
        asked = task.gaps_mm[shot.pieces[i]][shot.pieces[j]]
        apart = float(regions[i].distance(regions[j]))
        over = regions[i].intersection(regions[j]).area
        if apart < asked - SLACK_MM or over > SLACK_MM:
            yield f"{names[i]} and {names[j]} are {apart:.3f} mm apart, not {asked:g} mm"
