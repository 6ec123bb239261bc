"""Heating a clamped sheet: trade times as bands, a finer march, what makes it longer, refusals."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.physics.heat.heating import SheetFace, stack
from moldgen.physics.heat.march import march
from moldgen.physics.heat.radiation import (
    black_flux_W_m2,
    point_view_factor,
    radiation_heating_s,
)
from moldgen.stock import HeaterKind, Sheet, load_shop
from moldgen.table.forming_window import Clock
from moldgen.table.heat_findings import heating_findings
from moldgen.table.heat_up import heat_up, heating_clock, heating_s
from moldgen.table.matter import matter_of
from moldgen.table.surroundings import (
    corner_view,
    fan_film_W_m2K,
    mean_view,
    middle_view,
    sheet_share,
    still_film_W_m2K,
)
from moldgen.table.trial import Conditions, Trial

SHOP = load_shop(user_file=None)
COILS, CLASS, QUARTZ = (SHOP.machine(name) for name in SHOP.machines.names)
FAN = Conditions(fan=True)
TRADE = {row["what"]: (float(row["low"]), float(row["high"])) for row in published("trade_heating")}
ABOUT = 1.35
"""How far about 30 s may reach: a third either way."""
FEW = settings(max_examples=10, deadline=None)
PLASTICS = SHOP.plastics.names


def sheet(plastic="HIPS", gauge_mm=1.5):
    """Return a sheet of the stock."""
    return Sheet(plastic=SHOP.plastic(plastic), gauge_mm=gauge_mm)


@cache
def heated(plastic="HIPS", gauge_mm=1.5, machine=CLASS.name, fan=False):
    """Return how a sheet heats on a machine of the stock."""
    return heat_up(sheet(plastic, gauge_mm), SHOP.machine(machine), day=Conditions(fan=fan))


def finely(gauge_mm, machine, n_cells=30, n_steps=500):
    """Return when the window opens and closes, and the aim, from a plain fine march."""
    view = middle_view(machine)
    share = sheet_share(machine, view)
    plastic = SHOP.plastic("HIPS")
    hot = SheetFace(glows=((machine.heater_degC, share), (20.0, 0.9 * (1 - view))))
    still = still_film_W_m2K(machine.opening_width_mm, machine.opening_depth_mm, hot_up=False)
    back = SheetFace(air_degC=20.0, film_W_m2K=still, glows=((20.0, 0.9),))
    course = march(
        stack((matter_of(plastic), gauge_mm / 1000, n_cells)), 20.0, front=hot, back=back,
        duration_s=90.0, n_steps=n_steps,
    )  # fmt: skip
    times_s = course.times_s[:, 0]
    return (
        float(np.interp(plastic.forming_low_degC, course.backs_degC[:, 0], times_s)),
        float(np.interp(plastic.forming_degC, course.profiles_degC[:, 0].mean(axis=-1), times_s)),
        float(np.interp(plastic.forming_high_degC, course.fronts_degC[:, 0], times_s)),
    )


@pytest.mark.parametrize("machine", [COILS.name, CLASS.name])
@pytest.mark.parametrize("gauge_mm", [0.75, 1.5])
def test_styrene_takes_what_the_trade_says(machine, gauge_mm):
    """About 30 s and 60 s; the first machine was set by these times, the second was not."""
    low_s, high_s = TRADE[f"HIPS {gauge_mm:g} mm s"]

    assert low_s / ABOUT < heated("HIPS", gauge_mm, machine, True).forming_s < high_s * ABOUT


@pytest.mark.parametrize("machine", [COILS.name, CLASS.name, QUARTZ.name])
def test_twice_the_gauge_takes_twice_the_time(machine):
    """So the trade's two times say; no heater's temperature changes this much."""
    thin, thick = (heated("HIPS", gauge, machine, True).forming_s for gauge in (0.75, 1.5))
    wanted = TRADE["HIPS 1.5 mm s"][0] / TRADE["HIPS 0.75 mm s"][0]

    assert thick / thin == pytest.approx(wanted, rel=0.15)


def test_the_trade_s_times_tell_a_wrong_heater():
    """Elements 100 degrees hotter or cooler would not do, nor time with the gauge squared."""
    for off_K in (-100, 100):
        other = replace(CLASS, heater_degC=CLASS.heater_degC + off_K)
        time_s = heating_s(sheet("HIPS", 0.75), other, day=FAN)
        assert time_s is None or not 30 / ABOUT < time_s < 30 * ABOUT
    assert heated("HIPS", 1.5, CLASS.name, True).forming_s < 3 * heated("HIPS", 0.75, CLASS.name,
                                                                   True).forming_s  # fmt: skip


@pytest.mark.parametrize("gauge_mm", [2, 3, 5])
def test_acrylic_in_an_oven_takes_what_the_trade_says(gauge_mm):
    """Two to three minutes a millimeter, hot air all round."""
    oven = replace(CLASS, heater_kind=HeaterKind.OVEN, heater_degC=190.0)
    low, high = TRADE["oven s/mm"]

    found = heat_up(sheet("PMMA cast", gauge_mm), oven)

    assert low <= found.forming_s / gauge_mm <= high
    assert found.window_s is None
    assert found.front_degC == pytest.approx(found.back_degC, abs=1e-6)
    # Under the same temperature as a plane on one side it never gets there.
    assert heating_s(sheet("PMMA cast", gauge_mm), replace(CLASS, heater_degC=190.0)) is None


def test_a_finer_march_finds_the_same_moments():
    """Three times the cells and many more steps, put together by hand."""
    opens_s, aim_s, closes_s = finely(1.5, CLASS)
    clock = heated().clock

    assert clock.opens_s == pytest.approx(opens_s, rel=0.01)
    assert clock.aim_s == pytest.approx(aim_s, rel=0.01)
    assert clock.closes_s == pytest.approx(closes_s, rel=0.01)
    assert heated().forming_s == pytest.approx((opens_s + closes_s) / 2, rel=0.01)


def test_temperatures_at_the_pull_are_in_order():
    """The face at the heater is hottest, the back coldest, the mean near what is usual."""
    for plastic in ("HIPS", "ABS"):
        found = heated(plastic)
        assert found.front_degC > found.mean_degC > found.back_degC >= found.coldest_degC
        assert found.mean_degC == pytest.approx(SHOP.plastic(plastic).forming_degC, abs=8)


@pytest.mark.parametrize("plastic", PLASTICS)
def test_every_plastic_heats_within_its_limits(plastic):
    """When formed nothing is colder than forms, and hotter than it may only if told so."""
    found = heated(plastic, 1.0)
    own = SHOP.plastic(plastic)

    assert found.coldest_degC >= own.forming_low_degC - 1
    assert found.band_s[0] < found.forming_s < found.band_s[1]
    told = {finding.code for finding in heating_findings(found)}
    over = told & {"face-too-hot", "face-briefly-over"}
    assert found.front_degC <= own.forming_high_degC + 1 or over
    assert found.front_degC <= own.forming_high_degC + own.brief_over_K + 1


@FEW
@given(st.sampled_from(PLASTICS), st.floats(0.3, 2.0), st.floats(1.05, 1.5))
def test_thicker_takes_longer(plastic, gauge_mm, times):
    """On the same machine a thicker sheet of the same plastic is never ready sooner."""
    thin, thick = (heating_s(sheet(plastic, g), CLASS) for g in (gauge_mm, gauge_mm * times))

    assert thick is None or thick > thin


@FEW
@given(st.floats(350, 700), st.floats(20, 200))
def test_hotter_or_nearer_is_sooner(element_degC, distance_mm):
    """More heat, or more of the heater in view, shortens the time."""
    own = replace(CLASS, heater_degC=element_degC, heater_distance_mm=distance_mm)
    base_s = heating_s(sheet(), own) or 1e9

    assert (heating_s(sheet(), replace(own, heater_degC=element_degC + 30)) or 1e9) <= base_s
    near = replace(own, heater_distance_mm=distance_mm * 0.8)
    assert (heating_s(sheet(), near) or 1e9) <= base_s


def test_two_faces_need_half_the_time_or_less():
    """Heated from both sides the heat has half as far to go, and no back loses any."""
    both = heat_up(sheet(), replace(CLASS, heater_sides=2))

    assert both.forming_s < 0.55 * heated().forming_s
    assert both.front_degC == pytest.approx(both.back_degC, abs=1e-6)
    assert both.coldest_degC < both.front_degC - 3


def test_a_fan_takes_heat_away():
    """Room air over the heated face makes it take longer."""
    assert heated(fan=True).forming_s > 1.05 * heated().forming_s
    assert fan_film_W_m2K(450, 300) > still_film_W_m2K(450, 300, hot_up=True)
    assert still_film_W_m2K(450, 300, hot_up=True) > still_film_W_m2K(450, 300, hot_up=False)


def test_crystals_take_their_heat():
    """Polypropylene without its melting heat would be ready much sooner."""
    solid = replace(SHOP.plastic("PP"), melting_kJ_kg=0.0)
    without = heating_s(Sheet(plastic=solid, gauge_mm=1.5), CLASS)

    assert without is not None
    assert heated("PP").clock.aim_s is not None
    assert heated("PP").clock.aim_s > 1.15 * without


def test_a_clear_sheet_takes_longer_and_is_more_even():
    """What it does not take up is lost; what it does goes deep."""
    clear = heat_up(sheet("PETG"), CLASS, day=Conditions(clear_depth_mm=1.0))
    opaque = heated("PETG")

    assert clear.forming_s > 1.1 * opaque.forming_s
    assert clear.front_degC - clear.back_degC < opaque.front_degC - opaque.back_degC
    # What comes in is taken up by the first cell, not at its face: 1 % at 0.29 W/(m K).
    own = sheet("PETG")
    conducts = replace(own, plastic=replace(own.plastic, conductivity_W_mK=0.29))
    nearly = heat_up(conducts, CLASS, day=Conditions(clear_depth_mm=0.01))
    assert nearly.forming_s == pytest.approx(heat_up(conducts, CLASS).forming_s, rel=0.01)


def test_a_clear_sheet_keeps_what_comes_in():
    """Light spread through the depth brings as much as the same share at the face."""
    trial = Trial(sheet=sheet("PETG"), machine=CLASS, day=Conditions(clear_depth_mm=1.0))
    opacity = 0.9 * (1 - np.exp(-1.5))
    view = middle_view(CLASS)
    coming = sheet_share(CLASS, view, opacity) * black_flux_W_m2(CLASS.heater_degC)
    rest = opacity * (1 - view) + sheet_share(CLASS, view, opacity)

    taken = trial.taken_W_m2(view, 20.0)

    own = rest * black_flux_W_m2(20) - opacity * (1 - view) * black_flux_W_m2(20)
    assert taken == pytest.approx(coming - own, rel=1e-6)


def test_a_clear_sheet_between_two_heaters_is_lit_from_both():
    """Both faces are as hot, and both halves take up as much."""
    both = heat_up(
        sheet("PETG"), replace(CLASS, heater_sides=2), day=Conditions(clear_depth_mm=1.0)
    )

    assert both.front_degC == pytest.approx(both.back_degC, abs=1e-6)


def test_views_films_and_areas_are_those_of_the_machine():
    """A corner is a corner, a larger heater gives more, films go by the opening's size."""
    wide, deep = CLASS.opening_width_mm / 2, CLASS.opening_depth_mm / 2
    heater = CLASS.heater_width_mm, CLASS.heater_depth_mm
    corner = point_view_factor(wide, deep, heater, CLASS.heater_distance_mm)
    larger, bare = replace(CLASS, heater_width_mm=900.0), replace(CLASS, wall_reflection=0.0)

    assert corner_view(bare) == pytest.approx(corner)
    assert corner_view(CLASS) > 1.5 * corner
    assert sheet_share(larger, 0.7) > sheet_share(CLASS, 0.7)
    # Bench-top plates of this size lose 5 to 10 W/m2K upward, generic, from memory.
    assert 7.5 < still_film_W_m2K(250, 250, hot_up=True) < 8.5
    assert still_film_W_m2K(900, 900, hot_up=False) < still_film_W_m2K(250, 250, hot_up=False)


