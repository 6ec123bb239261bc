"""Air through holes and out of volumes: against tables, worked examples and closed forms."""

from math import inf, isinf, log, pi

import numpy as np
import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.blow_down import adiabatic_blow_down, isothermal_blow_down

from moldgen.errors import SpecError
from moldgen.physics.air.airflow import (
    ATMOSPHERE_kPa,
    choked_factor,
    choked_flow_kg_s,
    choked_volume_L_s,
    critical_ratio,
    emptying_time_s,
    equalized_kPa,
    flow_share,
    orifice_flow_kg_s,
    pump_down_s,
    rough_friction_factor,
)
from moldgen.written_number import measure

FEW = settings(max_examples=30, deadline=None)


def test_constants_of_choked_air_are_those_of_the_tables():
    """Critical ratio and flux factor, to the last printed digit."""
    ours = {"critical_ratio": critical_ratio(), "choked_factor": choked_factor()}
    for row in published("air_constants"):
        assert ours[row["what"]] == pytest.approx(
            float(row["value"]), abs=half_last_digit(row["value"])
        )


def test_another_gas_has_other_constants():
    """A gas of one atom (k = 5/3) misses the table of air."""
    row = published("air_constants")[0]
    assert abs(critical_ratio(5 / 3) - float(row["value"])) > 1e-2
    assert abs(choked_factor(5 / 3) - choked_factor()) > 1e-2


@pytest.mark.parametrize("row", published("air_choked"), ids=lambda row: row["what"])
def test_choked_holes_let_through_what_is_tabulated(row):
    """Mass and volume in a second."""
    area, cd = float(row["area_mm2"]), float(row["cd"])
    flow = choked_flow_kg_s(area, upstream_kPa=ATMOSPHERE_kPa, cd=cd) * 1e6
    assert flow == pytest.approx(
        float(row["kg_s_times_1e6"]), abs=1.01 * half_last_digit(row["kg_s_times_1e6"])
    )
    volume = choked_volume_L_s(area, cd=cd)
    assert volume == pytest.approx(float(row["L_s"]), abs=1.01 * half_last_digit(row["L_s"]))


def test_gauge_pressure_or_celsius_would_miss_the_table():
    """The same hole given 20 K, or the pressure above the atmosphere of 0, is far off."""
    row = published("air_choked")[0]
    printed = float(row["kg_s_times_1e6"]) / 1e6
    assert choked_flow_kg_s(1, upstream_kPa=ATMOSPHERE_kPa, temperature_K=20) > 2 * printed
    assert choked_flow_kg_s(1, upstream_kPa=0) == 0


def test_flow_below_choking_is_as_tabulated():
    """Shares of the choked flow."""
    for row in published("air_flow_share"):
        assert flow_share(float(row["pressure_ratio"])) == pytest.approx(
            float(row["share"]), abs=half_last_digit(row["share"])
        )


def test_bernoulli_would_miss_the_table():
    """Air as if it could not be compressed: near equal pressures right, at 0.6 far off."""
    scale = choked_factor() * 1.4**0.5
    plain = {x: (2 * (1 - x)) ** 0.5 / scale for x in (0.6, 0.95)}
    assert plain[0.95] == pytest.approx(float(flow_share(0.95)), rel=0.03)
    assert abs(plain[0.6] - float(flow_share(0.6))) > 0.2


@pytest.mark.parametrize("row", published("air_examples"), ids=lambda row: row["what"])
def test_worked_examples_of_a_textbook(row):
    """A flat tire and a nozzle, choked and not."""
    flow = orifice_flow_kg_s(
        float(row["area_mm2"]),
        float(row["upstream_kPa"]),
        float(row["downstream_kPa"]),
        temperature_K=float(row["temperature_K"]),
    )
    assert flow == pytest.approx(float(row["kg_s"]), rel=float(row["within"]))


def test_the_tire_by_its_gauge_is_wrong():
    """220 kPa without the atmosphere gives two thirds of the printed flow."""
    row = published("air_examples")[0]
    flow = orifice_flow_kg_s(12.56637, 220, 94, temperature_K=298.15)
    assert flow < 0.75 * float(row["kg_s"])


