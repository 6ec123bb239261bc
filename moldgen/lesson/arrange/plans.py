"""Plans of an arrangement: shots at 1:1 to place molds by, plates, and stock sheets cut up."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np
from shapely import Polygon, box

from moldgen.arrays import Floats
from moldgen.lesson.arrange.holes import table_holes
from moldgen.lesson.layout.piece import PieceLayout, Placing, Shot

if TYPE_CHECKING:
    from moldgen.export.plan.items import Item
    from moldgen.export.plan.plan import Plan
    from moldgen.lesson.arrange.make import CutList
    from moldgen.lesson.arrange.shots import ShotLayout
    from moldgen.lesson.layout.guillotine import CutSheet, Rect
    from moldgen.stock import FormingMachine

_ARROW = ((0, 6), (3, 1), (1, 1), (1, -5), (-1, -5), (-1, 1), (-3, 1))
_ARROW_MM = 12.0
_NAME_MM = 3.5


def shot_plan(shots: ShotLayout, shot: Shot, machine: FormingMachine, *, title: str) -> Plan:
    """Return a shot at 1:1, to place its molds by.

    It shows the clear opening, the sheet with the clamp's print between the two, every mold with
    its name and an arrow to its upper side, where its part is cut out, and the holes of the table:
    those to be plugged are marked.

    Parameters
    ----------
    shots, shot : ShotLayout, Shot
        Where the molds lie.
    machine : FormingMachine
        The forming table.
    title : str
        What the plan is called.
    """
    from moldgen.export.plan.layers import Layer
    from moldgen.export.plan.plan import Plan, overall, region_paths

    opening = box(0.0, 0.0, machine.opening_width_mm, machine.opening_depth_mm)
    more = [
        (machine.sheet_width_mm - machine.opening_width_mm) / 2,
        (machine.sheet_depth_mm - machine.opening_depth_mm) / 2,
    ]
    sheet = box(
        -more[0], -more[1], machine.opening_width_mm + more[0], machine.opening_depth_mm + more[1]
    )
    feet = shots.layout.regions(shot)
    parts = [shots.molds[one.piece].trim_at(one) for one in shot.placings]
    items: list[Item] = [
        *region_paths(Layer.SHEET, sheet),
        *region_paths(Layer.CLAMP, opening),
        *(path for foot in feet for path in region_paths(Layer.FOOT, foot)),
        *(path for part in parts for path in region_paths(Layer.TRIM, part)),
        *_holes(machine, feet, parts),
        *_names(shots.layout, shot, feet),
        *overall(opening.bounds, sheet.bounds, 8.0),
        _clamp_note(opening, more[1]),
    ]
    return Plan(title=title, items=tuple(items), about=_sizes_text(machine))


def plate_plan(layout: PieceLayout, plate: Shot, *, title: str) -> Plan:
    """Return a printer's plate seen from above."""
    from moldgen.export.plan.layers import Layer
    from moldgen.export.plan.plan import Plan, region_paths

    area, feet = layout.task.area, layout.regions(plate)
    bed = box(0.0, 0.0, area.width_mm, area.depth_mm)
    items: list[Item] = [
        *region_paths(Layer.BED, bed),
        *(path for foot in feet for path in region_paths(Layer.FOOT, foot)),
        *_names(layout, plate, feet),
    ]
    return Plan(title=title, items=tuple(items))


def cut_plan(cut_list: CutList, sheet: CutSheet, *, title: str) -> Plan:
    """Return a stock sheet with the blanks that are cut from it, and what is left over."""
    from moldgen.export.plan.items import Note
    from moldgen.export.plan.layers import Layer
    from moldgen.export.plan.plan import Plan, region_paths

    task = cut_list.task
    words = [(one.rect, cut_list.blanks[one.blank].name) for one in sheet.blanks]
    words += [(one, "offcut") for one in sheet.offcuts]
    items: list[Item] = [*region_paths(Layer.SHEET, box(0, 0, task.width_mm, task.depth_mm))]
    for rect, name in words:
        items += region_paths(Layer.BLANK, _region(rect))
        x, y = rect.x_mm + rect.width_mm / 2, rect.y_mm + rect.depth_mm / 2
        size = f"{name}, {rect.width_mm:.0f} x {rect.depth_mm:.0f} mm"
        upright = 90.0 if rect.depth_mm > rect.width_mm else 0.0
        items.append(Note(x_mm=x, y_mm=y, text=size, height_mm=8.0, angle_deg=upright))
    return Plan(title=title, items=tuple(items))


def _region(rect: Rect) -> Polygon:
    return box(rect.x_mm, rect.y_mm, rect.x_mm + rect.width_mm, rect.y_mm + rect.depth_mm)


def _sizes_text(machine: FormingMachine) -> str:
    return f"opening {machine.opening_width_mm:.0f} x {machine.opening_depth_mm:.0f} mm"


def _clamp_note(opening: Polygon, band_mm: float) -> Item:
    """Return the words that stand in the band that the clamp holds and prints on."""
    from moldgen.export.plan.items import Note
    from moldgen.export.plan.layers import Layer

    x0, _, x1, y1 = opening.bounds
    return Note(
        x_mm=(x0 + x1) / 2, y_mm=y1 + band_mm / 2, text="print of the clamp", layer=Layer.CLAMP
    )


def _holes(
    machine: FormingMachine, feet: tuple[Polygon, ...], parts: list[Polygon]
) -> Iterator[Item]:
    from moldgen.export.plan.items import Hole
    from moldgen.export.plan.layers import Layer

    holes = table_holes(machine, feet, parts)
    for layer, places in ((Layer.TABLE, (*holes.under, *holes.free)), (Layer.PLUG, holes.plugged)):
        for x, y in places:
            yield Hole(x_mm=x, y_mm=y, diameter_mm=machine.hole_diameter_mm, layer=layer)


def _names(layout: PieceLayout, shot: Shot, feet: tuple[Polygon, ...]) -> Iterator[Item]:
    """Yield the name of each piece and an arrow to its upper side."""
    from moldgen.export.plan.items import Note, PlanRegion
    from moldgen.export.plan.layers import Layer

    for placing, foot in zip(shot.placings, feet, strict=True):
        at = foot.representative_point()
        yield PlanRegion(Layer.MARK, (_arrow(placing, at.x, at.y),))
        low = at.y - _ARROW_MM
        name = layout.task.pieces[placing.piece].name
        yield Note(x_mm=at.x, y_mm=low, text=name, height_mm=_height_mm(name, foot))


def _height_mm(name: str, foot: Polygon) -> float:
    """Return how tall a name is written so that it stays about as wide as its piece. [mm]."""
    x0, _, x1, _ = foot.bounds
    return min(_NAME_MM, max(1.8, 1.2 * float(x1 - x0) / max(len(name), 1)))


def _arrow(placing: Placing, x_mm: float, y_mm: float) -> Floats:
    turn = radians(placing.turn_deg)
    c, s = cos(turn), sin(turn)
    ring = np.array([(x_mm + x * c - y * s, y_mm + x * s + y * c) for x, y in _ARROW])
    ring.setflags(write=False)
    return ring