def test_the_middle_is_first():
    """The mean of the opening sees less than the middle, the corner least."""
    for machine in (COILS, CLASS, QUARTZ):
        assert middle_view(machine) > mean_view(machine) > corner_view(machine)
        found = heated("HIPS", 0.75, machine.name)
        assert (found.mean_s or 1e9) > found.forming_s
        assert (found.corner_s or 1e9) > (found.mean_s or 1e9) * 0.999


def test_the_share_of_a_timed_machine_counts():
    """Twice the share is twice the heat: sooner; and its band is narrower."""
    stronger = replace(CLASS, heater_share=1.5)
    assert heating_s(sheet(), stronger) < 0.75 * heated().forming_s
    timed = replace(CLASS, sources={**CLASS.sources, "heater_share": "timed"})
    low_s, high_s = heat_up(sheet(), timed).band_s
    assert high_s / low_s < heated().band_s[1] / heated().band_s[0]
    wide = heat_up(sheet(), timed, untold=0.3).band_s
    assert wide[1] / wide[0] > 1.2 * high_s / low_s


def test_the_doubts_make_the_band():
    """All named swings, put together in quadrature."""
    found = heated()
    sooner, later = (
        sum(getattr(one, way) ** 2 for one in found.doubts) ** 0.5 for way in ("sooner", "later")
    )

    assert len(found.doubts) == 8
    assert found.band_s[1] / found.forming_s == pytest.approx(np.exp(later))
    assert found.forming_s / found.band_s[0] == pytest.approx(np.exp(sooner))
    # A sheet a tenth thicker takes about a tenth longer, a heavier one as much longer.
    told = {one.what: one for one in found.doubts}
    assert told["gauge ±10%"].later == pytest.approx(np.log(1.1), abs=0.03)
    low, high = SHOP.plastic("HIPS").bands["density_kg_m3"]
    (heavy,) = (one for what, one in told.items() if what.startswith("density"))
    assert heavy.later == pytest.approx(np.log(high / 1050), rel=0.02)
    assert heavy.sooner == pytest.approx(np.log(1050 / low), rel=0.02)


