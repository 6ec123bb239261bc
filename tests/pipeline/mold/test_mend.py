"""Mending: each cure helps, nothing graver comes of it, and the smallest change is found."""

from functools import cache
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.some import some

import moldgen as mg
from moldgen.finding import Remedy, Severity
from moldgen.memo import Memo
from moldgen.pipeline.mold import mend as mending
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.mold.cured import cured_jobs
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.judge import Depth, OwnJudge
from moldgen.pipeline.mold.mend import mend
from moldgen.pipeline.mold.quality import Quality
from moldgen.pipeline.setting import setting_of
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
KEPT = Memo(2**27)
FEW = settings(max_examples=5, deadline=None)


def findings_of(job):
    """Return what is said of a job, as a preview sees it."""
    design = design_mold(job, folder=Path(), shop=SHOP, quality=Quality.PREVIEW, memo=KEPT)
    return design.mold.findings


def grave(findings, severity=None):
    """Return the cautions and stops, or those of one kind."""
    return [
        one for one in findings
        if one.severity is not Severity.NOTE and severity in (None, one.severity)
    ]  # fmt: skip


@cache
def mended(words, **said):
    """Return a sign, mended."""
    return mend(mg.sign(words, **said), folder=Path(), shop=SHOP, memo=KEPT)


def signs():
    """Signs of few letters, many of them with reliefs too deep or sheets too thick."""
    return st.builds(
        lambda words, height_mm, relief_mm, gauge_mm: mg.sign(
            words, letter_height_mm=height_mm, relief_mm=relief_mm, gauge_mm=gauge_mm
        ),
        st.sampled_from(["SLIP", "OARS", "Tern", "WINCH"]),
        st.floats(14, 40),
        st.floats(2, 12),
        st.sampled_from([0.5, 0.75, 1.0, 1.5, 2.0]),
    )


def trays():
    """Trays, many of them deep for their width, or too large for bed or table."""
    return st.builds(
        lambda length_mm, share, depth_mm, gauge_mm: mg.tray(
            length_mm, share * length_mm, depth_mm, gauge_mm=gauge_mm
        ),
        st.floats(40, 180),
        st.floats(0.4, 1.0),
        st.floats(10, 70),
        st.sampled_from([0.75, 1.5, 3.0]),
    )


def shapes():
    """Shapes of the library, many of them with gaps too narrow for their height."""
    return st.builds(
        lambda shape, width_mm, height_mm, gauge_mm: mg.drawing(
            shape=shape, width_mm=width_mm, height_mm=height_mm, gauge_mm=gauge_mm
        ),
        st.sampled_from(["anchor", "gear", "snowflake", "key", "crown"]),
        st.floats(50, 180),
        st.floats(4, 40),
        st.sampled_from([0.75, 1.5, 3.0]),
    )


@FEW
@given(signs())
def test_a_finding_s_own_cure_helps_a_sign(job):
    """Applied, each cure removes its finding or lessens it, and adds no graver one."""
    assert_cures_help(job)


@settings(FEW, max_examples=4)
@given(st.one_of(trays(), shapes()))
def test_a_finding_s_own_cure_helps_a_tray_or_a_shape(job):
    """The same of recesses and of outlines of every kind."""
    assert_cures_help(job)


def assert_cures_help(job):
    """Apply each cure of each grave finding by itself, and compare."""
    job = choose(job, setting=setting_of(job, SHOP), folder=Path()).job
    before = findings_of(job)
    tries = [
        (finding, cure, changed)
        for finding in grave(before)
        for cure in finding.cures
        for changed, _ in cured_jobs(job, finding, cure, shop=SHOP)
    ]
    assume(tries)
    for finding, cure, changed in some(tries):
        after = findings_of(changed)
        same = [one for one in grave(after) if one.code == finding.code]
        assert len(same) <= sum(one.code == finding.code for one in grave(before))
        if same and finding.limit:
            assert miss(same[0]) < miss(finding)
        # Larger letters may no longer fit the bed: that is another cure's price.
        if cure.field is not Remedy.SIZE:
            assert len(grave(after, Severity.STOP)) <= len(grave(before, Severity.STOP))


def miss(finding):
    """Return by what share of its limit a finding misses it."""
    return abs(finding.measured - finding.limit) / finding.limit


