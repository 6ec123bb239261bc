"""Words and drawings that find their own place on a flat: with most room, or along a curve."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import shapely
from shapely import LineString, MultiPolygon
from shapely.affinity import translate

from moldgen.errors import SpecError
from moldgen.job.outline import JobDrawn, JobOutline, JobText, Placement
from moldgen.outline.best_place import best_place, row_boxes
from moldgen.outline.choices import Along
from moldgen.outline.lettering.along import inner_circle, set_along, upper_edge
from moldgen.outline.region import as_region
from moldgen.pipeline.mold.ground import Ground, Place, PlacedOutline

LEAST_LETTER_MM = 5.0
"""Strokes of smaller ones are thinner than any usual sheet (common practice, no source). [mm]."""
_SMOOTH = 1.5
"""Least radius of a curve that words follow, in letter heights. [-]."""
_DEEPER = (0.0, 0.05, 0.1, 0.2, 0.35, 0.5)
"""How much farther in a line is tried whose letters' corners leave the room, in heights. [-]."""
_SHARES = {
    Along.EDGE: (0.5, 0.45, 0.55, 0.4, 0.6, 0.35, 0.65, 0.3, 0.7, 0.25, 0.75),
    Along.CIRCLE: (0.5,),
}
"""Where on a curve the middle of the words is tried, in its length: on a circle on top. [-]."""
_OVERLAP_MM2 = 1e-6

Lay = Callable[[JobDrawn, Place], PlacedOutline]


def is_fitted(outline: JobOutline) -> bool:
    """Tell whether an outline is laid where its parent's flat has room for it."""
    return isinstance(outline, JobDrawn) and (
        outline.place is Placement.BEST or _curve_of(outline) is not Along.LINE
    )


def _curve_of(outline: JobOutline) -> Along:
    return outline.along if isinstance(outline, JobText) else Along.LINE


def lay_fitted(outline: JobDrawn, ground: Ground, lay: Lay, *, name: str) -> PlacedOutline:
    """Return an outline in its place on a flat.

    Parameters
    ----------
    outline : JobDrawn
        What `is_fitted`.
    ground : Ground
        What it is laid on.
    lay : function
        Lays an outline about a place, as if it had no place of its own.
    name : str
        What the error sentence calls it.

    Raises
    ------
    SpecError
        If it has no parent with a shape of its own, or does not fit.
    """
    laid = try_fitted(outline, ground, lay, name=name)
    if laid is not None:
        return laid
    if not isinstance(outline, JobText):
        raise _too_large(f"size of {name}", outline, "as drawn", "smaller")
    most = largest_mm(outline, ground, lay, name=name)
    if most is None or outline.height_mm is None:
        raise nowhere(outline, name)
    raise _too_large(
        f"height of {name}", outline, f"{outline.height_mm:g} mm", f"at most {most:g} mm"
    )


def try_fitted(outline: JobDrawn, ground: Ground, lay: Lay, *, name: str) -> PlacedOutline | None:
    """Return an outline in its place on a flat, or None if it does not fit there."""
    room = _room(outline, ground, name)
    if room.is_empty:
        return None
    if isinstance(outline, JobText) and outline.along is not Along.LINE:
        return _along(outline, ground, room, lay)
    centered = replace(outline, place=Placement.CENTERED, x_mm=0.0, y_mm=0.0)
    laid = lay(centered, (0.0, 0.0))
    at = best_place(row_boxes([part for _, part in laid.parts]), room)
    if at is None:
        return None
    shift = at[0] + ground.scale * outline.x_mm, at[1] + ground.scale * outline.y_mm
    return _moved(laid, shift)


def largest_mm(text: JobText, ground: Ground, lay: Lay, *, name: str) -> float | None:
    """Return the greatest letter height at which words fit a flat; None if they do at none. [mm].

    Heights are whole millimeters, below 10 mm halves.
    """
    room = _room(text, ground, name)
    if room.is_empty:
        return None
    heights = list(_heights_mm(room))
    low, high = -1, len(heights)
    while high - low > 1:
        halfway = (low + high) // 2
        asked = replace(text, height_mm=heights[halfway])
        if try_fitted(asked, ground, lay, name=name) is None:
            high = halfway
        else:
            low = halfway
    return heights[low] if low >= 0 else None


