"""What readings say of a linear model: shrinkage, range, and each reading without the rest."""

import numpy as np
import pytest
from conftest import published

from moldgen.table.posterior import SCALE_WORTH, linear_posterior, student_95


@pytest.mark.parametrize("row", published("student_95"), ids=lambda row: row["freedom"])
def test_student_95_is_the_handbooks(row):
    """The 95 % point is the printed one to half its last digit."""
    assert student_95(float(row["freedom"])) == pytest.approx(float(row["t"]), abs=0.0005)


def test_the_normal_point_would_be_found_out():
    """The point of the normal distribution in place of Student's is far off at few readings."""
    row = next(row for row in published("student_95") if row["freedom"] == "8")

    assert abs(1.6449 - float(row["t"])) > 0.2


@pytest.mark.parametrize("n", [1, 4, 25])
def test_one_coefficient_is_shrunk_by_the_weights_of_both_variances(n):
    """The mean of n readings is weighted n over n and noise variance over prior variance."""
    readings = np.linspace(0.2, 0.4, n) if n > 1 else np.array([0.3])
    found = linear_posterior(
        np.ones((n, 1)), readings, prior_widths=np.array([0.3]), noise_width=0.1
    )
    weight = n / (n + 0.1**2 / 0.3**2)

    assert found.means[0] == pytest.approx(weight * readings.mean())
    assert found.freedom == SCALE_WORTH + n


def test_without_readings_all_is_as_before():
    """No readings leave the prior's widths and the stated noise."""
    found = linear_posterior(
        np.zeros((0, 2)), np.zeros(0), prior_widths=np.array([0.3, 0.05]), noise_width=0.1
    )

    assert found.means == pytest.approx([0.0, 0.0])
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx([0.3, 0.05])
    assert found.scatter == pytest.approx(0.1)


def test_a_surprise_is_what_the_rest_alone_foretell():
    """Each surprise is that of a fit of all other readings, its scale at least as stated."""
    rng = np.random.default_rng(5)
    columns = np.column_stack([np.ones(7), rng.normal(size=7)])
    readings = rng.normal(scale=0.2, size=7)
    widths = np.array([0.3, 0.2])
    found = linear_posterior(columns, readings, prior_widths=widths, noise_width=0.1)

    for i in range(7):
        rest = np.arange(7) != i
        other = linear_posterior(
            columns[rest], readings[rest], prior_widths=widths, noise_width=0.1
        )
        scale2 = (other.scatter / 0.1) ** 2
        variance = 0.1**2 + columns[i] @ (other.covariance / scale2) @ columns[i]
        off = readings[i] - columns[i] @ other.means
        expected = off / np.sqrt(variance * max(1.0, scale2))
        assert found.surprises[i] == pytest.approx(expected, rel=1e-9)


def test_more_scatter_than_stated_widens_the_range():
    """Readings twice as scattered as stated widen the coefficient's range."""
    signs = np.array([1.0, -1.0] * 10)

    def width(scatter):
        found = linear_posterior(
            np.ones((20, 1)), scatter * signs, prior_widths=np.array([0.3]), noise_width=0.1
        )
        return float(np.sqrt(found.covariance[0, 0]))

    assert width(0.2) > 1.5 * width(0.1)
    assert width(0.05) < width(0.1)
