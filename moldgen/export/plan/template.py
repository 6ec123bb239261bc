"""A paper template at 1:1, by which one layer of a wooden mold is sawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from moldgen.errors import OutlineError
from moldgen.export.plan.items import LETTER_HEIGHT_MM, Hole, Note
from moldgen.export.plan.labels import labeled
from moldgen.export.plan.layers import Layer
from moldgen.export.plan.plan import Plan, Region, overall, region_paths, up_arrow

_ROW_MM = 2.2 * LETTER_HEIGHT_MM
_BESIDE_MM = 8.0


def build_template(
    *,
    title: str,
    upper: Region,
    lower: Region,
    recesses: Iterable[Region] = (),
    channels: Iterable[Region] = (),
    holes: Sequence[Hole] = (),
    notes: Sequence[str] = (),
) -> Plan:
    """Lay out the template of one layer, as it lies on the board's upper face.

    Parameters
    ----------
    title : str
        Name of the layer.
    upper, lower : Polygon or MultiPolygon
        Its upper face, along whose edge it is sawn, and its lower face, where the saw comes out.
        [mm]
    recesses : iterable of Polygon or MultiPolygon
        What is cut into it from above. [mm]
    channels : iterable of Polygon or MultiPolygon
        What is cut into its underside. [mm]
    holes : sequence of Hole
        For dowels and vents. [mm]
    notes : sequence of str
        Lines to be read before it is sawn.

    Raises
    ------
    OutlineError
        If the lower face is empty or a coordinate is not finite.
    """
    if lower.is_empty:
        raise OutlineError(f"The layer {title!r} has no outline: it is nowhere wide enough.")
    regions = [
        *((Layer.CHANNEL, region) for region in channels), (Layer.BELOW, lower),
        (Layer.SAW, upper), *((Layer.ROUT, region) for region in recesses),
    ]  # fmt: skip
    paths = [path for layer, region in regions for path in region_paths(layer, region)]
    bare = Plan(title=title, items=(*paths, *holes))
    around = Plan(title=title, items=tuple(region_paths(Layer.BELOW, lower))).bounds_mm
    _, labels = labeled(list(holes), [], {}, around=bare.bounds_mm)
    x0, _, _, y1 = around
    words = [
        Note(x_mm=x0, y_mm=y1 + _BESIDE_MM + row * _ROW_MM, text=line, align=0.0)
        for row, line in enumerate(reversed(notes))
    ]
    beside = (*overall(around, around, _BESIDE_MM), *up_arrow(around))
    return Plan(title=title, items=(*bare.items, *labels, *words, *beside))
