"""All questions asked at once, of molds of our own and of whatever a person brings."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point
from shapely import box as rectangle
from support.check_solids import (
    HIPS,
    SHOP,
    block,
    box,
    case,
    codes,
    cut,
    cylinder,
    drafted,
    flipped,
    frustum,
    joined,
    lathe,
    loose,
    mesh,
    moved,
    pyramid,
    turned,
)
from support.some import some

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity, sentence
from moldgen.mold.build import build_raw_mold
from moldgen.mold.checks import Case, check_all, grouped
from moldgen.mold.checks.draft import check_draft, measure_draft
from moldgen.mold.checks.sight import sight
from moldgen.mold.features import Feature, Wall
from moldgen.solid.mesh import Body, Mesh


def tray(**more):
    """Return the case of a round bait tray and its plan."""
    wall = Wall(height_mm=20, draft_deg=5, top_radius_mm=2, base_radius_mm=0)
    feature = Feature(
        name="bait tray", region=MultiPolygon([Point(0, 0).buffer(50, quad_segs=32)]), wall=wall
    )
    raw = build_raw_mold([feature])
    return case(*raw.meshes, plan=raw.plans, **more)


def test_good_mold_has_no_findings():
    """A round tray with draft and radii, small enough for the table, is in order."""
    checked = check_all(tray())

    assert checked.findings == ()
    assert checked.draft.least_deg == pytest.approx(5, abs=0.1)
    assert checked.draft.leans_deg.shape == (len(tray().bodies[0].mesh.triangles),)
    assert [draw.name for draw in checked.draws] == ["", "bait tray"]
    assert checked.topologies[0].euler == 2
    assert checked.undercuts == ()


def test_answers_are_the_same_every_time():
    """The same mold gives the same findings and the same numbers, byte by byte."""
    made = [check_all(case(cut(drafted(60, 58, 30), cylinder(4, -1, 40)))) for _ in range(2)]

    assert made[0].findings == made[1].findings
    assert made[0].draft.leans_deg.tobytes() == made[1].draft.leans_deg.tobytes()
    assert made[0].rounds.radii_mm.tobytes() == made[1].rounds.radii_mm.tobytes()


@pytest.mark.parametrize(
    ("solid", "code"),
    [
        (Mesh(box(60, 60, 20).points_mm, box(60, 60, 20).triangles[:-2]), "mesh-open"),
        (flipped(pyramid(60, 50, 20)), "mesh-inside-out"),
        (joined(box(30, 30, 20), box(30, 30, 20, (30, 30, 0))), "mesh-touching"),
        (joined(pyramid(30, 25, 9), moved(pyramid(30, 25, 9), by=(60, 0, 0))), "mesh-pieces"),
        (mesh([(0, 0, 0), (9, 0, 0), (0, 9, 0)], [(0, 1, 2)]), "mesh-open"),
        (mesh([(0, 0, 0), (9, 0, 0), (5, 0, 0)], [(0, 1, 2)]), "mesh-open"),
        (lathe([(30, 0), (38, 9), (30, 18), (22, 9)]), "undercut"),
    ],
    ids=["open box", "inside out", "self-touching", "two pieces", "sheet", "line", "ring"],
)
@pytest.mark.parametrize("side", ["male", "female"])
def test_whatever_a_person_brings_is_answered(solid, code, side):
    """No mesh, however broken, stops the questions; what is wrong is told in sentences."""
    checked = check_all(case(loose(solid), side=side))

    assert code in codes(checked.findings)
    assert all(sentence(finding) and finding.basis for finding in checked.findings)
    assert all(finding.advice.endswith(".") for finding in checked.findings)


def test_gravest_finding_comes_first():
    """Findings are ranked: what stops stands first."""
    grades = [f.severity for f in check_all(case(box(260, 30, 130))).findings]

    assert grades == sorted(grades, key=["stop", "caution", "note"].index)
    assert grades[0] is Severity.STOP


def test_inside_out_mold_is_measured_as_if_mended():
    """Turning a mold inside out adds one finding and changes no number."""
    right = check_all(case(pyramid(60, 50, 20)))
    wrong = check_all(case(flipped(pyramid(60, 50, 20))))

    assert codes(wrong.findings) == ["mesh-inside-out", *codes(right.findings)]
    assert wrong.draft.least_deg == right.draft.least_deg
    assert wrong.draws == right.draws


def test_places_are_told_as_the_mesh_was_brought():
    """Under another draw direction, places are still those of the file."""
    lying = turned(frustum(20, 25, 30), 0)  # its axis, and the draw direction, along y
    checked = check_all(case(lying, draw_direction=(0, 2, 0)))
    (undercut,) = checked.undercuts

    assert undercut.where_mm[1] == pytest.approx(0, abs=1e-9)
    assert np.hypot(undercut.where_mm[0], undercut.where_mm[2]) == pytest.approx(20)
    assert checked.draft.least_deg < -9


def test_stated_draft_that_got_lost_is_told():
    """A wall built steeper than its plan says is told against the plan."""
    made = tray()
    stated = replace(made.plan[0], wall=replace(made.plan[0].wall, draft_deg=6.0))
    other = Case(
        bodies=made.bodies, sheet=made.sheet, machine=made.machine, printer=made.printer,
        plan=(stated,),
    )  # fmt: skip
    seen = sight(other)
    (finding,) = check_draft(other, seen, measure_draft(other, seen))

    assert (finding.code, finding.limit) == ("draft-lost", 6.0)
    assert finding.measured == pytest.approx(5, abs=0.1)
    assert finding.subject == "bait tray"


def test_drafts_are_those_of_their_feature():
    """A steep letter on a well-drafted plaque is told as the letter's."""
    letter = Feature(
        name="L", region=MultiPolygon([rectangle(-10, -10, 10, 10)]),
        wall=Wall(height_mm=8, draft_deg=1.5, top_radius_mm=1, base_radius_mm=1),
    )  # fmt: skip
    plaque = Feature(
        name="plaque", region=MultiPolygon([rectangle(-40, -40, 40, 40).buffer(5)]),
        wall=Wall(height_mm=8, draft_deg=6, top_radius_mm=2, base_radius_mm=0), children=(letter,),
    )  # fmt: skip
    raw = build_raw_mold([plaque])
    made = case(*raw.meshes, plan=raw.plans)
    seen = sight(made)
    (finding,) = check_draft(made, seen, measure_draft(made, seen))

    assert (finding.code, finding.subject) == ("draft-low", "L")
    assert finding.measured == pytest.approx(1.5, abs=0.1)
    assert finding.limit == HIPS.draft_male_deg


