"""The benchmarks can be run; how fast anything is, is no test."""

from dataclasses import replace

import pytest
from benchmarks import kept
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
from support.some import some

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


def test_the_loop_is_work():
    """What times are compared with takes some time, and no more than a moment."""
    assert 0.001 < min(kept.loop() for _ in range(3)) < 1.0


def test_every_job_was_kept():
    """Each has a figure with machine, day and version, and its ratio is that of its times."""
    for job in some(kept.JOBS):
        figure = kept.last_kept(job)
        assert figure is not None, job
        assert figure.machine
        assert figure.day
        assert figure.version
        assert figure.ratio == pytest.approx(figure.processor_s / figure.loop_s, rel=0.02, abs=0.02)


@pytest.mark.parametrize("job", ["help", "first picture", "findings"])
def test_no_job_has_become_slow(job):
    """A ratio to the loop more than half as large again as the one kept last is a fault.

    Other work on the machine comes and goes: one of three measurements has to be as quick.
    """
    shares = []
    while len(shares) < 3 and (not shares or shares[-1] > kept.SLOWER):
        shares.append(kept.slowed(kept.measured(job)))

    assert min(shares) <= kept.SLOWER


def test_a_slow_job_is_told(monkeypatch, capsys):
    """A job that takes twice what was kept ends with 1 and its name; half as long is fine."""
    last = kept.last_kept("help")
    assert last is not None
    monkeypatch.setattr(kept, "measured", lambda job: replace(last, ratio=2 * last.ratio))
    assert kept.main(["help"]) == 1
    assert "slower: help" in capsys.readouterr().out
    monkeypatch.setattr(kept, "measured", lambda job: replace(last, ratio=0.5 * last.ratio))
    assert kept.main(["help"]) == 0


def test_figures_are_added_to_those_kept(monkeypatch, tmp_path):
    """What was kept before stays, and the newest of a job counts."""
    copy = tmp_path / "kept.json"
    copy.write_bytes(kept.KEPT.read_bytes())
    monkeypatch.setattr(kept, "KEPT", copy)
    before = kept.kept()
    quicker = replace(before[0], ratio=0.01)

    kept.keep([quicker])

    assert kept.kept() == [*before, quicker]
    assert kept.last_kept(quicker.job) == quicker