@pytest.mark.parametrize(
    ("kind", "field", "band"),
    [
        ("plastic", "conductivity_W_mK", (0.05, 0.5)),
        ("plastic", "specific_heat_J_kgK", (700, 2500)),
        ("plastic", "specific_heat_hot_J_kgK", (1200, 3500)),
        ("plastic", "emissivity", (0.5, 1.0)),
        ("machine", "heater_degC", (320, 520)),
        ("machine", "wall_reflection", (0.0, 1.0)),
    ],
)
def test_a_wider_band_of_the_stock_widens_the_time(kind, field, band):
    """Each banded value runs through to the answer; without its band the time is surer."""
    own, table = sheet(), CLASS
    entry = own.plastic if kind == "plastic" else table

    def band_of(bands):
        changed = replace(entry, bands=bands)
        on = table if kind == "plastic" else changed
        what = replace(own, plastic=changed) if kind == "plastic" else own
        low_s, high_s = heat_up(what, on).band_s
        return high_s / low_s

    usual = heated().band_s[1] / heated().band_s[0]
    assert band_of({**entry.bands, field: band}) > 1.02 * usual
    without = {name: ends for name, ends in entry.bands.items() if name != field}
    if field != "heater_degC":
        assert band_of(without) < usual
    else:
        # An element that says nothing is trusted to 30 °C all the same.
        assert band_of(without) == pytest.approx(usual, rel=1e-6)


