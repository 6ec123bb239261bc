"""Scales for maps of a formed sheet."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.diagrams import lightness

from moldgen.export.picture.forming_scales import arrival_scale, arrival_values, thickness_scale


@given(st.floats(0.1, 12.0))
def test_classes_of_thickness_cover_every_gauge(gauge_mm):
    """From nothing to the gauge, in equal round steps, neither few nor many, thin to thick."""
    scale = thickness_scale(gauge_mm)

    steps = np.diff(scale.edges)
    assert scale.edges[0] == 0
    assert scale.edges[-1] - steps[0] < gauge_mm <= scale.edges[-1] + 1e-9
    assert steps == pytest.approx(steps[0], rel=1e-6)
    assert 5 <= len(scale.colors) <= 16
    assert scale.label == "thickness [mm]"


def test_thinner_is_darker_and_later_is_darker():
    """Without color the order can still be seen; only what never arrives stands apart."""
    thickness = lightness(thickness_scale(1.5).colors)
    arrival = lightness(arrival_scale().colors)

    assert (np.diff(thickness) > 5).all()
    assert (np.diff(arrival[:-1]) < -15).all()
    assert abs(arrival[-1] - arrival[-2]) > 50


def test_each_arrival_has_its_class():
    """While the mold rose, at shares of the vacuum, at all of it, while it held, and never."""
    vacuum = np.array([-1.0, 1e-6, 0.19, 0.21, 0.5, 0.99, 1.0, 1.3, np.inf])

    classes = arrival_scale().classes_of(arrival_values(vacuum))

    names = [arrival_scale().names[number] for number in classes]
    assert names == [
        "as the mold rose", "0 to 20 %", "0 to 20 %", "20 to 40 %", "40 to 60 %", "80 to 100 %",
        "80 to 100 %", "while held", "never",
    ]  # fmt: skip
    values = arrival_values(vacuum)
    assert values.min() > arrival_scale().edges[0]
    assert values.max() < arrival_scale().edges[-1]
