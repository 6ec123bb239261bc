"""Classes of a value, and their colors."""

import numpy as np
import pytest

from moldgen.errors import SpecError
from moldgen.export.picture.value_scale import UNKNOWN, ValueScale, blend

RED, GREEN, BLUE = (255, 0, 0), (0, 255, 0), (0, 0, 255)
THREE = ValueScale(
    edges=(0.0, 1.0, 2.0, 3.0), colors=(RED, GREEN, BLUE), names=("low", "middle", "high")
)


def test_a_value_on_an_edge_belongs_to_the_class_above():
    """Colors follow the edges, the end classes reach on, and what has no value is gray."""
    colors = THREE.colors_of(np.array([-5, 0.5, 1.0, 1.5, 2.0, 9.0, np.nan]))

    assert [tuple(c) for c in colors.tolist()] == [RED, RED, GREEN, GREEN, BLUE, BLUE, UNKNOWN]


def test_areas_are_added_up_by_class():
    """Square millimeters become square centimeters; what has no value is left out."""
    values = np.array([0.5, 0.7, 2.5, np.nan])

    areas = THREE.areas_cm2(values, np.array([100.0, 300.0, 50.0, 1e6]))

    assert areas == pytest.approx([4.0, 0.0, 0.5])


@pytest.mark.parametrize(
    "wrong",
    [{"colors": (RED, GREEN)}, {"names": ("a", "b")}, {"edges": (0.0, 1.0, 2.0, 3.0, 4.0)}],
)
def test_a_class_needs_a_color_and_a_name(wrong):
    """One too few or too many is refused."""
    parts = {"edges": THREE.edges, "colors": THREE.colors, "names": THREE.names}

    with pytest.raises(SpecError, match=r"scale must be \d colors and names"):
        ValueScale(**(parts | wrong))


def test_a_blend_runs_from_end_to_end():
    """Its ends are those of the ramp, its middle lies between."""
    assert blend((RED, BLUE), 3) == (RED, (128, 0, 128), BLUE)
    assert blend((RED, GREEN, BLUE), 3) == (RED, GREEN, BLUE)
