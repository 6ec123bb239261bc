"""What a sheet sees of a heater in walls that reflect, against rays that are followed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.errors import SpecError
from moldgen.physics.heat.radiation import facing_view_factor, point_view_factor
from moldgen.physics.heat.side_walls import WalledHeater

FEW = settings(max_examples=20, deadline=None)
SIDE = st.floats(50, 600)
GAP = st.floats(40, 300)


def walled(wide=300.0, deep=200.0, *, gap=100.0, reflection=0.7, box=None):
    """Return a heater that fills its box, unless another box is given."""
    heater = (wide, deep)
    return WalledHeater(heater_mm=heater, box_mm=box or heater, gap_mm=gap, reflection=reflection)


def traced(one, x_mm, y_mm, n=120):
    """Return the view of a point by following rays from wall to wall up to the heater's plane."""
    u, v = (
        grid.ravel() for grid in np.meshgrid((np.arange(n) + 0.5) / n, (np.arange(n) + 0.5) / n)
    )
    radius, turn = np.sqrt(u), 2 * np.pi * v  # as many rays as a gray face sends out each way
    way = np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    left = one.gap_mm * np.ones(len(u))  # height still to climb
    climb = np.sqrt(1 - radius**2)
    place = np.tile([x_mm, y_mm], (len(u), 1)).astype(float)
    half, bright = np.array(one.box_mm) / 2, np.ones(len(u))
    for _ in range(200):
        with np.errstate(divide="ignore", invalid="ignore"):
            to_wall = np.where(way == 0, np.inf, (np.sign(way) * half - place) / way)
        hits = to_wall.argmin(axis=1)
        step = np.minimum(to_wall.min(axis=1), left / climb)
        place += step[:, None] * way
        left = left - step * climb
        below = left > 1e-9
        if not below.any():
            break
        bright[below] *= one.reflection
        way[below, hits[below]] *= -1
    seen = (np.abs(place) <= np.array(one.heater_mm) / 2 + 1e-9).all(axis=1)
    return float((bright * seen).mean())


@pytest.mark.parametrize("reflection", [0.3, 0.7, 0.9])
@pytest.mark.parametrize("place_mm", [(0, 0), (100, 60), (140, -90)])
def test_images_are_what_rays_find(reflection, place_mm):
    """Rays followed from wall to wall see as much of the heater; in walls a little duller less."""
    one = walled(reflection=reflection)

    assert one.seen_at(*place_mm) == pytest.approx(traced(one, *place_mm), abs=0.006)
    duller = walled(reflection=reflection - 0.15)
    assert duller.seen_at(*place_mm) < traced(one, *place_mm) - 0.012


def test_a_heater_smaller_than_its_box_is_seen_as_rays_find():
    """Walls that stand off the heater show it with gaps between."""
    one = walled(200.0, 120.0, box=(300.0, 240.0), reflection=0.8)

    assert one.seen_at(70, 40) == pytest.approx(traced(one, 70, 40), abs=0.006)
    assert walled(200.0, 120.0, reflection=0.8).seen_at(70, 40) > one.seen_at(70, 40) + 0.05


@FEW
@given(SIDE, SIDE, GAP)
def test_perfect_mirrors_show_nothing_but_heater(wide, deep, gap):
    """Nothing is lost: a corner sees as much as the middle, all of its view; dull walls do not."""
    one = walled(wide, deep, gap=gap, reflection=1.0)

    for x, y in ((0, 0), (wide / 2, deep / 2), (wide / 4, 0)):
        # What is left out beyond the farthest image: the gap over its distance, squared.
        assert one.seen_at(x, y) == pytest.approx(
            1.0, abs=1.5 * (gap / (39 * min(wide, deep))) ** 2
        )
    assert walled(wide, deep, gap=gap).seen_at(wide / 2, deep / 2) < 0.97


@FEW
@given(SIDE, SIDE, GAP)
def test_walls_that_reflect_nothing_are_none(wide, deep, gap):
    """Then, and very nearly with hardly any reflection, it is the bare heater."""
    bare, dull = (walled(wide, deep, gap=gap, reflection=share) for share in (0.0, 1e-6))

    assert bare.seen_at(20, 10) == point_view_factor(20, 10, (wide, deep), gap)
    assert dull.seen_at(20, 10) == pytest.approx(bare.seen_at(20, 10), rel=1e-4)
    assert bare.seen_over((60, 40)) == facing_view_factor((60, 40), (wide, deep), gap)
    assert dull.seen_over((60, 40)) == pytest.approx(bare.seen_over((60, 40)), rel=1e-4)


def test_the_mean_is_that_of_the_points():
    """Over the sheet, as a sum of many points; over a smaller one it is more."""
    one, sheet = walled(), (260.0, 160.0)
    xs, ys = ((np.arange(16) + 0.5) / 16 * side - side / 2 for side in sheet)
    mean = np.mean([one.seen_at(x, y) for x in xs for y in ys])

    assert one.seen_over(sheet) == pytest.approx(mean, rel=2e-3)
    assert one.seen_over((100.0, 60.0)) > one.seen_over(sheet) + 0.01


@FEW
@given(st.floats(0.05, 0.9), SIDE, GAP)
def test_brighter_walls_make_it_more_even(reflection, side, gap):
    """A corner gains more than the middle."""
    dull, bright = (walled(side, side, gap=gap, reflection=share) for share in (reflection, 0.95))
    corner = side / 2

    assert bright.seen_at(0, 0) > dull.seen_at(0, 0)
    assert bright.seen_at(corner, corner) / bright.seen_at(0, 0) > (
        dull.seen_at(corner, corner) / dull.seen_at(0, 0)
    )


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: walled(reflection=1.1), "reflection must be at least 0 and at most 1"),
        (lambda: walled(gap=0), "gap_mm must be more than 0"),
        (lambda: walled(box=(299.0, 200.0)), "box_mm must be at least 300 mm"),
        (lambda: walled(0.0), "heater_mm must be more than 0"),
    ],
)
def test_impossible_walls_are_refused(call, says):
    """One sentence that names the number and its rule."""
    with pytest.raises(SpecError, match=says):
        call()
