"""The line kinds of a plan: what each means, and how it stays apart on gray paper."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Layer(StrEnum):
    """One kind of line on a plan; the word is its name in every file."""

    SHEET = "sheet"
    """Edge of the plastic sheet."""
    CLAMP = "clamp"
    """Clear opening of the clamp frame."""
    CHANNEL = "channel"
    """Relief under the mold that leads the air to the table, hidden from above."""
    FOOT = "foot"
    """Outline of the mold on the table."""
    FLAT = "flat"
    """Level tops and floors."""
    TRIM = "trim"
    """Line the finished part is cut along."""
    VENT = "vent"
    """Hole printed right through."""
    DRILL = "drill"
    """Marked pilot, to be drilled after printing."""
    FINDING = "finding"
    """Ring round the place of a finding, with its number."""
    HANG = "hang"
    """Hole to be drilled in the formed part, to hang it by."""
    STRIP = "strip"
    """Edge of a flat strip that will be bent, and its holes."""
    BEND = "bend"
    """Middle of a bend: the line that lies over the element."""
    HOT = "hot"
    """Edges of what must be soft."""
    SAW = "saw"
    """Line on the upper face of a wooden layer, along which the tilted table saws it."""
    BELOW = "below"
    """Edge of the lower face of a wooden layer."""
    ROUT = "rout"
    """Recess cut from above into a wooden layer, to a depth."""
    DOWEL = "dowel"
    """Hole for a dowel through a wooden layer."""
    BORE = "bore"
    """Hole drilled through a wooden layer for a vent."""
    TABLE = "table"
    """Hole of the forming table."""
    PLUG = "plug"
    """Hole of the forming table to be plugged."""
    BED = "bed"
    """Edge of the printer's bed."""
    BLANK = "blank"
    """Edge of a blank or an offcut on a stock sheet."""
    TICK = "tick"
    """Marks beside the edges of a strip, from which a bend line is drawn; never on the part."""
    MARK = "mark"
    """Which way is up, labels, dimensions."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerStyle:
    """How a layer is named to a person and drawn.

    Attributes
    ----------
    title : str
        What the legend calls it.
    color : str
        ``#rrggbb`` on screens.
    gray : float
        Darkness on paper: 0 is black, 1 is white. [-]
    width_mm : float
        Line width on paper. [mm]
    dash_mm : tuple of float
        Lengths drawn and left out in turn; empty for an unbroken line. [mm]
    aci : int
        Color number of the layer in a DXF file.
    """

    title: str
    color: str
    gray: float
    width_mm: float
    dash_mm: tuple[float, ...] = ()
    aci: int = 7


LINE_KINDS: dict[Layer, LayerStyle] = {
    Layer.SHEET: LayerStyle(
        title="sheet edge", color="#8a6d3b", gray=0.35, width_mm=0.3,
        dash_mm=(5, 1.3, 0.7, 1.3), aci=8,
    ),
    Layer.CLAMP: LayerStyle(
        title="clear opening of the clamp", color="#5b6f80", gray=0.35, width_mm=0.3,
        dash_mm=(5, 1.3, 0.7, 1.3, 0.7, 1.3), aci=9,
    ),
    Layer.CHANNEL: LayerStyle(
        title="air channels under the mold", color="#6f8f8a", gray=0.45, width_mm=0.2,
        dash_mm=(1, 1), aci=4,
    ),
    Layer.FOOT: LayerStyle(
        title="foot of the mold on the table", color="#12283f", gray=0.0, width_mm=0.5, aci=7
    ),
    Layer.FLAT: LayerStyle(title="top face", color="#3f6a93", gray=0.4, width_mm=0.18, aci=5),
    Layer.TRIM: LayerStyle(
        title="trim line", color="#a0461f", gray=0.0, width_mm=0.35, dash_mm=(4, 2), aci=30
    ),
    Layer.VENT: LayerStyle(
        title="vent, printed through", color="#00695c", gray=0.0, width_mm=0.2, aci=3
    ),
    Layer.DRILL: LayerStyle(
        title="drill after printing", color="#7a2e8a", gray=0.0, width_mm=0.2, aci=6
    ),
    Layer.FINDING: LayerStyle(
        title="look here first: the number is that of the finding", color="#c8102e", gray=0.2,
        width_mm=0.45, aci=1,
    ),
    Layer.HANG: LayerStyle(
        title="drill in the formed part", color="#b3261e", gray=0.0, width_mm=0.2, aci=1
    ),
    Layer.STRIP: LayerStyle(
        title="edge of the flat strip, cut", color="#0d2b45", gray=0.0, width_mm=0.4, aci=7
    ),
    Layer.BEND: LayerStyle(
        title="bend line, over the element", color="#c2410c", gray=0.0, width_mm=0.25,
        dash_mm=(6, 1.5, 1.5, 1.5), aci=1,
    ),
    Layer.HOT: LayerStyle(
        title="edges of what must be soft", color="#b0641a", gray=0.45, width_mm=0.2,
        dash_mm=(0.8, 1.2), aci=40,
    ),
    Layer.SAW: LayerStyle(
        title="saw line, on the upper face", color="#12283f", gray=0.0, width_mm=0.55, aci=7
    ),
    Layer.BELOW: LayerStyle(
        title="edge of the lower face", color="#3f6a93", gray=0.3, width_mm=0.25,
        dash_mm=(3, 1.5), aci=5,
    ),
    Layer.ROUT: LayerStyle(
        title="recess cut from above to a depth", color="#a0461f", gray=0.2, width_mm=0.3,
        dash_mm=(2, 0.8), aci=30,
    ),
    Layer.DOWEL: LayerStyle(
        title="hole for a dowel", color="#1f5fa8", gray=0.0, width_mm=0.28, aci=150
    ),
    Layer.BORE: LayerStyle(
        title="vent, drilled in wood", color="#7a2e8a", gray=0.0, width_mm=0.22, aci=6
    ),
    Layer.TABLE: LayerStyle(
        title="hole of the table", color="#6b7a86", gray=0.45, width_mm=0.13, aci=8
    ),
    Layer.PLUG: LayerStyle(
        title="hole of the table to plug", color="#b3261e", gray=0.0, width_mm=0.25, aci=1
    ),
    Layer.BED: LayerStyle(
        title="edge of the printer's bed", color="#5b6f80", gray=0.35, width_mm=0.3,
        dash_mm=(5, 1.3), aci=9,
    ),
    Layer.BLANK: LayerStyle(
        title="cut on the stock sheet", color="#12283f", gray=0.0, width_mm=0.35, aci=7
    ),
    Layer.TICK: LayerStyle(
        title="mark beside the strip, to draw the bend line by", color="#1f5fa8", gray=0.1,
        width_mm=0.3, aci=150,
    ),
    Layer.MARK: LayerStyle(
        title="labels and dimensions", color="#4a4a4a", gray=0.25, width_mm=0.15, aci=250
    ),
}  # fmt: skip

PILOT_LAYERS = (Layer.DRILL, Layer.HANG, Layer.DOWEL, Layer.BORE, Layer.PLUG)
"""Holes that something is done to: drawn with center lines."""
HOLE_LAYERS = (Layer.VENT, Layer.TABLE, *PILOT_LAYERS)
"""Layers of round holes."""
