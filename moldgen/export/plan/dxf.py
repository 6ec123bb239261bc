"""A plan as a DXF drawing in millimeters, one layer per line kind."""

from __future__ import annotations

import logging
from io import StringIO
from typing import Any

from moldgen.dxf_library import dxf_library
from moldgen.export.plan.items import Hole, Item, Line, Note, PlanRegion
from moldgen.export.plan.layers import LINE_KINDS, Layer
from moldgen.export.plan.plan import Plan, plan_as_read

MILLIMETRES = 4  # $INSUNITS, public DXF reference
_SILENT = logging.NullHandler()
_MEASURE_METRIC = 1  # $MEASUREMENT, public DXF reference


def dxf_bytes(plan: Plan) -> bytes:
    """Return the plan as a DXF file, release 2000, true to size in millimeters.

    Regions are closed light-weight polylines, one per ring; holes are circles; dimensions are
    plain lines and text, which every program shows the same.

    Notes
    -----
    Dates and identifiers that the writer would take from the clock and from chance are fixed,
    so the same plan gives the same bytes.
    """
    plan = plan_as_read(plan)
    # The library looks for fonts when it is loaded, and would complain on the screen about a
    # cache folder that it may not write; no font is needed here.
    logging.getLogger("ezdxf").addHandler(_SILENT)
    ezdxf: Any = dxf_library()
    options = ezdxf.options
    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = ezdxf.new("R2000", setup=False)
        document.units = MILLIMETRES
        document.header["$MEASUREMENT"] = _MEASURE_METRIC
        for layer in plan.layers:
            entry = document.layers.add(layer.value, color=LINE_KINDS[layer].aci)
            entry.description = LINE_KINDS[layer].title
        space = document.modelspace()
        for item in plan.items:
            _add(space, item)
        x0, y0, x1, y1 = plan.bounds_mm
        space.reset_extents((x0, y0, 0), (x1, y1, 0))
        text = StringIO()
        document.write(text)
        return bytes(document.encode(text.getvalue()))
    finally:
        options.write_fixed_meta_data_for_testing = kept


def _add(space: Any, item: Item) -> None:
    on = {"layer": item.layer.value}
    if isinstance(item, PlanRegion):
        for ring in item.rings:
            space.add_lwpolyline(ring.tolist(), format="xy", close=True, dxfattribs=on)
    elif isinstance(item, Hole):
        space.add_circle((item.x_mm, item.y_mm), item.diameter_mm / 2, dxfattribs=on)
        for start, end in item.cross:
            space.add_line(start, end, dxfattribs={"layer": Layer.MARK.value})
    elif isinstance(item, Note):
        _add_text(space, item)
    elif isinstance(item, Line):
        space.add_line(item.start_mm, item.end_mm, dxfattribs=on)
    else:
        for start, end in item.strokes:
            space.add_line(start, end, dxfattribs=on)
        _add_text(space, item.note)


def _add_text(space: Any, note: Note) -> None:
    from ezdxf.enums import TextEntityAlignment

    on = {"layer": note.layer.value, "rotation": note.angle_deg}
    words = " ".join(note.text.split()).replace("%%", "% %")
    entry = space.add_text(words, height=note.height_mm, dxfattribs=on)
    align = TextEntityAlignment.LEFT if note.align == 0 else TextEntityAlignment.CENTER
    entry.set_placement(note.base_mm, align=align)
