"""A plan as an SVG drawing in true millimeters, for cutters and drawing programs."""

from __future__ import annotations

from html import escape

from moldgen.export.plan.items import Hole, Item, Line, Note, Place, PlanRegion, Stroke
from moldgen.export.plan.layers import LINE_KINDS, PILOT_LAYERS, Layer
from moldgen.export.plan.plan import Plan, plan_as_read
from moldgen.language import in_words

HAIRLINE_MM = 0.1
_PAD_MM = 2.0


def svg_bytes(plan: Plan) -> bytes:
    """Return the plan as SVG: one user unit is one millimeter, one group per line kind.

    Closed regions are paths filled even-odd by nothing, holes are circles, and every line is a
    hairline, so that a machine that follows lines follows these.

    Notes
    -----
    SVG counts y downwards: a point (x, y) of the plan is drawn at (x, -y) and the view box
    starts at the upper left corner of the drawing. The same plan gives the same bytes.
    """
    plan = plan_as_read(plan)
    x0, y0, x1, y1 = plan.bounds_mm
    left, top = x0 - _PAD_MM, -y1 - _PAD_MM
    width, height = x1 - x0 + 2 * _PAD_MM, y1 - y0 + 2 * _PAD_MM
    view = " ".join(_number(value) for value in (left, top, width, height))
    groups = "\n".join(_group(plan, layer) for layer in plan.layers)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{_number(width)}mm" '
        f'height="{_number(height)}mm" viewBox="{view}">\n'
        f"<title>{_words(plan.title)}</title>\n"
        "<desc>Seen from above, true to size: one unit is one millimeter.</desc>\n"
        f"{groups}\n</svg>\n"
    ).encode()


def _group(plan: Plan, layer: Layer) -> str:
    kind = LINE_KINDS[layer]
    dash = f' stroke-dasharray="{" ".join(f"{d:g}" for d in kind.dash_mm)}"' if kind.dash_mm else ""
    drawn = "\n".join(mark for item in plan.on(layer) for mark in _marks(item))
    crosses = _crosses(plan) if layer is Layer.MARK else ""
    return (
        f'<g id="{layer}" fill="none" stroke="{kind.color}" '
        f'stroke-width="{HAIRLINE_MM:g}"{dash}>\n'
        f"<title>{_words(in_words(kind.title))}</title>\n{drawn}{crosses}\n</g>"
    )


def _marks(item: Item) -> list[str]:
    if isinstance(item, PlanRegion):
        rings = " ".join(f"M{' '.join(_pair((x, y)) for x, y in ring)} Z" for ring in item.rings)
        return [f'<path fill-rule="evenodd" d="{rings}"/>']
    if isinstance(item, Hole):
        tip = f"<title>{_words(item.note)}</title>" if item.note else ""
        return [
            f'<circle cx="{_number(item.x_mm)}" cy="{_number(-item.y_mm)}" '
            f'r="{_number(item.diameter_mm / 2)}">{tip}</circle>'
        ]
    if isinstance(item, Note):
        return [_text(item)]
    if isinstance(item, Line):
        return [_line((item.start_mm, item.end_mm))]
    return [*map(_line, item.strokes), _text(item.note)]


def _crosses(plan: Plan) -> str:
    """Draw the center lines of drilled holes among the marks, away from what is cut."""
    holes = [item for item in plan.items if isinstance(item, Hole) and item.layer in PILOT_LAYERS]
    return "".join(f"\n{_line(stroke)}" for hole in holes for stroke in hole.cross)


def _line(stroke: Stroke) -> str:
    return f'<path d="M{_pair(stroke[0])} L{_pair(stroke[1])}"/>'


def _text(note: Note) -> str:
    x, y = note.base_mm
    anchor = "start" if note.align == 0 else "middle"
    turn = ""
    if note.angle_deg:
        turn = f' transform="rotate({_number(-note.angle_deg)} {_pair((x, y))})"'
    return (
        f'<text x="{_number(x)}" y="{_number(-y)}" font-family="Helvetica, Arial, sans-serif" '
        f'font-size="{_number(note.size_mm)}" text-anchor="{anchor}" stroke="none" '
        f'fill="{LINE_KINDS[note.layer].color}"{turn}>{_words(note.text)}</text>'
    )


def _pair(place: Place) -> str:
    return f"{_number(place[0])},{_number(-place[1])}"


def _number(value: float) -> str:
    """Write a length to a tenth of a micrometre, without needless zeros or a negative nought."""
    return f"{round(value, 4) + 0.0:.4f}".rstrip("0").rstrip(".")


def _words(text: str) -> str:
    """Escape text for XML and leave out characters that XML 1.0 does not allow."""
    allowed = (
        c for c in text if c >= " " and c not in "\ufffe\uffff" and not "\ud800" <= c <= "\udfff"
    )
    return escape("".join(allowed), quote=False)