def test_a_band_of_another_value_is_not_taken():
    """A heater that was changed by hand has the usual doubt, not the band of the one before."""
    hot = replace(CLASS, heater_degC=600.0)
    told = [one.what for one in heat_up(sheet(), hot).doubts]

    assert "heater ±30 °C" in told
    assert not any("340 to 400" in what for what in told)
    assert any("340 to 400" in one.what for one in heated().doubts)


def _clock(opens_s, aim_s, closes_s, brief_s=None):
    return Clock(opens_s=opens_s, aim_s=aim_s, closes_s=closes_s, brief_s=brief_s)


@pytest.mark.parametrize(
    ("clock", "forming_s", "length_s"),
    [
        (_clock(40, 50, 80), 60, 40),
        (_clock(40, 30, 80), 60, 40),
        (_clock(40, 90, None), 90, None),
        (_clock(40, None, None), 40, None),
        (_clock(40, 30, None), 40, None),
        # A window of 2 s is stretched to 4 s, a tenth of the time, as far as the face stands it.
        (_clock(40, 45, 42, 70), 42, 4),
        (_clock(40, 45, 42, 43), 41.5, 3),
        (_clock(40, 45, 38, 70), 42, 4),
        (_clock(40, 45, 30, 42), 41, 2),
        # A face that is past even that before the back forms leaves no window.
        (_clock(40, 45, 20, 39), 40, 0),
        (_clock(40, 45, 20), 40, 0),
        (_clock(None, 30, 20, 25), float("inf"), None),
    ],
)
def test_when_to_form(clock, forming_s, length_s):
    """In the middle of the window; at the aim where it stays open."""
    assert clock.forming_s == pytest.approx(forming_s)
    assert clock.length_s == (None if length_s is None else pytest.approx(length_s))
    assert clock.is_open == (length_s != 0 and clock.opens_s is not None)
    assert clock.is_short == (length_s is not None and length_s < 3.9)