def test_a_tire_goes_flat_as_in_the_book():
    """Time constant, and when it stops being choked."""
    rows = {row["what"]: float(row["seconds"]) for row in published("air_tire")}
    area_mm2 = pi / 4 * (0.0938 * 25.4) ** 2
    tau_s = emptying_time_s(28.3168, area_mm2, temperature_K=294.26)
    unchokes = 14.7 / critical_ratio() / 50
    assert tau_s == pytest.approx(rows["time constant"], rel=3e-3)
    assert tau_s * isothermal_blow_down(unchokes) == pytest.approx(rows["un-chokes"], rel=3e-3)
    assert 14.7 / critical_ratio() == pytest.approx(27.8, abs=0.05)
    # As if nothing cooled but no heat came in either, it would stop sooner.
    assert tau_s * adiabatic_blow_down(unchokes) < 0.9 * rows["un-chokes"]


def test_adiabatic_blow_down_is_as_tabulated():
    """The form that integration confirms, to the printed digits."""
    for row in published("air_adiabatic"):
        times = adiabatic_blow_down(float(row["pressure_ratio"]))
        assert times == pytest.approx(float(row["times"]), abs=1.01 * half_last_digit(row["times"]))


def test_the_misprinted_adiabatic_form_misses():
    """With k + 1 in place of k - 1 the same formula is far off."""
    row = published("air_adiabatic")[0]
    wrong = (float(row["pressure_ratio"]) ** (-2.4 / 2.8) - 1) * 2 / 2.4
    assert abs(wrong - float(row["times"])) > 0.1


def test_isothermal_blow_down_is_a_logarithm():
    """Half the pressure after ln 2 time constants."""
    assert isothermal_blow_down(0.5) == pytest.approx(log(2), rel=1e-12)
    assert isothermal_blow_down(1.0) == 0


def test_a_hole_chokes_just_at_the_critical_ratio():
    """The flow grows down to it, and not at all below."""
    x = critical_ratio()
    assert float(flow_share(x)) == pytest.approx(1, abs=1e-12)
    assert float(flow_share(x + 0.01)) < 1
    assert float(flow_share(0.1)) == 1
    assert float(flow_share(1.0)) == 0
    assert float(flow_share(1.2)) == 0


def test_joined_volumes_share_their_pressure():
    """10 L at 10 kPa and 1 L of the atmosphere."""
    assert equalized_kPa((10, 10), (1, 101.325)) == pytest.approx(18.302, abs=5e-4)


@FEW
@given(st.floats(0.1, 50), st.floats(0.1, 50), st.floats(0, 100), st.floats(0, 100))
def test_joining_volumes_loses_no_air(V, W, p, q):
    """Pressure times volume stays, and the pressure lies between both."""
    together = equalized_kPa((V, p), (W, q))
    assert together * (V + W) == pytest.approx(V * p + W * q, rel=1e-12, abs=1e-12)
    assert min(p, q) - 1e-9 <= together <= max(p, q) + 1e-9


def test_a_pump_takes_its_logarithm():
    """A pump of 1 L/s on 5 L: a tenth of the pressure after 5 ln 10 seconds; never below."""
    assert pump_down_s(5, 100, 10, pump_L_s=1) == pytest.approx(5 * log(10), rel=1e-12)
    assert pump_down_s(5, 100, 40, pump_L_s=1, lowest_kPa=30) == pytest.approx(5 * log(7))
    assert isinf(pump_down_s(5, 100, 30, pump_L_s=1, lowest_kPa=30))
    assert pump_down_s(5, 30, 100, pump_L_s=1) == 0


def test_rough_friction_is_von_karmans():
    """The rough end of the pipe chart: f = 0.0379 at a relative roughness of 0.01."""
    assert rough_friction_factor(100, 1) == pytest.approx(0.0379, abs=5e-5)
    assert rough_friction_factor(100, 5) == pytest.approx(0.0716, abs=5e-5)
    # Roughness given as the radius' share would be another line of the chart.
    assert abs(rough_friction_factor(50, 1) - 0.0379) > 0.01
    assert rough_friction_factor(0.5, 0.2) == rough_friction_factor(0.3, 0.2)


