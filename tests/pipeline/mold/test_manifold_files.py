"""What is written to a file is bounded by edges of two triangles, also in single precision."""

import random

import numpy as np
import pytest
from support.some import some

from moldgen.cli.app import main

TRAY = """
title = "Tray"
[[body]]
name = "tray"
height = {height}
outline = {{ shape = "{shape}", width = {width} }}
[[body.sunk]]
name = "compartments"
depth = {depth}
outline = {{ grid = "{grid}", gap = {gap}, inset = 3 }}
"""
TOUCHING = {"shape": "d-tray", "width": 170, "height": 8, "grid": "4 x 2", "gap": 5, "depth": 4}
"""Its channels meet in a corner once they are rounded."""


def random_tray(seed):
    """Return the numbers of a tray by chance."""
    rng = random.Random(seed)
    return {
        "shape": rng.choice(["d-tray", "octagon-tray", "rounded-plaque"]),
        "width": rng.randint(100, 150),
        "height": rng.choice([8, 10, 12]),
        "grid": f"{rng.randint(1, 3)} x {rng.randint(1, 2)}",
        "gap": rng.choice([5, 6, 8]),
        "depth": rng.choice([3, 4, 5]),
    }


def triangles_of_edges(stl):
    """Return how many triangles each edge of a binary STL has, equal corners being one."""
    layout = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    corners = np.frombuffer(stl[84:], layout)["corners"].reshape(-1, 3) + np.float32(0)
    _, number = np.unique(corners, axis=0, return_inverse=True)
    triangles = number.reshape(-1, 3)
    edges = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2), axis=2)
    return np.unique(edges.reshape(-1, 2), axis=0, return_counts=True)[1]


@pytest.mark.parametrize("tray", [TOUCHING, *map(random_tray, range(2))])
def test_every_edge_has_two_triangles(tmp_path, tray):
    """Channels, bores and marks of a tray leave no edge of four, and none of one."""
    (tmp_path / "tray.toml").write_text(TRAY.format(**tray))
    words = ["make", str(tmp_path / "tray.toml"), "--formats", "stl", "--quiet"]

    assert main([*words, "--out", str(tmp_path / "out")]) in (0, 1)

    stls = some(sorted((tmp_path / "out").glob("*.stl")))
    counts = np.concatenate([triangles_of_edges(path.read_bytes()) for path in stls])
    assert len(counts) > 1000
    assert set(counts.tolist()) == {2}
