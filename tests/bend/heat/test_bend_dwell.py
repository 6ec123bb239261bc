"""Dwell: within what people do at strip heaters, and as it must change with what is bent."""

from dataclasses import replace

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.heated_line import referee
from support.logbook_stand import strip

from moldgen.bend.heat.dwell import WOOD, coldest_degC, dwell, least_sides, target_degC
from moldgen.bend.heat.dwell_text import clock
from moldgen.bend.strip.choices import Turn
from moldgen.bend.strip.part import Bend
from moldgen.errors import SpecError
from moldgen.physics.heat.heating import Matter, SheetFace, stack
from moldgen.physics.heat.march import march
from moldgen.stock import load_shop
from moldgen.stock.line_bending import bending_window
from moldgen.stock.strip_heater import SOFT_SHARE_BAND
from moldgen.table.matter import matter_of

FEW = settings(max_examples=12, deadline=None)
SHOP = load_shop(user_file=None)
ACRYLIC = SHOP.plastic("PMMA cast")
WIRE = SHOP.strip_heater("wire-600")
TUBE = SHOP.strip_heater("tube-900")
TWIN = SHOP.strip_heater("twin-tube-1200")
BAR = SHOP.strip_heater("bar-450")
OPEN = Bend(angle_deg=90)
FOLD = Bend(angle_deg=180, gap_mm=1)


def _dwell(bend=OPEN, heater=WIRE, plastic=ACRYLIC, thickness_mm=3.0, **more):
    made = strip(
        thickness_mm=thickness_mm, plastic=plastic.name, bends=(bend,), legs_mm=(90.0, 90.0)
    )
    return dwell(made, bend, heater, plastic, **more)


def test_an_open_bend_in_3_mm_acrylic_takes_two_minutes_a_side_once_each():
    """Common practice, no source: the band holds 120 s, and each side is heated once."""
    found = _dwell()
    assert (found.n_sides, found.turns) == (2, 1)
    assert found.band_s[0] <= 120 <= found.band_s[1]


def test_a_closed_fold_in_3_mm_acrylic_takes_two_minutes_three_times():
    """Common practice, no source: two minutes, turned over, two more, turned over, two more."""
    found = _dwell(FOLD)
    assert (found.n_sides, found.turns) == (3, 2)
    assert found.band_s[0] <= 120 <= found.band_s[1]
    assert found.total_s > 1.1 * _dwell().total_s


def test_a_thinner_strip_does_not_take_so_long():
    """The trade's two minutes a side are not in the band of 1.5 mm, nor of another heater."""
    assert not _dwell(thickness_mm=1.5).band_s[1] > 240
    assert _dwell(heater=replace(WIRE, element_degC=950)).band_s[1] < 120


@pytest.mark.parametrize(
    ("thickness_mm", "low_s", "high_s"), [(2, 30, 60), (3, 60, 120), (5, 150, 300), (6, 240, 480)]
)
def test_trade_times_at_a_workshop_heater(thickness_mm, low_s, high_s):
    """Trade tables, no source, for all sides together: the dwell is in them or its band meets them.

    The classroom's wire, at two minutes a side for 3 mm, is another heater.
    """
    found = _dwell(heater=TUBE, thickness_mm=thickness_mm)
    low, high = (one * found.n_sides for one in found.band_s)
    assert low <= high_s
    assert high >= low_s
    if thickness_mm >= 3:
        assert low_s <= found.total_s <= high_s
        assert _dwell(thickness_mm=thickness_mm).total_s > high_s


def test_a_contact_bar_softens_polyethylene_in_a_minute_or_two():
    """Trade figure, no source: 60 to 120 s on a bar at 149 to 177 degrees."""
    found = _dwell(heater=BAR, plastic=SHOP.plastic("HDPE"))
    assert found.band_s[0] <= 120
    assert found.band_s[1] >= 60


def test_thin_acrylic_is_heated_from_one_side_and_thick_from_two():
    """Trade rule, no source; two elements need no turning."""
    assert _dwell(thickness_mm=2).turns == 0
    assert _dwell(thickness_mm=5).turns >= 1
    assert least_sides(3, OPEN, TWIN) == 1
    assert _dwell(heater=TWIN, thickness_mm=6).turns == 0


