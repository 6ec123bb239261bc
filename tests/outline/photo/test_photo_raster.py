"""Rasters are widened, filled and split as slower ways do it."""

from __future__ import annotations

import networkx
import numpy as np
import pytest

from moldgen.outline.photo.raster import filled_in, largest_near, least_near, pieces_of, widened


def slowly(gray, reach, pick):
    """Return the picked value of each square, one by one."""
    framed = np.pad(gray, reach, mode="edge")
    size = 2 * reach + 1
    return np.array(
        [[pick(framed[i : i + size, j : j + size]) for j in range(gray.shape[1])]
         for i in range(gray.shape[0])]
    )  # fmt: skip


@pytest.mark.parametrize("reach", [0, 1, 2, 3, 5])
def test_the_largest_and_least_nearby(reach):
    """They are those of every square, at the border too."""
    gray = np.random.default_rng(1).random((13, 9))

    assert np.array_equal(largest_near(gray, reach), slowly(gray, reach, np.max))
    assert np.array_equal(least_near(gray, reach), slowly(gray, reach, np.min))
    assert np.array_equal(widened(gray > 0.9, reach), slowly(gray > 0.9, reach, np.any))


def joined(mask):
    """Return the sets of pixels that hang together, found by another library."""
    graph = networkx.grid_2d_graph(*mask.shape)
    pixels = [tuple(at) for at in np.argwhere(mask).tolist()]
    return {frozenset(piece) for piece in networkx.connected_components(graph.subgraph(pixels))}


@pytest.mark.parametrize("seed", range(5))
def test_pieces_hang_together_by_the_sides_of_pixels(seed):
    """Each piece has a number of its own, from 1 on."""
    mask = np.random.default_rng(seed).random((17, 23)) < 0.6

    label = pieces_of(mask)

    assert np.array_equal(label > 0, mask)
    found = {
        frozenset(map(tuple, np.argwhere(label == k).tolist())) for k in range(1, label.max() + 1)
    }
    assert found == joined(mask)


def test_an_empty_mask_has_no_pieces():
    """Nothing is numbered."""
    assert not pieces_of(np.zeros((4, 5), bool)).any()


def test_holes_are_filled_smoothly_from_around():
    """A slope goes on across what is unknown, and known pixels stay."""
    slope = np.tile(np.linspace(0.2, 0.8, 61), (41, 1))
    known = np.ones_like(slope, bool)
    known[10:30, 20:40] = False

    full = filled_in(np.where(known, slope, 9.0), known)

    assert np.array_equal(full[known], slope[known])
    assert np.abs(full - slope).max() < 0.08
