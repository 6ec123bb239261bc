"""What the draft map and the colored mesh show of the walls."""

from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.testing import assert_array_equal
from support.check_solids import case, frustum

from moldgen.mold.checks.draft import Draft, measure_draft
from moldgen.mold.checks.sight import sight
from moldgen.pipeline.mold.pictures import trusted_leans_deg


def shown_deg(draft):
    """Lean of each triangle as pictures show it."""
    checked: Any = SimpleNamespace(draft=draft)
    return trusted_leans_deg(checked)


def test_walls_at_the_least_draft_are_shown():
    """A wall that leans as little as the least is colored, whatever rounding adds to the least."""
    leans = np.array([3.4999, 3.5001, 20.0, 90.0])
    draft = Draft(
        leans_deg=leans,
        surely_deg=leans + 0.002,
        areas_mm2=np.ones(4),
        least_deg=3.5019,
        triangle=0,
    )

    assert_array_equal(shown_deg(draft), leans)


def test_slivers_that_prove_nothing_are_not_shown():
    """A needle that rounding may have turned by more than the tolerance has no color."""
    draft = Draft(
        leans_deg=np.array([0.5, 5.0, -2.0, np.nan]),
        surely_deg=np.array([40.0, 5.001, -1.9, np.nan]),
        areas_mm2=np.ones(4),
        least_deg=5.001,
        triangle=1,
    )

    assert_array_equal(shown_deg(draft), [np.nan, 5.0, -2.0, np.nan])


def test_every_wall_of_a_cone_is_shown():
    """Of a drafted cone nothing that was measured goes without a color."""
    made = case(frustum(25.3, 23.9, 20.7))
    draft = measure_draft(made, sight(made))

    assert_array_equal(np.isfinite(shown_deg(draft)), np.isfinite(draft.leans_deg))