def test_repeats_become_one():
    """Three of a rule become the gravest and furthest off; two stay; other rules stay."""

    def told(code, measured, severity=Severity.CAUTION):
        return Finding(code=code, severity=severity, says="s", measured=measured, limit=10.0)

    same = [told("a", 9.0), told("a", 2.0), told("a", 8.0, Severity.STOP), told("a", 9.5)]
    found = grouped([*same, told("b", 1.0), told("b", 2.0)])

    assert codes(found) == ["a", "b", "b"]
    assert (found[0].measured, found[0].severity) == (8.0, Severity.STOP)
    assert "4 places" in found[0].says
    assert grouped([told("a", 9.0), told("a", 2.0), told("a", 3.0)])[0].measured == 2.0


def test_relief_of_a_case_stays_small():
    """The picture of heights has at most 400 000 cells."""
    relief = case(box(240, 230, 20)).relief

    assert 300_000 < relief.heights_mm.size <= 400_000


@pytest.mark.parametrize(
    ("more", "sentence_start"),
    [
        (
            {"draw_direction": (0.0, 0.0, 0.0)},
            r"^draw_direction must be a direction, such as 0, 0, 1",
        ),
        ({"draw_direction": (0.0, float("nan"), 1.0)}, r"^draw_direction must be a direction"),
        ({"bodies": ()}, r"^bodies must be at least one body, each with triangles \(got none\)"),
        (
            {"bodies": (Body("A", Mesh(np.empty((0, 3)), np.empty((0, 3), np.int32))),)},
            r"^bodies must be at least one body, each with triangles",
        ),
        (
            {"bodies": (Body("A", mesh([(0, 0, 0), (1, 0, np.inf), (0, 1, 0)], [(0, 1, 2)])),)},
            r"^bodies must be meshes with finite coordinates \(got nan or inf\)",
        ),
    ],
    ids=["no direction", "nan direction", "no body", "empty body", "infinite"],
)
def test_bad_cases_are_refused(more, sentence_start):
    """What cannot be asked about is refused in one sentence."""
    made = case(box(1, 1, 1))
    fields = {
        "bodies": made.bodies, "sheet": made.sheet,
        "machine": made.machine, "printer": made.printer,
    }  # fmt: skip
    with pytest.raises(SpecError, match=sentence_start):
        Case(**{**fields, **more})


@settings(max_examples=12, deadline=None)
@given(st.floats(0, 360), st.floats(-40, 40))
def test_turning_and_moving_change_no_measure(turn_deg, by):
    """Draft, undercuts, draw, walls and standing do not depend on where and how a mold lies."""
    solid = cut(drafted(60, 50, 20), cylinder(0.7, -1, 30), block(20, 13, 8).translate((0, -30, 8)))
    here = check_all(case(solid))
    there = check_all(case(moved(solid, turn_deg=turn_deg, by=(by, by, 0))))

    assert there.draft.least_deg == pytest.approx(here.draft.least_deg, abs=1e-2)
    assert there.undercuts[0].area_mm2 == pytest.approx(here.undercuts[0].area_mm2, rel=1e-6)
    assert there.undercuts[0].depth_mm == pytest.approx(here.undercuts[0].depth_mm, abs=1e-3)
    assert there.draws[1].areal == pytest.approx(here.draws[1].areal, rel=1e-3)
    assert there.standings[0].tip_deg == pytest.approx(here.standings[0].tip_deg, abs=1e-6)


def test_every_plastic_can_be_asked_about():
    """Each plastic in stock has what the questions need."""
    for name in some(SHOP.names("plastic")):
        assert check_all(tray(plastic=SHOP.plastic(name))).draws[0].areal > 1
