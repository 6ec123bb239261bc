"""A design computes the stages that are asked for, and again only what a change reaches."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from conftest import ROOT
from support.some import some

import moldgen as mg
from moldgen.errors import CancelError
from moldgen.execution import Cancel, run_with
from moldgen.job import FormingLook, Job, load_job
from moldgen.memo import Memo
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.quality import Quality
from moldgen.pipeline.mold.stages import STAGES
from moldgen.solid.loft import island
from moldgen.solid.topology import topology_of
from moldgen.stock import load_shop
from moldgen.stock.experience import Experience, NoteEstimate, TableExperience

SHOP = load_shop(user_file=None)
FROM_VENTS = {
    "vented", "air", "cut", "survey", "checked", "place_names", "ready", "day", "mold",
}  # fmt: skip


@pytest.fixture(scope="module")
def sign():
    """Return the job of a short sign."""
    return mg.sign("TIE")


@pytest.fixture(scope="module")
def memo(sign):
    """Return a memo that holds everything of the sign."""
    kept = Memo(2**28)
    _ = _design(sign, kept).mold
    return kept


@pytest.fixture
def ran(monkeypatch):
    """Count the stages that are computed."""
    counts = Counter()

    def count(name, plain):
        def counting(**needed):
            counts[name] += 1
            return plain(**needed)

        monkeypatch.setitem(STAGES.stages, name, counting)

    for name, plain in some(list(STAGES.stages.items())):
        count(name, plain)
    return counts


def _design(job, memo=None, quality=Quality.FINAL, **more):
    return design_mold(job, folder=Path(), shop=SHOP, memo=memo, quality=quality, **more)


def test_the_first_picture_needs_outlines_and_walls_alone(sign, ran):
    """Asking for the walls computes no vent, no check, no day."""
    design = _design(sign, quality=Quality.PREVIEW)

    assert len(design.raw.mesh.triangles) > 1000
    assert set(ran) == {"features", "raw"} == design.computed()


def test_every_stage_is_computed_once(sign, ran):
    """However many stages need it, each runs once; a sign without a run reads off none."""
    _ = _design(sign).mold

    assert set(ran.values()) == {1}
    assert set(STAGES.stages) - set(ran) == {"rules", "draws", "outlook"} - set(ran)


def test_the_same_job_again_reads_outlines_alone(sign, memo, ran):
    """Nothing is computed but what its content tells apart, and the result is the same object."""
    assert _design(sign, memo).mold is _design(sign, memo).mold
    assert set(ran) == STAGES.by_content


def test_notes_of_parts_reach_no_solid(sign, memo, ran):
    """Cooling, thickness, hours and lives of the log compute anew what is told, and no more."""
    ratio = NoteEstimate(value=1.3, low=1.1, high=1.5, n_notes=4, spread=1.4)
    known = TableExperience(
        machine=SHOP.machine(sign.machine).name, cooling=ratio, thickness=ratio, printing=ratio
    )
    plain = _design(sign, memo)
    noted = design_mold(
        sign, folder=Path(), shop=replace(SHOP, experience=Experience(tables=(known,))), memo=memo
    )

    assert noted.day.cool_s == pytest.approx(1.3 * plain.day.cool_s)
    assert noted.mold.bodies is plain.mold.bodies
    assert set(ran) <= {
        *STAGES.by_content, "corrected_sheet", "foreseen", "checked", "place_names", "ready", "day",
        "mold",
    }  # fmt: skip


CHANGES = {
    "another filament": (
        lambda job: replace(job, filament="PLA"),
        {
            "stiff_s", "vented", "air", "cut", "survey", "checked", "place_names", "printed",
            "ready", "day", "mold",
        },
    ),
    "another title": (
        lambda job: replace(job, title="Quay"), {"underside_request", *FROM_VENTS},
    ),
    "vents elsewhere": (
        lambda job: replace(job, vents=replace(job.vents, spacing_mm=17.0)),
        FROM_VENTS,
    ),
    "other cuts": (
        lambda job: replace(job, trim=replace(job.trim, flange_mm=11.0)),
        {"trim_plan", "trim_line", "kept_foot", "formed", "corrected_sheet", "foreseen", "mold"},
    ),
    "a forming run": (
        lambda job: replace(job, forming=replace(job.forming, look=FormingLook.PREVIEW)),
        {
            "forming_run", "hasty_run", "quick_run", "formed", "corrected_sheet", "foreseen",
            "stiff_s", *FROM_VENTS,
        },
    ),
    "a least thickness": (
        lambda job: replace(job, forming=replace(job.forming, least_mm=0.4)),
        {"checked", "place_names", "ready", "day", "mold"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_is_computed_no_farther_than_it_reaches(sign, memo, ran, change):
    """Walls stay whatever does not move them, and so on down the graph."""
    changed, reached = CHANGES[change]

    _ = _design(changed(sign), memo).mold

    assert set(ran) <= {*STAGES.by_content, *reached}
    assert "raw" not in ran
    assert len(ran) > 1


def test_another_letter_leaves_the_others_as_they_are(sign):
    """Of a sign with one other letter, the walls of that letter and of the plaque are built."""
    island.KEPT.clear()
    _ = _design(sign).raw
    before = island.KEPT.misses

    _ = _design(mg.sign("TIM"), Memo(2**28)).raw

    assert island.KEPT.misses - before <= 2


@pytest.mark.parametrize("job", ["TIE", "tide-sign.toml"])
def test_what_is_kept_changes_no_byte(job):
    """With walls of letters kept or built anew, alone or after others, the bodies are the same."""
    words = mg.sign(job) if job == "TIE" else load_job(ROOT / "examples" / job)
    assert isinstance(words, Job)

    def built():
        return _design(words).raw.mesh

    island.KEPT.clear()
    alone = built()
    kept = built()
    island.KEPT.clear()
    _ = _design(mg.sign("EIT")).raw
    after = built()

    for other in (kept, after):
        assert np.array_equal(alone.points_mm, other.points_mm)
        assert np.array_equal(alone.triangles, other.triangles)


def test_a_preview_is_the_mold_but_for_its_chords_and_underside(sign):
    """It is closed, as large, with vents at the same places, and lighter."""
    seen, final = _design(sign, quality=Quality.PREVIEW), _design(sign)

    assert topology_of(seen.raw.mesh).closed
    assert len(seen.raw.mesh.triangles) < 0.75 * len(final.raw.mesh.triangles)
    np.testing.assert_allclose(seen.raw.mesh.bounds_mm, final.raw.mesh.bounds_mm, atol=0.01)
    assert seen.raw.mesh.volume_mm3 == pytest.approx(final.raw.mesh.volume_mm3, rel=0.003)
    assert seen.checked.bodies[0].mesh is seen.raw.meshes[0]
    assert final.checked.bodies[0].mesh is not final.raw.meshes[0]
    ours, theirs = (
        np.array([(vent.x_mm, vent.y_mm) for vent in design.checked.vents.vents])
        for design in (seen, final)
    )
    assert len(ours) == len(theirs) > 0
    nearest = np.linalg.norm(ours[:, None] - theirs, axis=2).min(axis=1)
    # Of two bays that hold as much air either may get the vent.
    assert np.sort(nearest)[-2] < 0.5


def test_progress_tells_stages_that_only_go_on(sign):
    """Each stage says which of how many it is and what it does, and none goes back."""
    said = []

    _ = _design(sign, progress=said.append).mold

    assert [str(stage) for stage in said] == [
        "1/6 reading outlines", "2/6 building the walls", "3/6 placing vents", "4/6 checking",
    ]  # fmt: skip
    assert all(0 <= stage.share <= 1 for stage in said)


def test_a_design_that_is_stopped_computes_nothing_more(sign, ran):
    """A request between two stages ends it, and what was computed is still there."""
    stop = Cancel()
    design = _design(sign)

    with run_with(cancel=stop):
        walls = design.raw
        stop.request()
        assert design.raw is walls
        with pytest.raises(CancelError):
            _ = design.checked

    assert set(ran) == {"features", "raw"}
