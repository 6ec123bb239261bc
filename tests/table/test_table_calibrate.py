"""A machine fitted to observed times: found again, foretold, what cannot be told, refusals."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.stock import Sheet, load_shop
from moldgen.stock.forming_machine import HeaterKind
from moldgen.table.calibrate import (
    HeaterFit,
    Seen,
    _chosen_element,
    calibration_findings,
    machine_from_times,
    untold_share,
)
from moldgen.table.heat_up import heating_s
from moldgen.table.timed_entry import machine_toml
from moldgen.table.trial import Conditions

SHOP = load_shop(user_file=None)
CLASS = SHOP.machine("classroom-450x300")
FEW = settings(max_examples=4, deadline=None)


def sheet(plastic, gauge_mm):
    """Return a sheet of the stock."""
    return Sheet(plastic=SHOP.plastic(plastic), gauge_mm=gauge_mm)


def times_on(machine, *sheets, day=None):
    """Return what would be seen on a machine."""
    day = day or Conditions()
    return [Seen(sheet=one, seconds=heating_s(one, machine, day=day)) for one in sheets]


THIN, THICK = sheet("HIPS", 0.75), sheet("HIPS", 1.5)
TRADE = [Seen(sheet=THIN, seconds=30), Seen(sheet=THICK, seconds=60)]


@FEW
@given(st.floats(0.7, 1.8), st.booleans())
def test_a_share_is_found_again(share, fan):
    """Times made up on a machine of known share lead back to it."""
    day = Conditions(fan=fan)
    made_up = times_on(replace(CLASS, heater_share=share), THIN, THICK, day=day)

    fit = machine_from_times(CLASS, made_up, day=day)

    assert fit.machine.heater_share == pytest.approx(share, rel=0.03)
    assert fit.machine.heater_degC == CLASS.heater_degC
    assert fit.misfit < 0.02
    assert fit.fitted_s == pytest.approx([one.seconds for one in made_up], rel=0.03)


def test_other_gauges_and_plastics_are_foretold():
    """A machine that really is hotter and duller than its entry, known from two sheets alone."""
    truth = replace(CLASS, heater_degC=520.0, heater_share=0.8)
    fit = machine_from_times(CLASS, times_on(truth, THIN, THICK))

    for plastic, gauge_mm in (("HIPS", 3.0), ("PETG", 1.0), ("PP", 1.5), ("ABS", 2.0)):
        wanted = sheet(plastic, gauge_mm)
        found_s, true_s = heating_s(wanted, fit.machine), heating_s(wanted, truth)
        assert found_s == pytest.approx(true_s, rel=0.06)
        # The entry as it was would be off by more.
        assert heating_s(wanted, CLASS) != pytest.approx(true_s, rel=0.15)


def test_one_time_sets_the_scale_alone():
    """The temperature stays, the time is met, and it says so."""
    fit = machine_from_times(CLASS, TRADE[:1])

    assert fit.machine.heater_degC == CLASS.heater_degC
    assert heating_s(THIN, fit.machine) == pytest.approx(30, rel=0.02)
    assert fit.says.startswith("one time sets the scale alone, heater_share 0.")
    assert "second gauge" in fit.says


def test_what_cannot_be_told_apart_is_said():
    """Two gauges of one plastic fit many heaters, which foretell a hotter plastic less surely."""
    fit = machine_from_times(CLASS, TRADE)
    cool, hot = fit.alike

    assert cool.heater_degC < CLASS.heater_degC < hot.heater_degC
    assert cool.heater_share > fit.machine.heater_share > hot.heater_share
    for machine in fit.alike:
        assert heating_s(THIN, machine) == pytest.approx(30, rel=0.1)
    assert untold_share(fit, THICK) < untold_share(fit, sheet("PC", 1.0)) < 0.5


def test_a_wrong_temperature_is_overruled():
    """A heater taken for much too cool cannot explain a plastic that forms hot; another can."""
    truth = replace(CLASS, heater_degC=450.0)
    seen = times_on(truth, sheet("HIPS", 1.0), sheet("PC", 1.5))
    wrong = replace(CLASS, heater_degC=200.0)

    fit = machine_from_times(wrong, seen)

    assert fit.machine.heater_degC > 300
    assert fit.misfit < 0.15
    assert "the entry's 200 °C does not" in fit.says


@pytest.mark.parametrize(
    ("misfits", "n_seen", "chosen"),
    [
        ((0.02, 0.30, 0.20), 2, 0),
        ((0.02, 0.30, 0.20), 1, 2),
        ((0.02, 0.30, 0.10), 2, 2),
        ((0.18, 0.30, 0.20), 2, 2),
        ((0.18, 0.30, 3.00), 1, 0),
    ],
)
def test_the_entry_is_kept_unless_it_cannot_explain(misfits, n_seen, chosen):
    """The last is the entry's own: overruled by several times only, and by a heater that can."""
    assert _chosen_element(np.array(misfits), n_seen) == chosen