def test_a_relief_too_deep_is_lowered_and_nothing_else():
    """One change clears it, named so that it can be refused; what is refused stays."""
    found = mended("SLIPWAY", letter_height_mm=20, relief_mm=9, gauge_mm=1.0)
    kept = mend(
        mg.sign("SLIPWAY", letter_height_mm=20, relief_mm=9, gauge_mm=1.0),
        folder=Path(), shop=SHOP, refuse=["letters.height"], memo=KEPT,
    )  # fmt: skip

    assert grave(found.before)[0].code == "gap-narrow"
    assert [one.name for one in found.changes] == ["letters.height"]
    assert found.is_clear
    assert not grave(findings_of(found.job))
    assert found.job.body[0].raised[0].height_mm < 9
    assert kept.job.body[0].raised[0].height_mm == 9
    assert "letters.height" not in [one.name for one in kept.changes]


def test_what_needs_no_mending_is_left_as_it_is():
    """A job of which nothing grave is said comes back with what it left open chosen."""
    job = mg.sign("PIER 4")
    found = mended("PIER 4")

    assert found.changes == ()
    assert found.is_clear
    assert found.job == choose(job, setting=setting_of(job, SHOP), folder=Path()).job


def test_where_nothing_clears_the_nearest_ways_are_told():
    """Letters of a size that stays, too large for table and printers: ways that begin otherwise."""
    job = mg.sign("OAR", letter_height_mm=150, gauge_mm=1.0)
    found = mend(job, folder=Path(), shop=SHOP, refuse=["letters.size"], memo=KEPT)

    assert not found.is_clear
    assert 1 <= len(found.ways) <= 2
    starts = [changes[0].name for changes, _ in found.ways]
    assert len(set(starts)) == len(starts)


def test_what_soon_is_seen_is_part_of_what_is_said():
    """The best that a try can be is no worse than what it is: so no better one is passed over."""
    judge = OwnJudge(folder=Path(), shop=SHOP, memo=KEPT)
    jobs = [
        choose(job, setting=setting_of(job, SHOP), folder=Path()).job
        for job in (
            mg.sign("SLIP", letter_height_mm=20, relief_mm=9, gauge_mm=1.0),
            mg.tray(180, 120, 70, gauge_mm=0.75),
            mg.drawing(shape="gear", width_mm=60, height_mm=30),
        )
    ]
    soon, whole = (judge.said(jobs, depth) for depth in (Depth.OUTLOOK, Depth.WHOLE))
    ranks = []
    for job, seen, said in zip(jobs, soon, whole, strict=True):
        assert isinstance(seen, tuple)
        assert isinstance(said, tuple)
        tries = [mending.Try(job=job, changes=(), findings=one) for one in (seen, said)]
        ranks.append((tries[0].least_rank, tries[1].rank))

    assert all(least <= rank for least, rank in ranks)
    assert sum(least[:2] > (0, 0) for least, _ in ranks) >= 2


@pytest.mark.parametrize("refuse", [[], ["letters.height", "letters.size"]])
def test_what_is_left_unbuilt_would_not_have_been_chosen(monkeypatch, refuse):
    """With every try built the same changes are chosen, and the same ways told."""
    job = mg.sign("OAR", letter_height_mm=20, relief_mm=9, gauge_mm=1.0)
    quick = mend(job, folder=Path(), shop=SHOP, refuse=refuse, memo=KEPT)
    nothing = property(lambda tried: (0, 0, 0.0, 0.0))
    monkeypatch.setattr(mending.Try, "least_rank", nothing)
    thorough = mend(job, folder=Path(), shop=SHOP, refuse=refuse, memo=KEPT)

    assert quick == thorough
    assert grave(quick.before)


def test_the_interface_mends_as_the_command_does():
    """The same changes, and a refusal of what is no job."""
    found = mg.mend(mg.sign("SLIPWAY", letter_height_mm=20, relief_mm=9, gauge_mm=1.0))
    same = mended("SLIPWAY", letter_height_mm=20, relief_mm=9, gauge_mm=1.0)

    assert found.changes == same.changes
    with pytest.raises(mg.SpecError, match="job must be a job of a mold"):
        mg.mend("SLIPWAY")  # type: ignore[arg-type]
