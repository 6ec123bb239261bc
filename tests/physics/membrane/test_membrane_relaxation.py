"""Stress relaxation against its definition, exact integrals and the viscosity of polystyrene."""

import numpy as np
import pytest
from conftest import published
from support.some import some

from moldgen.errors import SpecError
from moldgen.physics.membrane.relaxation import share_left, time_at_s, wlf_factor
from moldgen.stock import load_shop

MELT = {row["what"]: float(row["value"]) for row in published("polystyrene_melt")}
SHOP = load_shop(user_file=None)


@pytest.mark.parametrize("mean_s", [0.5, 8.0, 1000.0])
def test_the_mean_time_is_the_area_under_the_share(mean_s):
    """Summed over all time the share left comes to the mean relaxation time, to a thousandth."""
    times_s = mean_s * np.linspace(0.0, 12.0, 200_001) ** 2
    shares = np.array([share_left(time_s, mean_s=mean_s) for time_s in times_s])

    assert np.trapezoid(shares, times_s) == pytest.approx(mean_s, rel=1e-3)
    assert share_left(0.0, mean_s=mean_s) == 1.0
    assert np.all(np.diff(shares[shares > 1e-12]) < 0)


@pytest.mark.parametrize(("time_s", "mean_s"), [(-1.0, 8.0), (1.0, 0.0)])
def test_no_share_is_told_of_times_that_are_none(time_s, mean_s):
    """A time under 0 and a mean of 0 are refused."""
    with pytest.raises(SpecError):
        share_left(time_s, mean_s=mean_s)


def test_times_shift_by_williams_landel_and_ferry():
    """100 K over the glass transition 11.5 decades shorter than at it; colder, as at it."""
    shift = wlf_factor(np.array([200.0, 100.0, 60.0]), from_degC=100.0, glass_degC=100.0)

    np.testing.assert_allclose(np.log10(shift), [-17.44 * 100 / 151.6, 0.0, 0.0], atol=1e-12)


def test_a_course_counts_as_its_own_time_at_one_temperature():
    """At the temperature itself second for second, colder less, by the factor there."""
    times_s = np.linspace(0.0, 5.0, 51)
    setting = {"from_degC": 147.0, "glass_degC": 100.0}

    same, colder = (time_at_s(times_s, np.full(51, degC), **setting) for degC in (147.0, 137.0))

    assert same == pytest.approx(5.0, rel=1e-12)
    assert colder == pytest.approx(5.0 / float(wlf_factor(np.array(137.0), **setting)), rel=1e-12)


@pytest.mark.parametrize(
    ("name", "molar_mass_kg_mol", "glass_degC"),
    [("HIPS", 200.0, 100.0), ("HIPS", 200.0, 95.0), ("GPPS", 200.0, 100.0), ("GPPS", 250.0, 100.0)],
)
def test_the_times_of_styrenes_follow_from_their_viscosity(name, molar_mass_kg_mol, glass_degC):
    """Viscosity by Fox and Flory over the plateau modulus, shifted, lies in the band in stock."""
    plastic = SHOP.plastic(name)
    poise = 10 ** (
        MELT["viscosity power"] * np.log10(1000 * molar_mass_kg_mol) - MELT["viscosity constant"]
    )
    known_s = 0.1 * poise / (1000 * MELT["plateau kPa"])

    def decades(degC, glass):
        return MELT["wlf first"] * (degC - glass) / (MELT["wlf second K"] + degC - glass)

    # Oil thins the melt and lowers its glass transition: the same constants from a lower one.
    shift = decades(MELT["viscosity degC"], MELT["glass degC"])
    mean_s = known_s * 10 ** (shift - decades(plastic.forming_degC, glass_degC))

    low_s, high_s = plastic.bands["relaxation_s"]
    assert low_s < mean_s < high_s


def test_every_time_in_stock_lies_in_a_band_with_its_source():
    """A plastic with a relaxation time has a band at least four times as wide as it is low."""
    known = [plastic for plastic in SHOP.plastics.entries if plastic.relaxation_s is not None]

    assert len(known) >= 8
    for plastic in some(known):
        low_s, high_s = plastic.bands["relaxation_s"]
        assert low_s < plastic.relaxation_s < high_s
        assert high_s > 4 * low_s
        assert "from memory" in plastic.sources["relaxation_s"]
