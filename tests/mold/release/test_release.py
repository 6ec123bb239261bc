"""Pulling part and mold apart: what holds, what there is to pull by, and what helps."""

from dataclasses import replace
from functools import cache
from math import atan, pi, radians, tan

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.molds import SHOP, disc, plain, plate, ring, screw_tray, tide_sign, whole
from support.outlines import as_multi

from moldgen.errors import SpecError
from moldgen.finding import Severity, sentence
from moldgen.mold.release.hold import MoldHold, ReleaseSpec, insert_holds_N, slots_hold_N
from moldgen.mold.release.release import check_release, force_text, measure_release
from moldgen.mold.underside.marking import SLOT_MM
from moldgen.stock import Sheet

FEW = settings(max_examples=20, deadline=None)
PLA = SHOP.filament("PLA")
HIPS = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=0.75)
HEAT_SET, NUT = SHOP.insert("M4", "heat-set"), SHOP.insert("M4", "nut")


@cache
def made(name, insert=None, pry=False):
    """Return a whole mold."""
    bodies = {
        "sign": tide_sign, "tray": screw_tray, "ring": lambda: plain(ring(40, 25), 15),
        "plug": lambda: plain(disc(30), 20),
        "pair": lambda: plain(as_multi(shapely.union(disc(20, -30), disc(20, 30))), 30),
        "tower": lambda: plain(plate(60, 60), 90, draft_deg=1.0),
        "upright": lambda: plain(plate(60, 60), 90, draft_deg=0.0),
    }  # fmt: skip
    return whole(bodies[name](), insert=insert, pry_slots=pry)


def _released(name, *, insert=None, pry=False, sheet=HIPS, **more):
    mold = made(name, insert, pry)
    return measure_release(
        mold.raw.plans, [mold.marking], sheet=sheet, filament=PLA, insert=insert, **more
    )


def test_a_plug_is_held_by_its_hoop():
    """2 pi E strain t h, and friction less draft: half of the shrinkage done; then peeled off.

    Peeled, it grips over as much of its height as it is drawn until it is loose: about a tenth.
    """
    (one,) = _released("plug")
    (grip,) = one.grips
    exact = 2 * pi * 2000 * 0.0055 / 2 * 0.75 * 20
    assert grip.grip_N == pytest.approx(exact)
    lean = tan(radians(4))
    straight = exact * (0.4 - lean) / (1 + 0.4 * lean)
    assert grip.force_N == pytest.approx(straight * grip.loose_mm / 20)
    assert grip.force_N == pytest.approx(straight / 10, rel=0.2)
    assert one.force_N == grip.force_N
    assert grip.height_mm == 20
    assert grip.draft_deg == 4.0


def test_a_plug_is_loose_after_a_short_way():
    """Half the shrinkage of its half width and a groove, over the tangent of its draft.

    A groove between layers of 0.2 mm is 0.03 mm deep.
    """
    (grip,) = _released("plug")[0].grips
    foot_radius = 30 + 20 * tan(radians(4))
    assert grip.loose_mm == pytest.approx(
        (0.00275 * foot_radius + 0.03) / tan(radians(4)), rel=0.01
    )


@pytest.mark.parametrize(("radius_mm", "height_mm"), [(30, 20), (10, 14), (60, 40)])
def test_draft_matters(radius_mm, height_mm):
    """From 1 to 4.5 degrees the pull falls to less than a third; by friction alone to 0.82.

    tan(phi - 4.5) over tan(phi - 1), with tan phi = 0.4, is 0.82: no part is so indifferent.
    """
    forces = []
    for draft_deg in (1.0, 4.5):
        mold = whole(plain(disc(radius_mm), height_mm, draft_deg=draft_deg))
        (one,) = measure_release(
            mold.raw.plans, [mold.marking], sheet=HIPS, filament=PLA, insert=None
        )
        forces.append(one.force_N)
    phi = atan(0.4)
    friction_alone = tan(phi - radians(4.5)) / tan(phi - radians(1))
    assert friction_alone == pytest.approx(0.82, abs=0.005)
    assert forces[1] < forces[0] / 3


def test_coarser_layers_hold_harder():
    """Their grooves are deeper, and the part must come up further out of them."""
    (fine,) = _released("plug")
    (coarse,) = _released("plug", layer_mm=0.3)
    assert coarse.grips[0].loose_mm - fine.grips[0].loose_mm == pytest.approx(
        0.15 * 0.1 / tan(radians(4))
    )
    assert coarse.force_N > fine.force_N


