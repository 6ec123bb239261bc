"""What stands on a diagram: plotted on axes for a test to look at."""

import io

import numpy as np
from PIL import Image
from shapely import Point, Polygon

from moldgen.export.picture.figure import new_figure


def plotted(plot, *objects):
    """Return the axes that a plot function was given, with what it put on them."""
    with new_figure() as figure:
        axes = figure.add_subplot()
        plot(axes, *objects)
        return axes


def words_of(axes):
    """Return everything that is written on axes, apart from the numbers of their scales."""
    texts = [text.get_text() for text in axes.texts]
    return [*texts, axes.get_xlabel(), axes.get_ylabel(), axes.get_title(loc="left")]


def sizes_pt(axes):
    """Return the sizes of everything that is written on axes."""
    texts = [*axes.texts, axes.xaxis.label, axes.yaxis.label, *axes.get_xticklabels(),
             *axes.get_yticklabels()]  # fmt: skip
    return [text.get_fontsize() for text in texts if text.get_text()]


def opened(png):
    """Return the pixels of a PNG as another library reads them; nothing else may be in it."""
    with Image.open(io.BytesIO(png)) as image:
        assert image.format == "PNG"
        assert image.info == {}
        return np.asarray(image.convert("RGB")).astype(int)


def is_filled(path, place):
    """Return whether a path paints a place, by how often its rings go round it."""
    rings = [Polygon(ring) for ring in path.to_polygons()]
    turns = [1 if ring.exterior.is_ccw else -1 for ring in rings if ring.contains(Point(place))]
    return sum(turns) != 0


def lightness(colors):
    """Return how light screen colors are, 0 to 255, by the luma of BT.709."""
    return np.asarray(colors, float) @ (0.2126, 0.7152, 0.0722)
