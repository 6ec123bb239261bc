"""The diagram of a sheet while it is heated."""

from dataclasses import replace

import numpy as np
import pytest
from support.diagrams import opened, plotted, sizes_pt, words_of

from moldgen.export.picture.figure import ink
from moldgen.export.picture.heating_curves import HeatingCurves, heating_png, plot_heating

TIMES = np.linspace(0, 50, 26)
CURVES = HeatingCurves(
    title="Polystyrene, 1 mm",
    times_s=TIMES,
    curves_degC=(("face", 20 + 3.4 * TIMES), ("mean", 20 + 3.3 * TIMES), ("back", 20 + 3 * TIMES)),
    window_degC=(127.0, 182.0),
    last_s=56.0,
    high_degC=220.0,
    opens_s=36.0,
    closes_s=47.0,
    forming_s=40.0,
)


def test_the_curves_are_the_temperatures():
    """Each line has the times and temperatures it was given, over axes with units."""
    ax = plotted(plot_heating, CURVES)

    lines = [line for line in ax.lines if len(line.get_xdata()) == len(TIMES)]
    assert len(lines) == 3
    for line, (_, values) in zip(lines, CURVES.curves_degC, strict=True):
        np.testing.assert_array_equal(line.get_xdata(), TIMES)
        np.testing.assert_array_equal(line.get_ydata(), values)
    assert len({line.get_color() for line in lines}) == 3
    assert lines[0].get_linestyle() == "-" != lines[1].get_linestyle()
    assert ax.get_xlabel().endswith("[s]")
    assert ax.get_ylabel().endswith("[°C]")
    assert ax.get_xlim() == (0, 56)
    assert ax.get_ylim() == (0, 220)
    assert min(sizes_pt(ax)) >= 9


def test_the_window_is_a_band_with_its_limits():
    """The band reaches from the lower to the upper forming temperature."""
    ax = plotted(plot_heating, CURVES)

    (band,) = ax.patches
    corners = band.get_path().vertices if band.get_path() is not None else None
    rows = band.get_patch_transform().transform(corners)[:, 1]
    assert (rows.min(), rows.max()) == pytest.approx((127, 182))
    assert "forms: 127 to 182 °C" in words_of(ax)


def test_moments_are_marked_and_named():
    """Opening, pull and closing stand at their times; what never comes is left out."""
    ax = plotted(plot_heating, CURVES)
    upright = {line.get_xdata()[0] for line in ax.lines if len(line.get_xdata()) == 2}
    stays_open = plotted(plot_heating, replace(CURVES, closes_s=None))

    assert upright == {36.0, 40.0, 47.0}
    said = [words.strip() for words in words_of(ax)]
    assert {"window opens 36 s", "pull 40 s", "too hot 47 s"} <= set(said)
    assert not any("too hot" in words for words in words_of(stays_open))


def test_names_of_close_curves_do_not_cover_each_other():
    """Names stand beside the ends of their curves, at least a line apart, in the same order."""
    ax = plotted(plot_heating, CURVES)

    rows = {t.get_text(): t.xy[1] for t in ax.texts if t.get_text() in ("face", "mean", "back")}
    assert rows["face"] == pytest.approx(190)
    assert rows["face"] - rows["mean"] >= 0.05 * 220
    assert rows["mean"] - rows["back"] >= 0.05 * 220


def test_the_pull_is_red():
    """What must not be missed has a color of its own."""
    ax = plotted(plot_heating, CURVES)

    colors = {line.get_xdata()[0]: line.get_color() for line in ax.lines
              if len(line.get_xdata()) == 2}  # fmt: skip
    assert colors[40.0] == ink((200, 16, 46))
    assert colors[36.0] == colors[47.0] != colors[40.0]


def test_the_picture_is_a_png():
    """The diagram is 1400 pixels wide."""
    assert opened(heating_png(CURVES)).shape[1] == 1400