def test_a_low_wall_is_loose_at_its_top():
    """However steep, nothing holds any more when the part is up over it."""
    low = whole(plain(disc(30), 3, draft_deg=0.5))
    (one,) = measure_release(low.raw.plans, [low.marking], sheet=HIPS, filament=PLA, insert=None)
    assert one.grips[0].loose_mm == 3


def test_the_middle_of_a_ring_does_not_hold():
    """The sheet shrinks off the wall of a hole: a ring holds like a disc."""
    held = {
        name: _released(name)[0].grips[0].grip_N / made(name).root.wall.height_mm
        for name in ("ring", "plug")
    }
    assert held["ring"] == pytest.approx(held["plug"])


def test_a_recess_lets_go_by_itself():
    """Only the tray's outer wall holds; the two compartments do not."""
    assert [grip.name for grip in _released("tray")[0].grips] == ["tray"]


def test_every_letter_holds_by_itself():
    """Four letters on a sign: four bands, one more around them all, and the sign's own.

    The sheet between letters pulls too, as a band around the four.
    """
    grips = {grip.name: grip for grip in _released("sign")[0].grips}
    text, sign = grips["text"], grips["sign"]
    assert text.grip_N / text.height_mm == pytest.approx(5 * sign.grip_N / sign.height_mm)


def test_thinner_sheet_holds_less():
    """By feature, where the forming run tells it."""
    (all_of_it,) = _released("sign")
    (thin,) = _released("sign", thicknesses_mm={"text": 0.5})
    by_name = {grip.name: grip for grip in thin.grips}
    before = {grip.name: grip for grip in all_of_it.grips}
    assert by_name["text"].grip_N == pytest.approx(before["text"].grip_N * 0.5 / 0.75)
    assert by_name["sign"] == before["sign"]


def test_a_heat_set_insert_shears_the_print_around_it():
    """Wall of its hole times strength across the layers over root three, a third of it."""
    exact = pi * 5.6 * 8.5 * 12.2 / 3**0.5 / 3
    assert insert_holds_N(HEAT_SET, PLA, ReleaseSpec()) == pytest.approx(exact)
    assert insert_holds_N(SHOP.insert("M5", "heat-set"), PLA, ReleaseSpec()) > exact


def test_a_nut_holds_by_the_glue_on_its_sides():
    """Six sides of 7 mm across flats, 3.2 mm high."""
    side = 2 * 3.5 * tan(pi / 6)
    exact = 6 * side * 3.2 * 2.0
    assert insert_holds_N(NUT, PLA, ReleaseSpec()) == pytest.approx(exact)


def test_a_blade_presses_on_the_roof_of_its_slot():
    """Two slots, each width times depth."""
    width, depth = SLOT_MM
    assert slots_hold_N(2, PLA) == pytest.approx(2 * width * depth * 12.2 / 3)


def test_the_strongest_hold_is_taken():
    """Bare hands, an insert, or slots."""
    assert _released("tray")[0].hold is MoldHold.HAND
    assert _released("tray", insert=HEAT_SET)[0].hold is MoldHold.HEAT_SET
    assert _released("tray", insert=NUT)[0].hold is MoldHold.HAND
    strong = ReleaseSpec(glue_MPa=10)
    assert _released("tray", insert=NUT, spec=strong)[0].hold is MoldHold.NUT
    assert _released("tray", insert=HEAT_SET, pry=True)[0].hold is MoldHold.PRY


@FEW
@given(st.floats(0.1, 1.0), st.floats(0.1, 0.9), st.floats(0.3, 3))
def test_the_draft_it_names_lets_go(friction, shrunk, gauge):
    """With all walls at that draft the pull is just what the hold bears."""
    spec = ReleaseSpec(friction=friction, shrunk=shrunk)
    (one,) = _released("tower", spec=spec, sheet=replace(HIPS, gauge_mm=gauge))
    (grip,) = one.grips
    lean = tan(radians(max(one.enough_deg, 1e-9)))
    loose_mm = min(90.0, (0.0055 * shrunk * grip.radius_mm + 0.03) / lean)
    force = grip.grip_N * (friction - lean) / (1 + friction * lean) * max(0.05, loose_mm / 90)
    assert force <= one.holds_N * (1 + 1e-6)
    if one.enough_deg > 0:
        assert force == pytest.approx(one.holds_N, rel=1e-4)
        assert one.enough_deg > 1.0 or one.force_N <= one.holds_N


def test_a_short_plug_comes_off_by_hand():
    """Nothing to say."""
    low = whole(plain(disc(30), 6))
    bodies = measure_release(low.raw.plans, [low.marking], sheet=HIPS, filament=PLA, insert=None)
    assert bodies[0].force_N < bodies[0].holds_N
    assert check_release(bodies, sheet=HIPS) == ()


