"""A plan as a DXF drawing in millimeters, one layer per line kind.

Written out by hand, because a plan needs four kinds of entities, and a library that knows all of
DXF takes longer to load than everything else takes that a plan is made of. What stands round the
entities, and never changes, lies in ``frame.dxf``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from itertools import chain, count
from pathlib import Path

from moldgen.errors import FileError
from moldgen.export.plan.items import Hole, Item, Line, Note, Place, PlanRegion
from moldgen.export.plan.layers import LINE_KINDS, Layer
from moldgen.export.plan.plan import Plan

_MODEL_SPACE = "17"
# Handles of the frame end here; 30 is in the middle of those of the layers.
_FIRST_HANDLE, _TAKEN = 0x2F, 0x30
# Those that the frame has after the entities, the last of them the next free one.
_N_LATE = 4
_OWN_LAYERS = 2
_DEFAULT_TURN = 0.0


def dxf_bytes(plan: Plan) -> bytes:
    """Return the plan as a DXF file, release 2000, true to size in millimeters.

    Regions are closed light-weight polylines, one per ring; holes are circles; dimensions are
    plain lines and text, which every program shows the same.

    Notes
    -----
    No dates and no random identifiers go in, so the same plan gives the same bytes.

    References
    ----------
    Public DXF reference, release 2000: group codes of LAYER, LWPOLYLINE, CIRCLE, LINE and TEXT.
    """
    handles = (f"{number:X}" for number in count(_FIRST_HANDLE) if number != _TAKEN)
    layers = "".join(_layer(layer, next(handles)) for layer in plan.layers)
    entities = "".join(
        _tags(("0", kind), ("5", next(handles)), ("330", _MODEL_SPACE), *tags)
        for kind, tags in chain.from_iterable(map(_entities, plan.items))
    )
    x0, y0, x1, y1 = map(float, plan.bounds_mm)
    text = _frame()
    for name, value in (
        ("x0", x0), ("y0", y0), ("x1", x1), ("y1", y1),
        ("n_layers", len(plan.layers) + _OWN_LAYERS),
        *((f"handle{number}", next(handles)) for number in range(_N_LATE)),
        ("layers", layers), ("entities", entities),
    ):  # fmt: skip
        text = text.replace(f"<{name}>", str(value))
    return _encoded(text)


@cache
def _frame() -> str:
    path = Path(__file__).with_name("frame.dxf")
    try:
        return path.read_text(encoding="cp1252")
    except OSError:
        told = f"{path}, which comes with moldgen, is missing; install moldgen again."
        raise FileError(told) from None


_Tag = tuple[str, object]
_Entity = tuple[str, Iterable[_Tag]]


def _tags(*tags: _Tag) -> str:
    return "".join(f"{code:>3}\n{value}\n" for code, value in tags)


def _layer(layer: Layer, handle: str) -> str:
    kind = LINE_KINDS[layer]
    return _tags(
        ("0", "LAYER"), ("5", handle), ("330", "1"),
        ("100", "AcDbSymbolTableRecord"), ("100", "AcDbLayerTableRecord"),
        ("2", layer.value), ("70", 0), ("62", kind.aci), ("6", "Continuous"), ("370", -3),
        ("390", "13"), ("1001", "AcAecLayerStandard"), ("1000", ""), ("1000", kind.title),
    )  # fmt: skip


def _entities(item: Item) -> Iterator[_Entity]:
    """Yield the entities of an item, without their handles."""
    if isinstance(item, PlanRegion):
        for ring in item.rings:
            yield _polyline(ring.tolist(), item.layer)
    elif isinstance(item, Hole):
        yield _circle(item)
        for start, end in item.cross:
            yield _line(start, end, Layer.MARK)
    elif isinstance(item, Note):
        yield _text(item)
    elif isinstance(item, Line):
        yield _line(item.start_mm, item.end_mm, item.layer)
    else:
        for start, end in item.strokes:
            yield _line(start, end, item.layer)
        yield _text(item.note)


def _on(layer: Layer, kind: str) -> tuple[_Tag, ...]:
    return ("100", "AcDbEntity"), ("8", layer.value), ("100", kind)


def _place(place: Place, number: int = 0) -> tuple[_Tag, ...]:
    x, y = map(float, place)
    return (f"1{number}", x), (f"2{number}", y), (f"3{number}", 0.0)


def _polyline(corners: list[Place], layer: Layer) -> _Entity:
    size = (("90", len(corners)), ("70", 1))
    places = chain.from_iterable((("10", float(x)), ("20", float(y))) for x, y in corners)
    return "LWPOLYLINE", (*_on(layer, "AcDbPolyline"), *size, *places)


def _circle(hole: Hole) -> _Entity:
    place = _place((hole.x_mm, hole.y_mm))
    return "CIRCLE", (*_on(hole.layer, "AcDbCircle"), *place, ("40", float(hole.diameter_mm) / 2))


def _line(start: Place, end: Place, layer: Layer) -> _Entity:
    return "LINE", (*_on(layer, "AcDbLine"), *_place(start), *_place(end, 1))


def _text(note: Note) -> _Entity:
    words = " ".join(note.text.split()).replace("%%", "% %")
    turn = float(note.angle_deg)
    return "TEXT", (
        *_on(note.layer, "AcDbText"), *_place(note.base_mm), ("40", float(note.height_mm)),
        ("1", words), *([("50", turn)] if turn != _DEFAULT_TURN else []),
        *([("72", 1)] if note.align != 0 else []), *_place(note.base_mm, 1), ("100", "AcDbText"),
    )  # fmt: skip


def _encoded(text: str) -> bytes:
    r"""Return text in the code page of the frame; other letters as ``\U+03a9``."""
    try:
        return text.encode("cp1252")
    except UnicodeEncodeError:
        return b"".join(map(_letter, text))


def _letter(letter: str) -> bytes:
    try:
        return letter.encode("cp1252")
    except UnicodeEncodeError:
        number = ord(letter)
        if number <= 0xFF:
            return f"\\x{number:02x}".encode("ascii")
        digits = 4 if number <= 0xFFFF else 8
        return f"\\U+{number:0{digits}x}".encode("ascii")