@pytest.mark.parametrize("gauge_mm", [1.0, 1.5, 2.0, 3.0, 4.0])
def test_two_sides_take_what_the_trade_says(gauge_mm):
    """10 to 15 s/mm; elements of 500 °C would take half of it."""
    low, high = TRADE["two-sided s/mm"]

    assert low <= heated("HIPS", gauge_mm, QUARTZ.name).forming_s / gauge_mm <= high
    hot_s = heating_s(sheet("HIPS", gauge_mm), replace(QUARTZ, heater_degC=500.0))
    assert hot_s / gauge_mm < low


@pytest.mark.parametrize("machine", [COILS.name, CLASS.name, QUARTZ.name])
@pytest.mark.parametrize("gauge_mm", [0.75, 1.5, 3.0])
def test_corners_take_little_longer_than_the_middle(machine, gauge_mm):
    """A heater past the opening, in walls that reflect: 1.1 to 1.4 times; bare, twice and more."""
    found, bare = heated("HIPS", gauge_mm, machine), SHOP.machine(machine)
    bare = replace(
        bare, heater_width_mm=bare.opening_width_mm, heater_depth_mm=bare.opening_depth_mm,
        wall_reflection=0.0,
    )  # fmt: skip
    alone = heat_up(sheet("HIPS", gauge_mm), bare)

    assert 1.1 < found.corner_s / found.clock.forming_s < 1.4
    assert (alone.corner_s or 1e9) > 2 * alone.clock.forming_s


@pytest.mark.parametrize("machine", [COILS.name, CLASS.name])
def test_three_millimeters_form_from_one_side(machine):
    """Its face passes its limit by at most 18 °C for at most 30 s, and that is told."""
    found, own = heated("HIPS", 3.0, machine), SHOP.plastic("HIPS")

    assert found.clock.is_open
    assert 0 < found.over_K <= own.brief_over_K
    assert found.forming_s - found.clock.closes_s <= own.brief_s
    told = {one.code: one for one in heating_findings(found)}
    assert told["face-briefly-over"].limit == own.forming_high_degC + own.brief_over_K
    assert "common practice" in told["face-briefly-over"].basis
    strict = replace(own, brief_over_K=0.0, brief_s=0.0)
    assert not heat_up(Sheet(plastic=strict, gauge_mm=3.0), SHOP.machine(machine)).clock.is_open
    assert "face-briefly-over" not in {one.code for one in heating_findings(heated())}


def test_four_millimeters_form_with_less_heat():
    """Full heat leaves no window and no time; the setting that opens one is told by numbers."""
    found = heated("HIPS", 4.0)
    (finding,) = heating_findings(found)
    lower = found.lower

    assert found.forming_s is None
    assert found.usable is lower
    assert lower.clock.is_open
    assert lower.forming_s > found.clock.opens_s
    own, less = (black_flux_W_m2(one.machine.heater_degC) for one in (found, lower))
    assert found.power_share == pytest.approx(less / own, abs=0.02)
    warmer = replace(CLASS, heater_degC=lower.machine.heater_degC + 10)
    closer = heating_clock(sheet("HIPS", 4.0), warmer)
    assert closer.length_s < closer.least_s / 2
    assert finding.code == "face-too-hot"
    assert f"({lower.machine.heater_degC:g} °C effective): then heat about 5 min" in finding.advice
    for way in ("turn the sheet over halfway", "heat it from both sides", "a thinner sheet"):
        assert way in finding.advice