@FEW
@given(st.floats(0.1, 20), st.floats(20, 100), st.floats(0.1, 1))
def test_more_hole_or_less_pressure_behind_never_flows_less(area, behind_kPa, cd):
    """Flow is proportional to the area and falls with the pressure behind."""
    flow = orifice_flow_kg_s(area, ATMOSPHERE_kPa, behind_kPa, cd=cd)
    double = orifice_flow_kg_s(2 * area, ATMOSPHERE_kPa, behind_kPa, cd=cd)
    lower = orifice_flow_kg_s(area, ATMOSPHERE_kPa, 0.9 * behind_kPa, cd=cd)
    assert double == pytest.approx(2 * flow, rel=1e-12)
    assert lower >= flow
    assert flow <= choked_flow_kg_s(area, upstream_kPa=ATMOSPHERE_kPa, cd=cd) * (1 + 1e-12)


def test_small_differences_follow_bernoulli():
    """At 0.1 % of the pressure air is as good as incompressible."""
    density = ATMOSPHERE_kPa * 1e3 / (287.05 * 293.15)
    plain = 1e-6 * (2 * density * 0.001 * ATMOSPHERE_kPa * 1e3) ** 0.5
    assert orifice_flow_kg_s(1, ATMOSPHERE_kPa, 0.999 * ATMOSPHERE_kPa) == pytest.approx(
        plain, rel=1e-3
    )


@pytest.mark.parametrize("row", published("air_vacuum"), ids=lambda row: row["inHg"])
def test_a_vacuum_gauge_reads_in_any_unit(row):
    """Inches of mercury, kilopascals and pounds on the square inch; 29.92 is the atmosphere."""
    pressure_kPa = measure("vacuum", f"{row['inHg']} inHg", unit="kPa")
    assert pressure_kPa == pytest.approx(float(row["kPa"]), abs=1.01 * half_last_digit(row["kPa"]))
    psi = measure("vacuum", f"{row['psi']} psi", unit="kPa")
    assert pressure_kPa == pytest.approx(psi, abs=1.01 * 6.894757 * half_last_digit(row["psi"]))
    if row["inHg"] == "29.92":
        assert pressure_kPa == pytest.approx(ATMOSPHERE_kPa, abs=0.01)


def test_millimeters_of_mercury_would_miss_the_table():
    """As 0.1333 kPa each an inch of mercury is far off."""
    row = published("air_vacuum")[1]
    assert abs(10 * 0.133322 - float(row["kPa"])) > 30


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: choked_flow_kg_s(0, upstream_kPa=100), r"area_mm2 must be more than 0 mm²"),
        (lambda: choked_flow_kg_s(1, upstream_kPa=-1), r"upstream_kPa must be at least 0 kPa"),
        (lambda: choked_flow_kg_s(1, upstream_kPa=1, cd=1.2), r"cd must be more than 0 and at mo"),
        (
            lambda: choked_flow_kg_s(1, upstream_kPa=1, temperature_K=-20),
            r"temperature_K must be more than 0 K",
        ),
        (lambda: orifice_flow_kg_s(1, 50, 60), r"downstream_kPa must be at most the pressure ups"),
        (lambda: emptying_time_s(0, 1), r"volume_L must be more than 0 L"),
        (lambda: isothermal_blow_down(1.5), r"pressure_ratio must be more than 0 and at most 1"),
        (lambda: equalized_kPa((0, 1)), r"volume_L must be more than 0 L"),
        (lambda: pump_down_s(1, 100, 50, pump_L_s=0), r"pump_L_s must be more than 0 L/s"),
        (lambda: pump_down_s(1, 100, 0, pump_L_s=1), r"to_kPa must be more than 0 kPa"),
        (lambda: rough_friction_factor(inf, 1), r"diameter_mm must be more than 0 mm"),
    ],
)
def test_bad_numbers_are_refused(call, sentence):
    """One sentence with field, rule and value."""
    with pytest.raises(SpecError, match=sentence):
        call()


def test_arrays_keep_their_shape():
    """Shares of a table are a table."""
    assert flow_share(np.full((3, 2), 0.7)).shape == (3, 2)