def test_a_wall_that_keeps_its_rule_and_is_low_is_never_told():
    """Below 15 mm and at the rule's draft nothing is said, however weak what it is pulled by."""
    weak = ReleaseSpec(hand_N=1.0)

    def said(height_mm, draft_deg):
        mold = whole(plain(disc(30), height_mm, draft_deg=draft_deg))
        bodies = measure_release(
            mold.raw.plans, [mold.marking], sheet=HIPS, filament=PLA, insert=None, spec=weak
        )
        return [finding.code for finding in check_release(bodies, sheet=HIPS)]

    assert said(14.5, 4.5) == []
    assert said(14.5, 4.0) == ["release-hard"]
    assert said(15.5, 4.5) == ["release-hard"]


@pytest.mark.parametrize(
    ("force_N", "words"),
    [
        (18.0, "about 20 N (10 to 40)"),
        (269.0, "about 300 N (150 to 600)"),
        (7.4, "about 7 N (3.5 to 14)"),
        (1234.0, "about 1000 N (500 to 2000)"),
        (3.0, "less than 10 N"),
    ],
)
def test_a_force_is_told_as_it_is_known(force_N, words):
    """One digit, and a factor of two either way, in which the force lies."""
    assert force_text(force_N) == words


def test_a_tower_without_draft_is_told():
    """About how hard, what pulls, and what helps; within the doubt of its hold only a note."""
    bodies = _released("upright")
    (one,) = check_release(bodies, sheet=HIPS)
    assert one.code == "release-hard"
    assert one.severity is Severity.CAUTION
    assert f"{force_text(bodies[0].force_N)}, and 200 N are there" in one.says
    text = sentence(one)
    assert "bare hands may not get it off" in text
    assert "Take the part off warm" in text
    assert "pry slots help" in text
    (note,) = check_release([replace(bodies[0], force_N=390.0)], sheet=HIPS)
    assert note.severity is Severity.NOTE


def test_an_insert_that_is_too_weak_is_told():
    """A larger one is advised."""
    bodies = _released("upright", insert=HEAT_SET)
    (one,) = check_release(bodies, sheet=HIPS)
    assert "the threaded insert may not" in one.says
    assert "a larger insert or pry slots help" in one.advice
    hard = ReleaseSpec(friction=0.8, shrunk=1.0)
    (pry,) = check_release(_released("upright", pry=True, spec=hard), sheet=HIPS)
    assert "Sanded walls help" in pry.advice


def test_a_plastic_of_unknown_stiffness_is_told():
    """No number is made up for it."""
    sheet = replace(HIPS, plastic=replace(HIPS.plastic, modulus_MPa=None))
    assert _released("tower", sheet=sheet) == ()
    (one,) = check_release((), sheet=sheet)
    assert one.code == "release-unknown"
    assert one.severity is Severity.NOTE


def test_each_piece_has_its_own_insert():
    """Two discs, two inserts, two bands."""
    mold = made("pair", insert=HEAT_SET)
    assert len(mold.marking.pocket.geoms) == 2
    (one,) = _released("pair", insert=HEAT_SET)
    assert one.hold is MoldHold.HEAT_SET
    assert one.holds_N == pytest.approx(2 * insert_holds_N(HEAT_SET, PLA, ReleaseSpec()))
    (alone,) = _released("plug")
    # Two bands, and one more around both: the sheet between them pulls too.
    assert one.grips[0].grip_N / 30 == pytest.approx(3 * alone.grips[0].grip_N / 20)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: ReleaseSpec(friction=0), r"friction must be more than 0 and at most 2"),
        (lambda: ReleaseSpec(shrunk=1.5), r"shrunk must be more than 0 and at most 1"),
        (lambda: ReleaseSpec(hand_N=-5), r"hand_N must be more than 0 N"),
    ],
)
def test_bad_numbers_are_refused(call, words):
    """One sentence with field, rule and value."""
    with pytest.raises(SpecError, match=words):
        call()


def test_how_far_it_must_come_up_is_told_where_it_is_loose_sooner():
    """A part that holds to its last millimeter has nothing to tell there."""
    bodies = _released("upright")
    grip = bodies[0].grips[0]
    told = [
        sentence(check_release([replace(bodies[0], grips=(one,))], sheet=HIPS)[0])
        for one in (
            replace(grip, loose_mm=0.5 * grip.height_mm),
            replace(grip, loose_mm=grip.height_mm),
        )
    ]

    assert ["It is loose after about" in text for text in told] == [True, False]
