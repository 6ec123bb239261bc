"""A plan as a picture: what the report shows and a phone displays."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from itertools import pairwise
from math import ceil, hypot, log10
from typing import Any

from moldgen.errors import SpecError
from moldgen.execution import checkpoint
from moldgen.export.picture.canvas import NAVY, PAPER, Color
from moldgen.export.plan.items import Hole, Item, Line, Note, Place, PlanRegion, Stroke
from moldgen.export.plan.layers import HOLE_LAYERS, LINE_KINDS, PILOT_LAYERS, Layer
from moldgen.export.plan.plan import Plan, has_holes, legend, plan_as_read
from moldgen.typeface.face import drawing_font
from moldgen.units_text import drawn_scale

_LEGEND_PAPER: Color = (233, 224, 203)
_FOOT_FILL = "#d5dfe8"
_FLAT_FILL = "#bccddb"
_FILLS = ((Layer.FOOT, _FOOT_FILL), (Layer.FLAT, _FLAT_FILL), (Layer.STRIP, _FOOT_FILL))
_FINE = 2  # drawn at twice the size and reduced, for smooth lines
_STEPS_MM = (1, 2, 5)


def plan_png_bytes(plan: Plan, *, width_px: int = 1400) -> bytes:
    """Return the plan as a PNG picture with a title, a legend and a scale bar.

    Parameters
    ----------
    plan : Plan
        The drawing.
    width_px : int
        Width of the picture, 400 to 6000. [px]

    Raises
    ------
    SpecError
        If the width is out of range.
    """
    plan = plan_as_read(plan)
    if not 400 <= width_px <= 6000:
        raise SpecError("width_px", "400 to 6000", str(width_px))
    checkpoint()
    easel = _Easel(plan, width_px * _FINE)
    for layer, color in _FILLS:
        for item in plan.on(layer):
            if isinstance(item, PlanRegion):
                easel.fill(item, color)
    for layer in plan.layers:
        for item in plan.on(layer):
            easel.draw(item)
    checkpoint()
    easel.finish()
    return easel.png()


def scale_bar_mm(width_mm: float) -> float:
    """Return the longest 1-2-5 length that is at most a quarter of a width, in its unit [mm]."""
    decade = 10.0 ** int(log10(max(width_mm, 1e-6) / 4) // 1)
    return max(step * decade for step in _STEPS_MM if step * decade <= max(width_mm, 1e-6) / 4)


class _Easel:
    """A picture under way; places go in as millimeters."""

    def __init__(self, plan: Plan, width_px: int) -> None:
        from PIL import Image, ImageDraw

        self._plan, self._width = plan, width_px
        self._unit = width_px / 100.0  # all lettering and gaps follow the picture's width
        x0, y0, x1, y1 = plan.bounds_mm
        pad = 3.0 * self._unit
        self._scale = (width_px - 2 * pad) / max(x1 - x0, (y1 - y0) * 0.75, 1e-6)
        self._left = (width_px - (x1 - x0) * self._scale) / 2 - x0 * self._scale
        self._head = 6.0 * self._unit
        self._base = self._head + (y1 - y0) * self._scale + y0 * self._scale
        longest = max((_font(1.55 * self._unit).getlength(w) for _, w in legend(plan)), default=0)
        self._columns = 2 if longest < 41 * self._unit else 1
        self._rows = ceil(len(plan.layers) / self._columns)
        self._foot = self._head + (y1 - y0) * self._scale + 3.0 * self._unit
        height = int(self._foot + (self._rows * 2.6 + 6.5) * self._unit)
        height += -height % _FINE
        self._image = Image.new("RGB", (width_px, height), PAPER)
        self._pen: Any = ImageDraw.Draw(self._image)

    def fill(self, path: PlanRegion, color: str) -> None:
        """Paint a region, its holes left open."""
        from PIL import Image, ImageDraw

        x0, y0, x1, y1 = path.bounds_mm
        left, top = (int(c) for c in self._at((x0, y1)))
        right, bottom = self._at((x1, y0))
        stencil = Image.new("1", (int(right) - left + 2, int(bottom) - top + 2), 0)
        pen = ImageDraw.Draw(stencil)
        for number, ring in enumerate(path.rings):
            corners = [self._at((x, y)) for x, y in ring]
            pen.polygon([(x - left, y - top) for x, y in corners], fill=int(number == 0))
        self._image.paste(color, (left, top), stencil)

    def draw(self, item: Item) -> None:
        """Draw one item with the line of its layer."""
        if isinstance(item, PlanRegion):
            for ring in item.rings:
                corners = [(float(x), float(y)) for x, y in ring]
                self._trail([*corners, corners[0]], item.layer)
        elif isinstance(item, Hole):
            self._hole(item)
        elif isinstance(item, Note):
            self._note(item)
        elif isinstance(item, Line):
            self._trail([item.start_mm, item.end_mm], item.layer)
        else:
            self._strokes(item.strokes, item.layer)
            self._note(item.note)

    def finish(self) -> None:
        """Add title, scale bar and legend."""
        u, plan = self._unit, self._plan
        wide = _font(2.4 * u, bold=True).getlength(plan.title)
        size = min(2.4, 2.4 * 94 * u / max(wide, 1.0))
        self._write(3 * u, 3 * u, plan.title, size, bold=True, anchor="lm")
        self._pen.rectangle((0, self._foot, self._width, self._image.height), fill=_LEGEND_PAPER)
        self._bar(3 * u, self._foot + 4.2 * u)
        for i, (layer, words) in enumerate(legend(plan)):
            column, row = divmod(i, self._rows)
            x, y = (3 + 49 * column) * u, self._foot + (6.8 + 2.6 * row) * u
            self._sample(layer, x, y)
            self._write(x + 7 * u, y, words, 1.55, anchor="lm")

    def png(self) -> bytes:
        """Return the finished picture."""
        from PIL import Image

        small = self._image.reduce(_FINE)
        out = BytesIO()
        small.quantize(128, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE).save(out, "PNG")
        return out.getvalue()

    def _at(self, place: Place) -> Place:
        return self._left + place[0] * self._scale, self._base - place[1] * self._scale

    def _px(self, units: float) -> int:
        return max(1, round(units * self._unit))

    def _hole(self, hole: Hole) -> None:
        """Draw a hole, a small one larger than it is so that it can be seen."""
        color = LINE_KINDS[hole.layer].color
        (x, y), r = self._at((hole.x_mm, hole.y_mm)), hole.diameter_mm / 2 * self._scale
        r = max(r, 0.42 * self._unit)
        inside = color if hole.layer is Layer.VENT else PAPER
        box = (x - r, y - r, x + r, y + r)
        self._pen.ellipse(box, fill=inside, outline=color, width=self._px(0.13))
        if hole.layer in PILOT_LAYERS:
            arm = r + 0.45 * self._unit
            self._pen.line((x - arm, y, x + arm, y), fill=color, width=self._px(0.1))
            self._pen.line((x, y - arm, x, y + arm), fill=color, width=self._px(0.1))

    def _strokes(self, strokes: Sequence[Stroke], layer: Layer) -> None:
        for start, end in strokes:
            self._trail([start, end], layer)

    def _trail(self, corners_mm: Sequence[Place], layer: Layer) -> None:
        kind = LINE_KINDS[layer]
        width = self._px(kind.width_mm * 0.5)
        corners = [self._at(corner) for corner in corners_mm]
        dashes = [d * 0.28 * self._unit for d in kind.dash_mm]
        for piece in _dashed(corners, dashes) if dashes else [corners]:
            self._pen.line(piece, fill=kind.color, width=width, joint="curve")

    def _note(self, note: Note) -> None:
        from PIL import Image, ImageDraw

        size = max(note.size_mm * self._scale, 1.25 * self._unit)
        font = _font(size, bold=note.layer is Layer.FINDING)
        color = LINE_KINDS[note.layer].color
        x, y = self._at((note.x_mm, note.y_mm))
        if not note.angle_deg:
            anchor = "lm" if note.align == 0 else "mm"
            if note.align == 0:  # beside a hole, which is drawn larger than it is
                x, y = x + 0.5 * self._unit, y - 0.5 * self._unit
            self._pen.text((x, y), note.text, font=font, fill=color, anchor=anchor)
            return
        room = int(font.getlength(note.text) + 2 * size) // 2 * 2 + 2
        stencil = Image.new("L", (room, room), 0)
        ImageDraw.Draw(stencil).text(
            (room / 2, room / 2), note.text, font=font, fill=255, anchor="mm"
        )
        turned = stencil.rotate(note.angle_deg, Image.Resampling.BICUBIC)
        self._image.paste(color, (round(x - room / 2), round(y - room / 2)), turned)

    def _write(
        self, x: float, y: float, text: str, size: float, *,
        color: Color = NAVY, bold: bool = False, anchor: str = "mm",
    ) -> None:  # fmt: skip
        font = _font(size * self._unit, bold=bold)
        self._pen.text((x, y), text, font=font, fill=color, anchor=anchor)

    def _bar(self, x: float, y: float) -> None:
        told = drawn_scale("mm")
        number = scale_bar_mm(told.told((self._width - 6 * self._unit) / self._scale))
        length_mm = told.plotted(number)
        length, thick = length_mm * self._scale, 0.6 * self._unit
        for i in range(4):
            box = (x + i * length / 4, y - thick, x + (i + 1) * length / 4, y)
            fill = NAVY if i % 2 == 0 else PAPER
            self._pen.rectangle(box, fill=fill, outline=NAVY, width=self._px(0.08))
        self._write(x, y - 1.7 * self._unit, "0", 1.4)
        self._write(x + length, y - 1.7 * self._unit, f"{number:g} {told.unit}", 1.4)

    def _sample(self, layer: Layer, x: float, y: float) -> None:
        ends = [self._back((x, y)), self._back((x + 5.6 * self._unit, y))]
        if layer in HOLE_LAYERS and has_holes(self._plan, layer):
            mid_x, mid_y = (ends[0][0] + ends[1][0]) / 2, ends[0][1]
            self._hole(Hole(x_mm=mid_x, y_mm=mid_y, diameter_mm=1e-3, layer=layer))
        else:
            self._trail(ends, layer)

    def _back(self, pixel: Place) -> Place:
        return (pixel[0] - self._left) / self._scale, (self._base - pixel[1]) / self._scale


def _font(size_px: float, *, bold: bool = False) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(str(drawing_font(bold=bold)), max(6, round(size_px)))


def _dashed(corners: Sequence[Place], dashes: Sequence[float]) -> list[list[Place]]:
    """Cut a line into the pieces its dashes draw."""
    pieces: list[list[Place]] = []
    left, turn, piece = dashes[0], 0, [corners[0]]
    for (ax, ay), (bx, by) in pairwise(corners):
        length, done = hypot(bx - ax, by - ay), 0.0
        while length - done > left:
            done += left
            place = ax + (bx - ax) * done / length, ay + (by - ay) * done / length
            if turn % 2 == 0:
                pieces.append([*piece, place])
            piece, turn = [place], turn + 1
            left = dashes[turn % len(dashes)]
        left -= length - done
        piece.append((bx, by))
    return pieces + ([piece] if turn % 2 == 0 and len(piece) > 1 else [])