@pytest.mark.parametrize("thickness_mm", [2.0, 3.0, 4.0])
def test_it_is_held_one_to_three_minutes(thickness_mm):
    """Trade figure, no source, by thickness: the band of the hold meets it."""
    low_s, high_s = _dwell(thickness_mm=thickness_mm).hold_band_s
    assert low_s <= 180
    assert high_s >= 60


@pytest.mark.parametrize("row", published("bend_temperatures"), ids=lambda row: row["plastic"])
def test_windows_are_the_ones_of_the_school_sheet(row):
    """Within its 5 degrees; PC's upper one is another guide's and not in the table."""
    window = bending_window(SHOP.plastic(row["plastic"]))
    for field in ("lower_degC", "best_degC", "upper_degC"):
        assert getattr(window, field) == pytest.approx(float(row[field]), abs=5)
    assert window.best_degC != pytest.approx(float(row["best_degC"]) * 9 / 5 + 32, abs=5)


def test_a_plastic_without_trade_figures_takes_its_forming_window():
    """Rigid PVC is not in the table; the shop's own acrylic is, by what it is based on."""
    pvc = SHOP.plastic("PVC rigid")
    assert bending_window(pvc).upper_degC == pvc.forming_high_degC
    own = replace(ACRYLIC, name="Our acrylic", based_on="PMMA cast")
    assert bending_window(own) == bending_window(ACRYLIC)


def _followed(found, heater, plastic, thickness_mm, **how):
    """Heat as told, by the referee: enthalpy on a net of nodes, in two dimensions."""
    sides_s = [found.side_s] * found.n_sides
    return referee(heater, matter_of(plastic), thickness_mm, sides_s, **how)


@pytest.mark.parametrize("heater", [WIRE, TUBE, TWIN], ids=lambda heater: heater.name)
@pytest.mark.parametrize("plastic", ["PMMA cast", "HIPS", "ABS", "PETG", "PC", "PP", "HDPE"])
def test_the_answer_does_what_it_says_when_followed_finely(plastic, heater):
    """Hot enough everywhere on the line, no face above what was said."""
    entry = SHOP.plastic(plastic)
    found = _dwell(plastic=entry, heater=heater)
    seen = _followed(found, heater, entry, 3.0)
    assert seen.means_degC[0] >= target_degC(OPEN, entry) - 2
    assert seen.nodes_degC[0].min() >= coldest_degC(OPEN, entry) - 3
    assert found.mean_degC == pytest.approx(seen.means_degC[0], abs=2)
    assert found.hottest_degC == pytest.approx(seen.hottest_degC, abs=2.5)
    assert found.back_degC == pytest.approx(seen.back_degC, abs=2.5)


@pytest.mark.parametrize(("thickness_mm", "n_sides"), [(2.0, 1), (3.0, 2), (4.0, 2), (6.0, 8)])
def test_heat_goes_out_of_the_line_and_is_strongest_on_it(thickness_mm, n_sides):
    """Thick and thin are followed alike; a strip that took the same all over its band would not be.

    Without conduction sideways 6 mm would be ready in 452 s, and it is not: what takes long to be
    taken up has long to flow away.
    """
    found = _dwell(thickness_mm=thickness_mm)
    seen = _followed(found, WIRE, ACRYLIC, thickness_mm)
    assert found.n_sides == n_sides
    assert found.mean_degC == pytest.approx(seen.means_degC[0], abs=1.0)
    assert found.coldest_degC == pytest.approx(seen.nodes_degC[0].min(), abs=1.5)
    even = _followed(found, WIRE, ACRYLIC, thickness_mm, peaked=False)
    assert even.means_degC[0] < found.mean_degC - 5
    if thickness_mm == 6.0:
        short = replace(found, side_s=452 / 8)
        cold = _followed(short, WIRE, ACRYLIC, thickness_mm).means_degC[0]
        assert cold < target_degC(OPEN, ACRYLIC) - 10