def test_a_sheet_that_burns_first_is_told():
    """A thick sheet under one strong heater: too hot in front before the back is ready."""
    strong = replace(CLASS, heater_degC=650.0)
    found = heat_up(sheet("HIPS", 4.0), strong)
    (finding,) = heating_findings(found)

    assert found.window_s == 0
    assert found.forming_s is None
    assert finding.code == "face-too-hot"
    assert finding.measured > finding.limit
    assert not list(heating_findings(heated()))


def test_no_setting_is_offered_where_none_opens_a_window():
    """A plastic of a narrow window between two heaters: a thinner sheet is the way out."""
    own = replace(SHOP.plastic("PMMA extruded"), brief_over_K=0.0, brief_s=0.0)
    narrow = replace(own, forming_high_degC=own.forming_low_degC + 0.2, forming_degC=145.1)
    found = heat_up(Sheet(plastic=narrow, gauge_mm=8.0), CLASS)
    (finding,) = heating_findings(found)

    assert found.lower is None
    assert found.usable is found
    assert finding.advice.startswith("Take a thinner sheet, or turn the sheet over halfway")


def test_a_thin_sheet_between_perfect_walls_heats_as_a_lump():
    """Gray plates that see nothing else, and one specific heat: the closed form; dull walls not."""
    own = replace(SHOP.plastic("HIPS"), specific_heat_hot_J_kgK=1300.0)
    closed = replace(QUARTZ, wall_reflection=1.0)
    thin = Sheet(plastic=own, gauge_mm=0.2)
    share = sheet_share(closed, 1.0)
    mass_heat = own.density_kg_m3 * 1300 * 0.0002 / 2
    exact_s = radiation_heating_s(mass_heat, share, closed.heater_degC, 20.0, own.forming_degC)

    assert heating_clock(thin, closed).aim_s == pytest.approx(exact_s, rel=0.01)
    dull = replace(closed, wall_reflection=0.5)
    assert heating_clock(thin, dull).aim_s > 1.05 * exact_s


def test_a_short_window_is_told():
    """Thick styrene under the bench's coils is right for a moment only; less heat is told."""
    found = heated("HIPS", 3.0, COILS.name)
    told = [f for f in heating_findings(found) if f.code == "forming-window-short"]

    assert 0 < found.window_s < found.clock.least_s
    assert f"({found.lower.machine.heater_degC:g} °C effective) makes it longer" in told[0].advice
    assert found.lower.window_s > 1.5 * found.window_s
    assert found.usable is found
    assert not any(f.code == "forming-window-short" for f in heating_findings(heated()))


def test_pvc_under_bare_coils_is_a_stop():
    """Under a covered heater it is a caution, other plastics are neither."""
    grave = [f.severity for f in heating_findings(heated("PVC rigid", 0.75, COILS.name))]
    mild = [f.severity for f in heating_findings(heated("PVC rigid", 0.75, CLASS.name))]

    assert Severity.STOP in grave
    assert mild == [Severity.CAUTION]


def test_a_heater_that_is_too_cool_is_refused():
    """One sentence: what was wanted of which machine, and what to do."""
    cool = replace(CLASS, heater_degC=200.0)
    says = (
        r"machine must be able to bring 1.5 mm HIPS to 127 °C "
        r"\(got classroom-450x300, which brings it to \d+ °C\). Take a thinner"
    )
    with pytest.raises(SpecError, match=says):
        heat_up(sheet(), cool)
    assert heating_s(sheet(), cool) is None


def test_the_same_sheet_on_the_same_machine_is_worked_out_once():
    """An equal question has the same answer in hand; any other is asked anew."""
    found = heat_up(sheet(), CLASS)
    timed = replace(CLASS, sources={"heater_share": "timed"})

    assert heat_up(replace(sheet()), replace(CLASS)) is found
    assert not found.course.profiles_degC.flags.writeable
    assert heat_up(sheet(gauge_mm=1.6), CLASS) is not found
    assert heat_up(sheet(), CLASS, untold=0.2) is not found
    # Where a value comes from counts too: a timed machine has other doubts.
    assert heat_up(sheet(), timed).doubts != found.doubts
