"""A drawing of a mold seen from above, in millimeters, before it is any kind of file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from shapely import MultiPolygon, Polygon

from moldgen.errors import OutlineError
from moldgen.export.plan.items import (
    Bounds,
    Dimension,
    DrawnSlit,
    Hole,
    Item,
    Line,
    Note,
    Place,
    PlanRegion,
    joined,
)
from moldgen.export.plan.labels import labeled
from moldgen.export.plan.layers import HOLE_LAYERS, LINE_KINDS, Layer
from moldgen.units_text import as_read, dimension_as_read, is_as_composed

__all__ = [
    "Dimension",
    "DrawnSlit",
    "Hole",
    "Layer",
    "Line",
    "Note",
    "Plan",
    "PlanRegion",
    "build_plan",
    "legend",
]

Region: TypeAlias = Polygon | MultiPolygon

_ROW_MM = 8.0
_ROW_SHARE = 0.025  # of the drawing's size: rows stay apart when it is seen small


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """A drawing seen from above, true to size.

    Attributes
    ----------
    title : str
        What it shows.
    items : tuple of PlanRegion, Hole, Note, Dimension or Line
        Drawn in this order; x to the right, y up. [mm]
    about : str
        What is written behind the title, if anything.
    """

    title: str
    items: tuple[Item, ...]
    about: str = ""

    @property
    def bounds_mm(self) -> Bounds:
        """Least and greatest x and y of everything drawn [mm]."""
        return joined([item.bounds_mm for item in self.items])

    @property
    def layers(self) -> tuple[Layer, ...]:
        """Line kinds in use, in drawing order."""
        used = {item.layer for item in self.items}
        return tuple(layer for layer in Layer if layer in used)

    def only(self, *layers: Layer) -> Plan:
        """Return the same plan with some of its line kinds, to save paper."""
        return replace(self, items=tuple(item for item in self.items if item.layer in layers))

    def on(self, layer: Layer) -> Iterator[Item]:
        """Yield the items of one line kind."""
        return (item for item in self.items if item.layer is layer)


def plan_as_read(plan: Plan) -> Plan:
    """Return a plan with its words as they are to be read now."""
    if plan.about:
        plan = replace(plan, title=f"{plan.title}: {as_read(plan.about)}", about="")
    if is_as_composed():
        return plan
    return replace(plan, items=tuple(map(_item_as_read, plan.items)))


def _item_as_read(item: Item) -> Item:
    if isinstance(item, Dimension):
        return replace(item, text=dimension_as_read(item.text))
    if isinstance(item, Note):
        return replace(item, text=as_read(item.text))
    return replace(item, note=as_read(item.note)) if isinstance(item, Hole) else item


def has_holes(plan: Plan, layer: Layer) -> bool:
    """Tell whether a line kind has round holes, so that one of them is its sample."""
    return any(isinstance(item, Hole) for item in plan.on(layer))


def legend(plan: Plan) -> tuple[tuple[Layer, str], ...]:
    """Return each line kind in use and its words, with the holes counted by size."""
    return tuple((layer, _legend_text(plan, layer)) for layer in plan.layers)


def build_plan(
    *,
    title: str,
    foot: Region,
    flats: Iterable[Region] = (),
    vents: Iterable[Hole] = (),
    drills: Iterable[Hole] = (),
    slits: Iterable[DrawnSlit] = (),
    hanging: Iterable[Hole] = (),
    channels: Iterable[Region] = (),
    trim: Region | None = None,
    opening: Region | None = None,
    sheet: Region | None = None,
    rings: Mapping[str, Place] | None = None,
    upright: bool = True,
) -> Plan:
    """Lay out a mold's plan with its overall dimensions and an arrow to the upper side.

    Parameters
    ----------
    title : str
        What the drawing shows.
    foot : Polygon or MultiPolygon
        Outline of the mold on the table. [mm]
    flats, channels : iterable of Polygon or MultiPolygon
        Level tops and floors; relief under the mold. [mm]
    vents, drills : iterable of Hole
        Holes printed through, and marked pilots; each is put on its own layer.
    slits : iterable of DrawnSlit
        Slits printed through.
    hanging : iterable of Hole
        Holes to be drilled in the formed part.
    trim, opening, sheet : Polygon or MultiPolygon, optional
        Trim line, clear opening of the clamp, edge of the sheet. [mm]
    rings : mapping of str to (x, y), optional
        Places to be ringed, by what is written beside each; see
        `moldgen.export.report.report.problem_places`. [mm]
    upright : bool, default True
        Whether to draw the arrow that tells which way is up.

    Raises
    ------
    OutlineError
        If the foot is empty or a coordinate is not finite.
    """
    if foot.is_empty:
        raise OutlineError("The plan has no foot outline: build the mold before drawing it.")
    regions = [
        (Layer.SHEET, sheet), (Layer.CLAMP, opening), *((Layer.CHANNEL, c) for c in channels),
        (Layer.FOOT, foot), *((Layer.FLAT, flat) for flat in flats), (Layer.TRIM, trim),
    ]  # fmt: skip
    drawn = [path for layer, region in regions for path in region_paths(layer, region)]
    holes = _on_layer(vents, Layer.VENT) + _on_layer(drills, Layer.DRILL)
    holes += _on_layer(hanging, Layer.HANG)
    narrow = list(slits)
    bare = Plan(title=" ".join(title.split()), items=(*drawn, *holes, *narrow))
    ringed = {} if rings is None else rings
    circles, notes = labeled(holes, narrow, ringed, around=core_of(bare).bounds_mm)
    shown = replace(bare, items=(*bare.items, *circles, *notes))
    return replace(shown, items=(*shown.items, *_annotations(shown, upright)))


def region_paths(layer: Layer, region: Region | None) -> list[PlanRegion]:
    """Return a region as closed paths on a layer; none if there is no region."""
    polygons = [] if region is None else getattr(region, "geoms", [region])
    paths = []
    for polygon in polygons:
        rings = [np.array(r.coords)[:-1, :2] for r in (polygon.exterior, *polygon.interiors)]
        if not all(ring.size and np.isfinite(ring).all() for ring in rings):
            raise OutlineError(f"The {layer} outline holds a corner that is not a number.")
        for ring in rings:
            ring.setflags(write=False)
        paths.append(PlanRegion(layer, tuple(rings)))
    return paths


def _on_layer(holes: Iterable[Hole], layer: Layer) -> list[Hole]:
    return [replace(hole, layer=layer) for hole in holes]


def core_of(plan: Plan) -> Plan:
    """Return the mold itself with its trim line: no sheet, no clamp, no words beside it."""
    core = (Layer.FOOT, Layer.FLAT, *HOLE_LAYERS, Layer.TRIM)
    return replace(
        plan,
        items=tuple(one for layer in core for one in plan.on(layer) if not isinstance(one, Note)),
    )


def _annotations(plan: Plan, upright: bool) -> list[Item]:
    items: list[Item] = []
    around = core_of(plan).bounds_mm
    apart_mm = max(_ROW_MM, _ROW_SHARE * max(around[2] - around[0], around[3] - around[1]))
    row = 1
    for layer in (Layer.FOOT, Layer.TRIM):
        box = plan.only(layer).bounds_mm if layer in plan.layers else None
        if box is not None:
            items += overall(box, around, row * apart_mm)
            row += 1
    items += [
        _size_note(plan, layer) for layer in (Layer.CLAMP, Layer.SHEET) if layer in plan.layers
    ]
    return items + (up_arrow(around) if upright else [])


def overall(box: Bounds, around: Bounds, offset_mm: float) -> list[Item]:
    """Width below everything and depth on its left, each measured on ``box``."""
    x0, y0, x1, y1 = box
    below, left = y0 - around[1] + offset_mm, x0 - around[0] + offset_mm
    return [
        Dimension(
            start_mm=(x0, y0), end_mm=(x1, y0), offset_mm=-below, text=f"{x1 - x0:.1f} mm"
        ),
        Dimension(start_mm=(x0, y0), end_mm=(x0, y1), offset_mm=left, text=f"{y1 - y0:.1f} mm"),
    ]  # fmt: skip


def _size_note(plan: Plan, layer: Layer) -> Note:
    x0, y0, x1, y1 = plan.only(layer).bounds_mm
    text = f"{LINE_KINDS[layer].title} {x1 - x0:.0f} × {y1 - y0:.0f} mm"
    return Note(x_mm=(x0 + x1) / 2, y_mm=y1 - 4, text=text, layer=layer)


def up_arrow(around: Bounds) -> list[Item]:
    """Draw an arrow to the upper side of the part, in the corner the dimensions leave free."""
    x, y = around[0] - 8.0, around[1] - 9.0
    corners = [(0, 7), (3, 1), (1, 1), (1, -5), (-1, -5), (-1, 1), (-3, 1)]
    ring = np.array([(x + dx, y + dy) for dx, dy in corners], dtype=np.float64)
    ring.setflags(write=False)
    return [PlanRegion(Layer.MARK, (ring,)), Note(x_mm=x, y_mm=y - 8.0, text="UP")]


def _legend_text(plan: Plan, layer: Layer) -> str:
    sizes = Counter(round(item.diameter_mm, 2) for item in plan.on(layer) if isinstance(item, Hole))
    lengths = Counter(
        round(item.length_mm, 1) for item in plan.on(layer) if isinstance(item, DrawnSlit)
    )
    told = [f"{count} of {size:g} mm" for size, count in sorted(sizes.items())]
    told += [
        f"{count} {'slit' if count == 1 else 'slits'} of {length:g} mm"
        for length, count in sorted(lengths.items())
    ]
    title = as_read(LINE_KINDS[layer].title)
    return f"{title} ({', '.join(as_read(one) for one in told)})" if told else title