def test_times_that_contradict_each_other_are_told():
    """A thin sheet that took as long as a thick one: fitted as well as may be, with a caution."""
    odd = [Seen(sheet=THIN, seconds=30), Seen(sheet=THICK, seconds=30)]
    fit = machine_from_times(CLASS, odd)
    told = {finding.code: finding for finding in calibration_findings(fit)}

    assert told["times-disagree"].severity is Severity.CAUTION
    assert told["times-disagree"].measured > told["times-disagree"].limit
    first, second = fit.fitted_s
    assert first < 30 < second
    assert not calibration_findings(machine_from_times(CLASS, TRADE))


def test_an_odd_share_is_told():
    """A heater that brings a fifth of what it should was probably not hot yet."""
    slow = times_on(replace(CLASS, heater_degC=600, heater_share=0.12), THIN)
    fit = machine_from_times(replace(CLASS, heater_degC=600), slow)

    assert [finding.code for finding in calibration_findings(fit)] == ["share-odd"]


def test_more_times_average_out():
    """The fit lies between two readings of the same sheet."""
    twice = [Seen(sheet=THIN, seconds=27), Seen(sheet=THIN, seconds=33)]
    (first, second) = machine_from_times(CLASS, twice).fitted_s

    assert first == second == pytest.approx((27 * 33) ** 0.5, rel=0.02)


def test_the_entry_is_read_back(tmp_path):
    """What is told to be put into a stock file is a machine there, and heats as fitted."""
    fit = machine_from_times(CLASS, TRADE)
    text = machine_toml(fit, 'The "shed" table')
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")

    own = load_shop([path], user_file=None).machine('The "shed" table')

    assert tomllib.loads(text)["machine"]
    assert own.heater_share == fit.machine.heater_share
    assert own.heater_degC == fit.machine.heater_degC
    assert own.table_width_mm == CLASS.table_width_mm
    assert "HIPS 0.75 mm 30 s" in own.sources["heater_share"]
    assert heating_s(THIN, own) == pytest.approx(30, rel=0.02)


def test_an_oven_can_be_timed():
    """The share works there as well, and is found again."""
    oven = replace(CLASS, heater_kind=HeaterKind.OVEN, heater_degC=190.0)
    acrylic = sheet("PMMA cast", 3.0), sheet("PMMA cast", 5.0)
    made_up = times_on(replace(oven, heater_share=0.8), *acrylic)

    fit = machine_from_times(oven, made_up)

    assert fit.fitted_s == pytest.approx([one.seconds for one in made_up], rel=0.05)


def test_nothing_seen_is_refused():
    """There must be a time to fit to."""
    with pytest.raises(SpecError, match=r"seen must be at least one time \(got none\)"):
        machine_from_times(CLASS, [])


def test_times_no_heater_takes_are_refused():
    """An hour for a film is no heating."""
    film = Seen(sheet=sheet("HIPS", 0.1), seconds=3600)
    with pytest.raises(SpecError, match="seen must be times that classroom-450x300 can take"):
        machine_from_times(CLASS, [film])


@pytest.mark.parametrize("seconds", [0, -3, 4000, float("nan")])
def test_impossible_times_are_refused(seconds):
    """More than nothing and at most an hour."""
    with pytest.raises(SpecError, match="seconds must be more than 0 s and at most 3600 s"):
        Seen(sheet=THIN, seconds=seconds)


@pytest.mark.parametrize(
    ("share", "codes"), [(1.5, []), (1.6, ["share-odd"]), (0.29, ["share-odd"])]
)
def test_a_share_is_believed_from_a_third_to_one_and_a_half(share, codes):
    """Beyond that distance or heater are not what the entry says."""
    machine = replace(CLASS, heater_share=share)
    fit = HeaterFit(
        machine=machine, seen=(), fitted_s=(), misfit=0.0, alike=(machine, machine), says=""
    )

    assert [finding.code for finding in calibration_findings(fit)] == codes
