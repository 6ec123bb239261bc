"""Where diagrams are made: same bytes everywhere, own letters, nobody else's settings."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from support.diagrams import opened, plotted

from moldgen.export.picture.canvas import PAPER, text_width_px
from moldgen.export.picture.figure import (
    WIDTH_PX,
    _shown,
    diagram_png,
    ink,
    label_axis,
    new_figure,
    place_axes,
    plot_dimension,
    shortened,
    write_title,
)
from moldgen.typeface.face import drawing_font

SCRIPT = """
import hashlib, sys
from moldgen.export.picture.figure import diagram_png, place_axes, write_title

def plot(figure):
    write_title(figure, "Slipway", about="from above")
    axes = place_axes(figure, left_px=100, top_px=80, size_px=(600, 300))
    axes.plot([0, 1, 2], [3, 1, 2])
    axes.set_xlabel("time [s]")

print(hashlib.sha256(diagram_png(plot, height_px=480)).hexdigest())
print([name for name in sys.modules if name.startswith("matplotlib.pyplot")])
"""


def slipway(figure):
    """Plot what the script plots."""
    write_title(figure, "Slipway", about="from above")
    axes = place_axes(figure, left_px=100, top_px=80, size_px=(600, 300))
    axes.plot([0, 1, 2], [3, 1, 2])
    axes.set_xlabel("time [s]")


@pytest.mark.parametrize("seed", ["0", "77"])
def test_another_process_gives_the_same_bytes_and_says_nothing(tmp_path, seed):
    """With another hash seed, a home that cannot be written and a settings file of its own."""
    (tmp_path / "matplotlibrc").write_text(
        "xtick.major.size: 15\naxes.xmargin: 0.4\n", encoding="utf-8"
    )
    blocked = tmp_path / "a file"
    blocked.touch()
    home = str(blocked / "home")
    env = os.environ | {
        "PYTHONHASHSEED": seed, "HOME": home, "XDG_CACHE_HOME": home, "XDG_CONFIG_HOME": home,
        "MPLCONFIGDIR": home,
    }  # fmt: skip

    ran = subprocess.run(
        [sys.executable, "-W", "error", "-c", SCRIPT],
        cwd=tmp_path, env=env, capture_output=True, text=True, check=False,
    )  # fmt: skip

    assert (ran.stderr, ran.returncode) == ("", 0)
    digest, pyplot = ran.stdout.splitlines()
    assert digest == hashlib.sha256(diagram_png(slipway, height_px=480)).hexdigest()
    assert pyplot == "[]"


def test_a_diagram_is_a_plain_picture_on_our_paper():
    """The size is that asked for, the ground is sand, and nothing but pixels is in the file."""
    shown = opened(diagram_png(slipway, height_px=480))

    assert shown.shape == (480, WIDTH_PX, 3)
    assert tuple(shown[-1, -1]) == PAPER


def test_nothing_is_left_behind():
    """Settings of matplotlib are what they were before."""
    before = dict(mpl.rcParams)

    diagram_png(slipway, height_px=480)

    assert dict(mpl.rcParams) == before


def test_letters_are_those_of_moldgen():
    """Plain and bold words are set in the fonts that come along."""
    from matplotlib.font_manager import FontProperties, findfont

    with new_figure():
        plain = findfont(FontProperties())
        bold = findfont(FontProperties(weight="bold"))

    assert Path(plain) == drawing_font()
    assert Path(bold) == drawing_font(bold=True)


def test_any_title_can_be_written():
    """Letters that the font lacks and dollar signs are no trouble."""

    def plot(figure):
        write_title(figure, "5 $ for 潮, \\frac 6 $", about="$_{")

    assert opened(diagram_png(plot, height_px=100)).shape[0] == 100


def test_axes_lie_where_they_are_placed():
    """Pixels are counted from the upper left corner."""
    with new_figure(height_px=500) as figure:
        axes = place_axes(figure, left_px=140, top_px=100, size_px=(700, 150))
        low, high = axes.get_window_extent().get_points()

    assert low == pytest.approx([140, 250])
    assert high == pytest.approx([840, 400])


@pytest.mark.parametrize(
    ("end", "place"), [((40.0, 0.0), ("center", "top")), ((0.0, 40.0), ("left", "center"))]
)
def test_a_measure_stands_beside_its_line(end, place):
    """Below a level line, right of an upright one, at its middle."""
    axes = plotted(plot_dimension, (0.0, 0.0), end, "40 mm")

    line, words = axes.texts
    assert line.xy == (0.0, 0.0)
    assert line.xyann == end
    assert words.get_text() == "40 mm"
    assert words.xy == pytest.approx(np.array(end) / 2)
    assert (words.get_ha(), words.get_va()) == place


@pytest.mark.parametrize("title", ["Slipway", "W" * 60, "a long name for a sign " * 20, "潮" * 300])
def test_a_title_keeps_to_its_room(title):
    """A title that fits is written as it is, a longer one is cut with a mark."""
    words = shortened(title, room_px=900)

    assert text_width_px(words, size_px=13 * 140 / 72, bold=True) <= 900
    assert words == title or (words.endswith("…") and title.startswith(words[:-1]))
    assert (words == title) == (title == "Slipway")


def test_title_and_what_is_said_of_it_stand_in_two_lines():
    """Both begin at the left margin, the second below the first."""
    with new_figure() as figure:
        write_title(figure, "Slipway", about="from above")

    title, about = figure.texts
    assert (title.get_text(), about.get_text()) == ("Slipway", "from above")
    assert title.get_position()[0] == about.get_position()[0]
    assert title.get_position()[1] > about.get_position()[1]


def test_colors_are_written_in_hexadecimal_digits():
    """Red first, two digits each."""
    assert ink((18, 40, 255)) == "#1228ff"


def test_the_library_tells_of_its_properties_as_before():
    """It is loaded without its help on them, and whoever asks for it later gets it."""
    from matplotlib import artist
    from matplotlib.lines import Line2D

    with new_figure():
        pass

    assert "linewidth" in artist.kwdoc(Line2D)


def test_scales_that_are_switched_off_make_no_ticks():
    """All words of a scale that is shown are gone through, and none of one that is not."""
    with new_figure() as figure:
        bare = place_axes(figure, left_px=100, top_px=100, size_px=(400, 200), bare=True)
        shown = place_axes(figure, left_px=100, top_px=400, size_px=(400, 200))
        label_axis(shown.xaxis, "height [mm]")
        parts = list(_shown(figure))

    assert bare in parts
    assert bare.xaxis not in parts
    assert shown.xaxis.label in parts
    assert shown.xaxis.majorTicks[0] in parts