def nowhere(text: JobText, name: str) -> SpecError:
    """Return what to say of words for which a flat has no room at any height."""
    where = {Along.LINE: "", Along.EDGE: " along its edge", Along.CIRCLE: " round its circle"}
    return SpecError(
        f"words of {name}",
        f"few enough for letters of {LEAST_LETTER_MM:g} mm on the flat they stand on"
        f"{where[text.along]}, {text.margin_mm:g} mm from its edge",
        repr(text.text[:40]),
        "Write fewer, make the shape larger, or the margin smaller.",
    )


def _heights_mm(room: shapely.Geometry) -> Iterator[float]:
    x0, y0, x1, y1 = room.bounds
    halves = int(2 * LEAST_LETTER_MM)
    yield from (half / 2 for half in range(halves, 20))
    yield from (float(whole) for whole in range(10, int(max(x1 - x0, y1 - y0)) + 1))


def _room(outline: JobDrawn, ground: Ground, name: str) -> shapely.Geometry:
    if ground.flat is None:
        said = "along" if _curve_of(outline) is not Along.LINE else "place"
        usual = "line" if said == "along" else "centered"
        raise SpecError(
            f"{said} of {name}",
            f"{usual} where what it stands on has no shape of its own",
            str(_curve_of(outline) if said == "along" else outline.place),
            "Put it on a feature with a shape, or leave it out.",
        )
    return shapely.buffer(ground.flat, -outline.margin_mm * ground.scale, quad_segs=32)


def _too_large(field: str, outline: JobDrawn, got: str, rule: str) -> SpecError:
    where = f"to stay {outline.margin_mm:g} mm inside the flat it stands on"
    return SpecError(field, f"{rule} {where}", got, "Make the shape larger, or the margin smaller.")


def _moved(laid: PlacedOutline, by_mm: Place) -> PlacedOutline:
    parts = tuple((word, as_region(translate(part, *by_mm))) for word, part in laid.parts)
    findings = tuple(
        replace(
            one, where_mm=(one.where_mm[0] + by_mm[0], one.where_mm[1] + by_mm[1], one.where_mm[2])
        )
        if one.where_mm is not None
        else one
        for one in laid.findings
    )
    return PlacedOutline(as_region(translate(laid.region, *by_mm)), parts, findings)


def _along(text: JobText, ground: Ground, room: shapely.Geometry, lay: Lay) -> PlacedOutline | None:
    """Return words along the first curve and place at which all of them lie in the room."""
    as_set = replace(text, along=Along.LINE, place=Placement.AS_DRAWN, x_mm=0.0, y_mm=0.0)
    words, letters = zip(*lay(as_set, (0.0, 0.0)).parts, strict=True)
    size_mm = (text.height_mm or 1.0) * ground.scale
    for deeper in _DEEPER:
        curve = _curve(text.along, room, size_mm, deeper)
        if curve is None:
            continue
        for share in _SHARES[text.along]:
            set_letters = set_along(letters, curve, share * curve.length)
            if set_letters is not None and _fits(set_letters, room):
                shift = ground.scale * text.x_mm, ground.scale * text.y_mm
                return _moved(_joined(words, set_letters), shift)
    return None


def _curve(
    along: Along, room: shapely.Geometry, size_mm: float, deeper: float
) -> LineString | None:
    inset_mm = (1.0 + deeper) * size_mm
    if along is Along.CIRCLE:
        return inner_circle(room, inset_mm)
    return upper_edge(room, inset_mm, smooth_mm=_SMOOTH * size_mm)


def _fits(letters: tuple[MultiPolygon, ...], room: shapely.Geometry) -> bool:
    together = shapely.union_all(letters)
    apart_mm2 = sum(float(letter.area) for letter in letters)
    return bool(room.covers(together)) and apart_mm2 - together.area < _OVERLAP_MM2


def _joined(words: tuple[str, ...], letters: tuple[MultiPolygon, ...]) -> PlacedOutline:
    regions = tuple(as_region(letter) for letter in letters)
    whole = as_region(MultiPolygon([part for region in regions for part in region.geoms]))
    return PlacedOutline(whole, tuple(zip(words, regions, strict=True)))
