"""The join tree: fields made by hand, plain twins, and what the cover promises."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.errors import SpecError
from moldgen.solid.height.join_tree import Hill, cover_cells, pockets_of, region_sums

NONE = np.empty((0, 2), np.int64)

fields = st.integers(0, 2**32 - 1).map(
    lambda seed: np.random.default_rng(seed).permutation(108).reshape(9, 12).astype(float) / 4
)


def pocket(cell, peak, saddle, held):
    return Hill(cell=cell, peak=peak, saddle=saddle, held=held)


def neighbors(cell, shape):
    for i in range(cell[0] - 1, cell[0] + 2):
        for j in range(cell[1] - 1, cell[1] + 2):
            if (i, j) != cell and 0 <= i < shape[0] and 0 <= j < shape[1]:
                yield i, j


def swept(field, floor):
    """Return the same tree by sets that are merged, cell by cell from the top."""
    cells = sorted(
        (c for c in np.ndindex(field.shape) if field[c] > floor), key=lambda c: -field[c]
    )
    hills, ended = [], []
    for cell in cells:
        near = [h for h in hills if any(n in h for n in neighbors(cell, field.shape))]
        near.sort(key=lambda h: -max(field[c] for c in h))
        for lesser in near[1:]:
            top = max(lesser, key=lambda c: field[c])
            ended.append(pocket(top, field[top], field[cell], sum(field[c] for c in lesser)))
        hills = [h for h in hills if h not in near] + [set().union({cell}, *near)]
    for hill in hills:
        top = max(hill, key=lambda c: field[c])
        ended.append(pocket(top, field[top], floor, sum(field[c] for c in hill)))
    return sorted(ended, key=lambda p: -p.peak)


def test_two_hills_meet_at_their_saddle():
    """The lesser of two hills ends at the saddle with what it held above; the greater is left."""
    found = pockets_of(np.array([[3.0, 5, 3, 1, 2, 4, 2]]), floor=0.0)

    assert found == (pocket((0, 1), 5, 0, 20), pocket((0, 5), 4, 1, 8))


def test_hills_apart_do_not_meet():
    """With the floor above the saddle each hill is an island of its own, cut off at the floor."""
    found = pockets_of(np.array([[3.0, 5, 3, 1, 2, 4, 2]]), floor=1.0)

    assert found == (pocket((0, 1), 5, 1, 11), pocket((0, 5), 4, 1, 8))


def test_corners_touch():
    """Cells that meet at a corner belong together; air passes there as the sheet is not sharp."""
    field = np.zeros((4, 4))
    field[1, 1], field[2, 2] = 3.0, 2.0

    assert pockets_of(field, floor=0.5) == (pocket((1, 1), 3, 0.5, 5),)


def test_three_hills_end_at_their_own_saddles():
    """Three hills in a row end in the order of their meeting, each with its own saddle."""
    found = pockets_of(np.array([[9.0, 6, 8, 2, 7]]), floor=0.0)

    assert found == (pocket((0, 0), 9, 0, 32), pocket((0, 2), 8, 6, 8), pocket((0, 4), 7, 2, 7))


def test_three_hills_meet_at_one_place():
    """Hills that meet in one saddle each end with their own volume, whatever comes first."""
    field = np.zeros((3, 3))
    field[0, 0], field[0, 2], field[2, 1], field[1, 1] = 4.0, 3.0, 9.0, 1.0

    assert pockets_of(field, floor=0.5) == (
        pocket((2, 1), 9, 0.5, 17),
        pocket((0, 0), 4, 1, 4),
        pocket((0, 2), 3, 1, 3),
    )


def test_a_plateau_is_one_pocket():
    """A level top is one pocket, at its first cell; nothing above the floor is none."""
    field = np.zeros((5, 6))
    field[1:4, 2:5] = 2.0

    assert pockets_of(field, floor=1.0) == (pocket((1, 2), 2, 1, 18),)
    assert pockets_of(field, floor=2.0) == ()


@given(fields, st.floats(0, 20))
@settings(max_examples=25, deadline=None)
def test_twin_merged_sets(field, floor):
    """The compiled sweep and merged sets of cells give the same pockets."""
    found, twin = pockets_of(field, floor=floor), swept(field, floor)

    assert [p.cell for p in found] == [p.cell for p in twin]
    np.testing.assert_allclose([p.saddle for p in found], [p.saddle for p in twin])
    np.testing.assert_allclose([p.held for p in found], [p.held for p in twin])


@given(fields)
@settings(max_examples=20, deadline=None)
def test_turning_turns_the_pockets(field):
    """A quarter turn of the field gives the same peaks, saddles and volumes, turned."""
    plain, turned = (pockets_of(f, floor=9.0) for f in (field, np.rot90(field).copy()))

    back = [(row, field.shape[1] - 1 - column) for row, column in (p.cell[::-1] for p in turned)]
    assert back == [p.cell for p in plain]
    np.testing.assert_allclose([p.held for p in turned], [p.held for p in plain])


@given(fields, st.floats(0, 24))
@settings(max_examples=20, deadline=None)
def test_every_local_peak_is_one_pocket(field, floor):
    """Each cell above the floor without a greater neighbor is the end of exactly one pocket."""
    peaks = {
        cell
        for cell in np.ndindex(field.shape)
        if field[cell] > floor
        and all(field[other] < field[cell] for other in neighbors(cell, field.shape))
    }

    assert {p.cell for p in pockets_of(field, floor=floor)} == peaks


def regions(field, floor):
    """Return the number of each connected region above the floor by flood filling."""
    number = np.full(field.shape, -1)
    for n, cell in enumerate(np.ndindex(field.shape)):
        stack = [cell] if field[cell] > floor and number[cell] < 0 else []
        while stack:
            here = stack.pop()
            if number[here] < 0:
                number[here] = n
                stack += [c for c in neighbors(here, field.shape) if field[c] > floor]
    return number


@given(fields, st.floats(5, 24), st.floats(0.5, 6))
@settings(max_examples=25, deadline=None)
def test_cover_leaves_no_low_cell_far(field, floor, reach):
    """Every cell above the floor is within reach of a chosen one in its own region."""
    chosen = cover_cells(field, floor=floor, taken=NONE, reach=reach)
    number = regions(field, floor)

    assert (len(chosen) > 0) == (field > floor).any()
    for cell in zip(*np.nonzero(field > floor), strict=True):
        near = [c for c in chosen if number[tuple(c)] == number[cell]]
        assert min(np.hypot(*(c - np.array(cell))) for c in near) <= reach
    for k, cell in enumerate(chosen):  # and none was chosen that was covered already
        for other in chosen[:k]:
            if number[tuple(other)] == number[tuple(cell)]:
                assert np.hypot(*(other - cell)) > reach


def test_cover_knows_what_is_taken():
    """Cells near a place already chosen need no other; another region does."""
    field = np.array([[5.0, 4, 3, 0, 2, 2.5, 2]])
    taken = np.array([[0, 1]])

    chosen = cover_cells(field, floor=1.0, taken=taken, reach=10.0)
    assert chosen.tolist() == [[0, 5]]
    assert cover_cells(field, floor=1.0, taken=NONE, reach=1.0).tolist() == [[0, 0], [0, 2], [0, 5]]


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_bad_input(bad):
    """A field with a hole in it is refused in words."""
    with pytest.raises(SpecError, match="field must be finite everywhere"):
        pockets_of(np.array([[1.0, bad]]), floor=0.0)
    with pytest.raises(SpecError, match="field must be finite everywhere"):
        cover_cells(np.array([[1.0, bad]]), floor=0.0, taken=NONE, reach=1.0)


def test_region_sums_add_up_each_island_on_its_own():
    """Two islands above the floor have their own sums; a corner joins; below the floor is 0."""
    field = np.array([[2.0, 0.0, 0.0, 0.0], [0.0, 3.0, 0.0, 5.0], [0.0, 0.0, 0.5, 0.0]])

    sums = region_sums(field, floor=1.0)

    np.testing.assert_array_equal(sums, [[5, 0, 0, 0], [0, 5, 0, 5], [0, 0, 0, 0]])
    assert region_sums(field[1:], floor=1.0)[0, 1] == 3.0