@pytest.mark.parametrize("heater", [WIRE, TUBE, TWIN], ids=lambda heater: heater.name)
@pytest.mark.parametrize("thickness_mm", [2.0, 3.0, 4.0])
def test_three_quarters_of_the_heated_band_go_soft(thickness_mm, heater):
    """On average through the thickness 20 K above the glass transition: within the band told."""
    found = _dwell(heater=heater, thickness_mm=thickness_mm)
    seen = _followed(found, heater, ACRYLIC, thickness_mm)
    yields_degC = ACRYLIC.glass_degC + 20
    soft_mm = 2 * np.interp(-yields_degC, -seen.means_degC, seen.away_mm)
    low, high = SOFT_SHARE_BAND
    assert low <= soft_mm / heater.band_mm <= high
    assert low < heater.soft_mm / heater.band_mm < high


def test_a_strip_that_is_turned_often_is_followed_as_turned():
    """A closed fold in 6 mm: many sides, and never turning would scorch it."""
    found = _dwell(FOLD, TUBE, thickness_mm=6.0)
    seen = _followed(found, TUBE, ACRYLIC, 6.0)
    assert found.n_sides > 3
    assert found.coldest_degC == pytest.approx(seen.nodes_degC[0].min(), abs=3)
    assert found.hottest_degC == pytest.approx(seen.hottest_degC, abs=3)
    assert found.back_degC == pytest.approx(seen.back_degC, abs=3)
    once = replace(found, n_sides=1, side_s=found.total_s)
    assert _followed(once, TUBE, ACRYLIC, 6.0).hottest_degC > found.hottest_degC + 10


def test_two_elements_heat_both_faces_alike():
    """The coldest part is in the middle, and a face is not left behind."""
    found = _dwell(heater=TWIN)
    alone = _dwell(heater=replace(TWIN, sides=1))
    line = _followed(found, TWIN, ACRYLIC, 3.0).nodes_degC[0]
    np.testing.assert_allclose(line, line[::-1])
    assert line.argmin() == 6
    assert found.back_degC == pytest.approx(found.hottest_degC)
    assert found.total_s < 0.7 * alone.total_s


def test_the_hold_is_what_a_strip_on_wood_takes():
    """Inside on the wood, outside in the air, in fine steps, until no part is above set."""
    found = _dwell(thickness_mm=6.0)
    nodes = _followed(found, WIRE, ACRYLIC, 6.0).nodes_degC[0, ::-1]
    cells = np.interp((np.arange(24) + 0.5) / 2, np.arange(13), nodes)
    body = stack((WOOD, 0.02, 60), (matter_of(ACRYLIC), 0.006, 24))
    start = np.concatenate([np.full(60, 20.0), cells])
    air = SheetFace(air_degC=20, film_W_m2K=8, glows=((20, 0.9),))
    run = march(body, start, front=SheetFace(), back=air, duration_s=800, n_steps=200)
    hottest = run.profiles_degC[:, 0, 60:].max(axis=-1)
    stiff_s = np.interp(-ACRYLIC.set_degC, -hottest, run.times_s[:, 0])
    assert found.hold_s == pytest.approx(stiff_s, rel=0.03)


def test_metal_stiffens_the_bend_sooner_than_wood():
    """Aluminum on the jig takes the heat away faster."""
    metal = Matter(conductivity_W_mK=205, density_kg_m3=2700, heat_J_kgK=900)
    assert _dwell(jig=metal).hold_s < 0.6 * _dwell().hold_s


def test_every_part_must_be_some_way_above_the_glass_transition():
    """From 10 K for the slightest bend to 40 K for a fold, or the lower limit if that is less."""
    glass = ACRYLIC.glass_degC
    assert coldest_degC(Bend(angle_deg=1e-6), ACRYLIC) == pytest.approx(glass + 10)
    assert coldest_degC(FOLD, ACRYLIC) == pytest.approx(glass + 40)
    hips, hdpe = SHOP.plastic("HIPS"), SHOP.plastic("HDPE")
    assert coldest_degC(FOLD, hips) == bending_window(hips).lower_degC
    assert coldest_degC(OPEN, hdpe) == bending_window(hdpe).lower_degC


def test_a_face_a_little_too_hot_is_said():
    """Extruded acrylic over a bare wire: the middle is soft only when a face is past its limit."""
    found = _dwell(plastic=SHOP.plastic("PMMA extruded"))
    assert found.limit_degC < found.hottest_degC < found.limit_degC + 15
    assert [finding.code for finding in found.findings] == ["face-too-hot"]
    assert found.findings[0].measured == found.hottest_degC


