"""Lines that cross too often are told from those that only meet."""

import numpy as np
import pytest
from support.hostile import ended_after, scribble

from moldgen.errors import OutlineError
from moldgen.execution import run_with
from moldgen.limits import Limits
from moldgen.outline.crossing import crossings
from moldgen.outline.region import region_from_points
from moldgen.outline.tangle import refuse_tangled


def comb(n_teeth):
    """Return a zigzag of so many teeth, and a line across all of them."""
    x = np.arange(2 * n_teeth) / 2
    teeth = np.column_stack([x, np.where(np.arange(2 * n_teeth) % 2, 1.0, -1.0)])
    return teeth, np.array([(-1.0, 0.0), (n_teeth + 1.0, 0.0)])


def test_neighbors_are_no_crossings():
    """A long line without a crossing passes, however low the limit is."""
    turn = np.linspace(0, 2 * np.pi, 5000, endpoint=False)

    with run_with(limits=Limits(crossings=1)):
        refuse_tangled([np.column_stack([np.cos(turn), np.sin(turn)])], what="a circle")


@pytest.mark.parametrize(("crossings_allowed", "passes"), [(400_000, True), (1000, False)])
def test_crossings_are_counted_against_the_limit(crossings_allowed, passes):
    """1000 random sides cross about a quarter of a million times."""
    curve = scribble(1000)

    with run_with(limits=Limits(crossings=crossings_allowed)):
        if passes:
            refuse_tangled([curve], what="the outline")
            return
        with pytest.raises(OutlineError, match="the outline crosses itself more than 1,000 times"):
            refuse_tangled([curve], what="the outline")


def test_a_comb_across_a_line_passes():
    """Crossings that grow with the number of sides are those of honest drawings."""
    teeth, line = comb(2000)

    with run_with(limits=Limits(crossings=1)):
        refuse_tangled([teeth, line], what="a comb", closed=False)


@pytest.mark.parametrize("n_corners", [3000, 20_000])
def test_random_corners_are_refused_before_they_fill_the_memory(n_corners):
    """Whether an outline crosses itself too often is known before it is mended."""
    with ended_after(20), pytest.raises(OutlineError, match="crosses itself more than 20,000"):
        region_from_points(scribble(n_corners))
    with ended_after(20), pytest.raises(OutlineError, match="crosses itself more than 20,000"):
        crossings([scribble(n_corners)])
