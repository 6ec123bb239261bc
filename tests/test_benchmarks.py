"""The benchmarks can be run; how fast anything is, is no test."""

import pytest
from benchmarks.clock import installed, median_s, one_core, run_command
from benchmarks.other_ways import by_level_set, by_loft, by_minkowski, deviation_mm
from benchmarks.subjects import (
    bodies_of,
    letter_t,
    raised,
    rounded_block,
    scanned_hull,
    word_region,
)
from shapely import MultiPolygon

from moldgen.solid.topology import topology_of


def test_times_are_positive():
    """Even nothing takes time, and the first round is not counted."""
    rounds = []

    with one_core():
        assert median_s(lambda: rounds.append(1), times=3) > 0
    assert len(rounds) == 4


def test_a_command_is_timed():
    """Help ends well, in some time."""
    ran = run_command(["--version"])

    assert ran.wall_s > 0
    assert ran.peak_MB is None or ran.peak_MB > 1


def test_a_command_may_keep_its_bytecode(monkeypatch):
    """What keeps a checkout free of bytecode is not what an installed program meets."""
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    monkeypatch.setenv("HARBOUR", "open")

    assert "PYTHONDONTWRITEBYTECODE" not in installed()
    assert installed()["HARBOUR"] == "open"


def test_the_word_becomes_one_solid():
    """Ten letters are one feature of ten pieces."""
    region = word_region()

    assert len(region.geoms) == 10
    assert len(bodies_of(raised(region))) == 1


@pytest.mark.parametrize("region", [rounded_block(), letter_t()], ids=["block", "T"])
def test_all_ways_lead_to_the_same_solid(region):
    """The loft lies within its chord tolerance of the section, the others near it."""
    assert deviation_mm(by_loft(region), region) <= 0.011
    if region.geoms[0].convex_hull.area < 1.01 * region.area:  # quick only if convex
        assert deviation_mm(by_minkowski(region), region) <= 0.05
    assert deviation_mm(by_level_set(region, edge_mm=2.0), region) <= 0.5


def test_the_deviation_can_tell_a_wrong_wall():
    """A solid of another outline is not near the section."""
    region = rounded_block()
    wider = MultiPolygon([region.buffer(0.3)])

    off = deviation_mm(by_loft(wider), region)

    assert off == pytest.approx(0.3, abs=0.03)


def test_the_scan_is_a_closed_solid():
    """A coarse one closes, faces outward and is as wide as it says."""
    hull = scanned_hull(30, 20, 1.0)

    assert topology_of(hull).closed
    assert hull.volume_mm3 > 0
    assert hull.bounds_mm[:, :2].tolist() == [[-15, -10], [15, 10]]
