"""Where diagrams are made: one figure, in one style, as the bytes of a PNG.

Nothing of a person's own matplotlib settings is read, and none of its global state is kept: the
style holds in a context, letters come from the fonts of moldgen, and there is no ``pyplot``.
"""

from __future__ import annotations

import logging
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from moldgen.execution import checkpoint
from moldgen.export.picture.canvas import NAVY, PAPER, SLATE, Color, png_bytes, text_width_px
from moldgen.typeface.face import drawing_font
from moldgen.units_text import as_read, drawn_scale

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

PX_PER_INCH = 140
WIDTH_PX = 1400
SMALL_PT, USUAL_PT, TITLE_PT = 9.0, 10.0, 13.0
LINE: Color = (216, 204, 178)
_SIDE_PX = 24
_FACE = "moldgen drawing"


def ink(color: Color) -> str:
    """Return a color as matplotlib takes it, such as ``#12283f``."""
    return "#{:02x}{:02x}{:02x}".format(*color)


def diagram_png(plot: Callable[[Figure], None], *, height_px: int) -> bytes:
    """Return a PNG of what is plotted on a new figure of 1400 pixels' width.

    Parameters
    ----------
    plot : callable
        Adds axes to the figure and plots on them.
    height_px : int
        Height of the picture.
    """
    with new_figure(height_px=height_px) as figure:
        plot(figure)
        return _png(figure)


@contextmanager
def new_figure(*, height_px: int = 700) -> Iterator[Figure]:
    """Give a figure whose style holds as long as the context does."""
    checkpoint()
    matplotlib = _library()
    from matplotlib.figure import Figure

    defaults = {k: v for k, v in matplotlib.rcParamsDefault.items() if k != "backend"}
    with matplotlib.rc_context(defaults | _style()):
        size_in = (WIDTH_PX / PX_PER_INCH, height_px / PX_PER_INCH)
        yield Figure(figsize=size_in, dpi=PX_PER_INCH)


def place_axes(figure: Figure, *, left_px: float, top_px: float, size_px: tuple[float, float],
               bare: bool = False) -> Axes:  # fmt: skip
    """Return new axes at a place of the figure, measured from its upper left corner.

    Parameters
    ----------
    bare : bool
        Whether there is no frame and no scale.
    """
    wide, tall = figure.get_size_inches() * figure.dpi
    width, height = size_px
    box = (left_px / wide, 1 - (top_px + height) / tall, width / wide, height / tall)
    axes = figure.add_axes(box)
    if bare:
        axes.set_axis_off()
    return axes


def show_pixels(
    ax: Axes, picture: NDArray[np.uint8], *, window_mm: tuple[float, float, float, float]
) -> None:
    """Show a picture of the size of its axes pixel by pixel, shape (h, w, 3).

    Parameters
    ----------
    window_mm : (x0, x1, y0, y1)
        Places of its sides on the axes. [mm]
    """
    from matplotlib.image import AxesImage
    from matplotlib.transforms import IdentityTransform

    class _Pixels(AxesImage):
        """A picture that is not scaled, which would take longer than everything else."""

        def make_image(self, *_: Any, **__: Any) -> Any:
            box = self.axes.bbox
            opaque = np.full((*picture.shape[:2], 4), 255, np.uint8)
            opaque[..., :3] = picture[::-1]
            return opaque, box.x0, box.y0, IdentityTransform()

    image = _Pixels(ax, extent=window_mm)
    image.set_data(picture)
    ax.add_image(image)
    x0, x1, y0, y1 = window_mm
    ax.set(xlim=(x0, x1), ylim=(y0, y1))


def write_title(figure: Figure, title: str, *, about: str = "", color: Color = SLATE) -> None:
    """Write the title at the upper left, and below it what is to be said of it."""
    wide, tall = figure.get_size_inches() * figure.dpi
    words = shortened(title, room_px=wide - 2 * _SIDE_PX)
    left = _SIDE_PX / wide
    figure.text(left, 1 - 22 / tall, words, va="top", size=TITLE_PT, weight="bold", gid=_NAME)
    figure.text(left, 1 - 60 / tall, about, va="top", color=ink(color))


