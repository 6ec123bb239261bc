"""Posterior: what a few readings say of numbers of which something was known before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.arrays import Floats

SCALE_WORTH = 20.0
"""How many readings the stated widths count as, against the scatter that is seen; a choice."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """Coefficients of a linear model after readings, and what each reading is without the rest.

    Attributes
    ----------
    means : ndarray, shape (p,)
        Of the coefficients. [unit of the readings over that of the columns]
    covariance : ndarray, shape (p, p)
        Of the coefficients, for Student's distribution.
    scatter : float
        Standard deviation of one reading about the model. [unit of the readings]
    freedom : float
        Degrees of freedom of Student's distribution. [-]
    surprises : ndarray, shape (n,)
        Each reading less what all others foretell of it, over the standard deviation of that; the
        scatter is never taken for less than stated. [-]
    """

    means: Floats
    covariance: Floats
    scatter: float
    freedom: float
    surprises: Floats


def linear_posterior(
    columns: Floats, readings: Floats, *, prior_widths: Floats, noise_width: float
) -> Posterior:
    r"""Return what readings say of a linear model whose coefficients are about zero.

    Parameters
    ----------
    columns : ndarray, shape (n, p)
        What each coefficient counts in each reading.
    readings : ndarray, shape (n,)
        What was read; there may be none.
    prior_widths : ndarray, shape (p,)
        Standard deviation of each coefficient before; more than 0.
    noise_width : float
        Standard deviation of one reading, as stated; more than 0.

    Notes
    -----
    .. math:: y = X \beta + e, \quad \beta \sim N(0, s^2 V), \quad e \sim N(0, s^2 w^2 I),
       \quad \nu_0 / s^2 \sim \chi^2_{\nu_0}

    with :math:`V` the squares of the prior widths, :math:`w` the noise width. One scale :math:`s`,
    about 1, of all widths is learned too. Then :math:`\beta` has Student's distribution with
    :math:`\nu = \nu_0 + n` degrees of freedom, about :math:`m`, with covariance
    :math:`\hat s^2 A^{-1}`:

    .. math:: A = V^{-1} + X^T X / w^2, \quad m = A^{-1} X^T y / w^2, \quad
       \hat s^2 = (\nu_0 + y^T y / w^2 - m^T A m) / \nu

    Without reading :math:`i` the rest foretell it up to :math:`r_i / (1 - h_i)`, of variance
    :math:`s^2 w^2 / (1 - h_i)`, where :math:`r = y - X m` and :math:`h_i = x_i^T A^{-1} x_i / w^2`.

    References
    ----------
    .. [1] Gelman, Carlin, Stern, Rubin, "Bayesian Data Analysis", 2nd ed., chapter 14: normal
       linear model with conjugate prior.
    .. [2] Cook, Weisberg, "Residuals and Influence in Regression", 1982: residuals without a
       reading.
    """
    X, y, w = columns, readings, noise_width
    A = np.diag(prior_widths**-2.0) + X.T @ X / w**2
    inverse: Floats = np.linalg.inv(A).astype(np.float64)
    m = inverse @ (X.T @ y) / w**2
    misfit = max(0.0, float(y @ y / w**2 - m @ A @ m))
    freedom = SCALE_WORTH + len(y)
    scale2 = (SCALE_WORTH + misfit) / freedom
    left = 1 - np.einsum("ij,jk,ik->i", X, inverse, X) / w**2
    residuals = y - X @ m
    own = residuals**2 / (w**2 * left)
    others2 = np.maximum(1.0, (SCALE_WORTH + np.maximum(misfit - own, 0.0)) / (freedom - 1))
    return Posterior(
        means=m,
        covariance=scale2 * inverse,
        scatter=float(np.sqrt(scale2)) * w,
        freedom=freedom,
        surprises=residuals / (w * np.sqrt(left * others2)),
    )


def student_95(freedom: float) -> float:
    r"""Return Student's 95 % point, between whose negative and itself 90 % lie. [-].

    Parameters
    ----------
    freedom : float
        Degrees of freedom, 8 or more. [-]

    Notes
    -----
    .. math:: t = x + \frac{x^3 + x}{4 \nu} + \frac{5 x^5 + 16 x^3 + 3 x}{96 \nu^2}
       + \frac{3 x^7 + 19 x^5 + 17 x^3 - 15 x}{384 \nu^3}
       + \frac{79 x^9 + 776 x^7 + 1482 x^5 - 1920 x^3 - 945 x}{92160 \nu^4}, \quad x = 1.6448536

    References
    ----------
    .. [1] Abramowitz, Stegun, "Handbook of Mathematical Functions", 1964, 26.7.5.

    Checked against ``tests/published/student_95.csv``.
    """
    x, n = 1.6448536269514722, freedom
    first = (x**3 + x) / 4
    second = (5 * x**5 + 16 * x**3 + 3 * x) / 96
    third = (3 * x**7 + 19 * x**5 + 17 * x**3 - 15 * x) / 384
    fourth = (79 * x**9 + 776 * x**7 + 1482 * x**5 - 1920 * x**3 - 945 * x) / 92160
    return x + first / n + second / n**2 + third / n**3 + fourth / n**4