@FEW
@given(st.floats(1, 6), st.floats(20, 180), st.sampled_from([WIRE, TUBE, TWIN]))
def test_faces_stay_below_their_limit_or_it_is_said(thickness_mm, angle_deg, heater):
    """Both the heated and the back face; and what is asked of the middle is reached."""
    found = _dwell(Bend(angle_deg=angle_deg), heater, thickness_mm=thickness_mm)
    codes = {finding.code for finding in found.findings}
    assert ("face-too-hot" in codes) == (found.hottest_degC > found.limit_degC)
    assert found.back_degC <= found.hottest_degC
    assert found.mean_degC >= found.target_degC - 0.5
    assert found.band_s[0] < found.side_s < found.band_s[1]
    assert found.hold_band_s[0] < found.hold_s < found.hold_band_s[1]


@FEW
@given(st.floats(1, 2.2), st.floats(20, 120), st.floats(5, 40))
def test_sharper_thicker_and_cooler_take_longer(thickness_mm, angle_deg, more_K):
    """More angle, more thickness, a cooler element: never a shorter time."""
    total_s = _dwell(Bend(angle_deg=angle_deg), thickness_mm=thickness_mm).total_s
    assert _dwell(Bend(angle_deg=angle_deg + 30), thickness_mm=thickness_mm).total_s >= total_s
    assert _dwell(Bend(angle_deg=angle_deg), thickness_mm=thickness_mm + 0.2).total_s > total_s
    cooler = replace(WIRE, element_degC=WIRE.element_degC - more_K)
    assert _dwell(Bend(angle_deg=angle_deg), cooler, thickness_mm=thickness_mm).total_s > total_s


def test_a_thicker_strip_is_held_longer():
    """Heat leaves through its faces only."""
    holds = [_dwell(thickness_mm=gauge).hold_s for gauge in (1.5, 2, 3, 5)]
    assert holds == sorted(holds)
    assert holds[-1] > 2 * holds[0]


def test_the_steps_end_with_the_outside_to_the_element():
    """An odd number of sides begins with the outside of the bend down, an even one ends with it."""
    for bend, outside in ((OPEN, "the face without the marks"), (FOLD, "the face without")):
        heats = [step for step in _dwell(bend).steps if "heat" in step and "down" in step]
        assert outside in heats[-1]
    down = [step for step in _dwell(Bend(angle_deg=90, turn=Turn.DOWN)).steps if "down" in step]
    assert "over, the marks down" in down[-1]
    fold = [step for step in _dwell(FOLD).steps if "down" in step]
    assert len(fold) == 3
    assert "the face without the marks down" in fold[0]
    assert "the marks down" in fold[1]


def test_the_steps_warn_of_the_film_the_cold_snap_and_letting_go():
    """What a student forgets: film off, saw marks, never force it, hold it until it is stiff."""
    words = " ".join(_dwell().steps)
    for phrase in (
        "film off",
        "scrape the sawn edges",
        "washable",
        "Never force it",
        "too cold snaps",
        "until it is stiff",
    ):
        assert phrase in words


@pytest.mark.parametrize(
    ("seconds", "words"), [(1, "5 s"), (57.4, "55 s"), (60, "1 min"), (124, "2 min 5 s")]
)
def test_times_are_read_as_on_a_clock(seconds, words):
    """To 5 s, never nothing."""
    assert clock(seconds) == words


def test_pvc_over_a_bare_wire_is_stopped():
    """A covered element is not."""
    pvc = SHOP.plastic("PVC rigid")
    wire = {finding.code for finding in _dwell(plastic=pvc).findings}
    tube = {finding.code for finding in _dwell(plastic=pvc, heater=TUBE).findings}
    assert "pvc-at-bare-wire" in wire - tube


def test_a_heater_that_is_too_cool_is_refused():
    """One sentence: what it should reach, what it reaches, what to do."""
    with pytest.raises(
        SpecError, match=r"strip_heater must be able to bring 3 mm PMMA cast to 16"
    ) as caught:
        _dwell(heater=BAR)
    assert "bar-450, which brings it to" in str(caught.value)
    assert str(caught.value).endswith("bring the strip nearer to the element.")


def test_the_same_question_has_the_same_answer():
    """Asked twice, even after another question."""
    first = _dwell()
    _dwell(FOLD)
    assert _dwell() == first