def shortened(title: str, *, room_px: float) -> str:
    """Return a title that keeps to its room, cut with a mark if it is too long."""
    size_px = TITLE_PT * PX_PER_INCH / 72
    words = title
    while text_width_px(words, size_px=size_px, bold=True) > room_px:
        words = words[: len(words) * 9 // 10 - 1].rstrip() + "…"
    return words


def plot_dimension(
    ax: Axes, start: tuple[float, float], end: tuple[float, float], words: str
) -> None:
    """Plot a dimension line with arrows, level or upright, and its measure beside it."""
    ax.annotate(
        "", start, end, annotation_clip=False,
        arrowprops={"arrowstyle": "<|-|>", "color": ink(NAVY), "linewidth": 0.9,
                    "shrinkA": 0, "shrinkB": 0, "mutation_scale": 9},
    )  # fmt: skip
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    level = start[1] == end[1]
    ax.annotate(
        words, middle, xytext=(0, -5) if level else (5, 0), textcoords="offset points",
        ha="center" if level else "left", va="top" if level else "center", annotation_clip=False,
    )  # fmt: skip


def label_axis(axis: Axis, label: str) -> None:
    """Write what an axis counts, its unit in brackets at the end, and count in the units read now.

    Parameters
    ----------
    axis : matplotlib.axis.Axis
        Plotted in the unit of the label.
    label : str
        Such as ``x [mm]``; without a unit it is written as it is.
    """
    axis.set_label_text(label)
    count_axis(axis, label.rpartition("[")[2].removesuffix("]"))


def count_axis(axis: Axis, unit: str) -> None:
    """Count along an axis that is plotted in a unit in the one that is read now."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    scale = drawn_scale(unit)
    if scale.unit == unit:
        return

    class _RoundTicks(MaxNLocator):
        """Ticks where the numbers that are read are round."""

        def tick_values(self, vmin: float, vmax: float) -> Any:
            return scale.plotted(super().tick_values(scale.told(vmin), scale.told(vmax)))

    axis.set_major_locator(_RoundTicks(nbins=_MOST_TICKS, steps=[1, 2, 2.5, 5, 10]))
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{round(scale.told(value), 6) + 0:g}"))


_MOST_TICKS = 7


def _tell(figure: Figure) -> None:
    """Write all words of a figure in the units read now, but for the name that a person gave."""
    from matplotlib.text import Text

    for one in _shown(figure):
        if isinstance(one, Text) and one.get_gid() != _NAME:
            one.set_text(as_read(one.get_text()))


def _shown(artist: Artist) -> Iterator[Artist]:
    """Yield what an artist is made of; nothing of scales that are switched off."""
    from matplotlib.axes import Axes

    yield artist
    hidden: tuple[Artist, ...] = ()
    if isinstance(artist, Axes) and not artist.axison:
        hidden = artist.xaxis, artist.yaxis
    for one in artist.get_children():
        if one not in hidden:
            yield from _shown(one)


_NAME = "name"


def _png(figure: Figure) -> bytes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    checkpoint()
    _tell(figure)
    canvas: Any = FigureCanvasAgg(figure)
    with warnings.catch_warnings():
        # A title may have letters that the font lacks; it shows a box for them.
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        canvas.draw()
    checkpoint()
    return png_bytes(np.asarray(canvas.buffer_rgba())[:, :, :3])


def _style() -> dict[str, Any]:
    return {
        "figure.facecolor": ink(PAPER),
        "axes.facecolor": ink(PAPER),
        "axes.edgecolor": ink(SLATE),
        "axes.labelcolor": ink(NAVY),
        "axes.linewidth": 0.8,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.axisbelow": True,
        "grid.color": ink(LINE),
        "grid.linewidth": 0.6,
        "hatch.color": ink(SLATE),
        "hatch.linewidth": 0.5,
        "xtick.color": ink(SLATE),
        "ytick.color": ink(SLATE),
        "xtick.labelsize": SMALL_PT,
        "ytick.labelsize": SMALL_PT,
        "text.color": ink(NAVY),
        "text.parse_math": False,
        "font.family": [_FACE],
        "font.size": USUAL_PT,
        "legend.fontsize": SMALL_PT,
        "legend.frameon": False,
        "lines.linewidth": 1.8,
    }


@contextmanager
def _no_help() -> Iterator[None]:
    """Let the library write no help on its properties meanwhile: a third of loading it."""
    from matplotlib import artist

    kwdoc = artist.kwdoc
    artist.kwdoc = lambda artist: ""
    try:
        yield
    finally:
        artist.kwdoc = kwdoc


@cache
def _library() -> Any:
    """Import matplotlib without a word about its cache, and let it know the fonts of moldgen."""
    talk = logging.getLogger("matplotlib")
    before = talk.level
    talk.setLevel(logging.CRITICAL)
    try:
        with _no_help():
            import matplotlib
            from matplotlib.font_manager import FontEntry, fontManager
    finally:
        talk.setLevel(before)
    for bold, weight in ((False, 400), (True, 700)):
        entry = FontEntry(
            fname=str(drawing_font(bold=bold)), name=_FACE, style="normal", variant="normal",
            weight=weight, stretch="normal", size="scalable",
        )  # fmt: skip
        fontManager.ttflist.append(entry)
    return matplotlib
