"""The frame of a DXF file without a drawing in it, as ezdxf writes it, with places to fill in.

``python -m tests.support.dxf_frame`` writes ``moldgen/export/plan/frame.dxf`` anew.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import ezdxf

from moldgen.export.plan.items import Dimension, Hole, Item, Line, Note, PlanRegion
from moldgen.export.plan.layers import LINE_KINDS, Layer
from moldgen.export.plan.plan import Plan

FRAME = Path(__file__).parents[2] / "moldgen" / "export" / "plan" / "frame.dxf"
_LOW, _HIGH = (-111111.5, -222222.5), (111111.5, 222222.5)


def written(document: Any) -> str:
    """Return a document as text, with fixed dates."""
    kept = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        text = io.StringIO()
        document.write(text)
        return text.getvalue()
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = kept


def empty_document() -> Any:
    """Return a document in millimeters without layers of its own."""
    kept = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        document = ezdxf.new("R2000", setup=False)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = kept
    document.header["$INSUNITS"], document.header["$MEASUREMENT"] = 4, 1
    return document


def frame_text() -> str:
    """Return the frame: a document with one layer, the places of what differs marked."""
    document = empty_document()
    document.layers.add("LAYERNAME", color=1).description = "LAYERTITLE"
    document.modelspace().reset_extents((*_LOW, 0), (*_HIGH, 0))
    text = written(document)
    row = text[text.index("LAYER\n  5\n2F\n") : text.index("LAYERTITLE\n") + len("LAYERTITLE\n")]
    text = text.replace(f"  0\n{row}", "<layers>")
    text = text.replace("  2\nENTITIES\n", "  2\nENTITIES\n<entities>")
    for code, value in (("x0", _LOW[0]), ("y0", _LOW[1]), ("x1", _HIGH[0]), ("y1", _HIGH[1])):
        text = text.replace(f"\n{value}\n", f"\n<{code}>\n")
    for number, handle in enumerate(("31", "32", "33", "34")):
        text = text.replace(f"\n{handle}\n", f"\n<handle{number}>\n")
    head, name, tail = text.partition("LAYER\n  5\n1\n")
    number = tail.index("\n 70\n3\n")
    return head + name + tail[:number] + "\n 70\n<n_layers>\n" + tail[number + len("\n 70\n3\n") :]


def dxf_by_library(plan: Plan) -> bytes:
    """Return a plan as the library for DXF writes it, entity by entity."""
    document = empty_document()
    for layer in plan.layers:
        entry = document.layers.add(layer.value, color=LINE_KINDS[layer].aci)
        entry.description = LINE_KINDS[layer].title
    space = document.modelspace()
    for item in plan.items:
        _add(space, item)
    x0, y0, x1, y1 = plan.bounds_mm
    space.reset_extents((x0, y0, 0), (x1, y1, 0))
    return bytes(document.encode(written(document)))


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
    elif isinstance(item, Dimension):
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


if __name__ == "__main__":
    FRAME.write_text(frame_text(), encoding="cp1252", newline="\n")
