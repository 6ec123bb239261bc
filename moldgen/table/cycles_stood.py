"""Cycles that molds stood: those that were given up, and those that still stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, lgamma, log

from moldgen.physics.bisection import narrowed
from moldgen.stock.experience import NoteEstimate

_TAIL = 0.05
"""Share of the cases beyond either end of what is told. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MoldCycles:
    """A mold, and how many cycles it has behind it.

    Attributes
    ----------
    cycles : int
        Shots so far.
    ended : bool
        Whether it was given up after them; otherwise it may stand many more.
    """

    cycles: int
    ended: bool


def cycles_stood(molds: Sequence[MoldCycles], *, expected: float) -> NoteEstimate:
    r"""Return how many cycles molds stand on average, from some of which may still stand.

    Parameters
    ----------
    molds : sequence of MoldCycles
        Of one kind.
    expected : float
        What is computed for them; counts as one mold that stood so many. [-]

    Notes
    -----
    Lives are taken as exponential, of mean :math:`L`. With :math:`d` molds given up and :math:`N`
    cycles in all, of these and of those that still stand, the likelihood is
    :math:`L^{-d} e^{-N/L}`; with the prior of one mold of the computed life :math:`L_0`,
    :math:`1/L` has a gamma distribution of shape :math:`d + 1` and rate :math:`L_0 + N`. What is
    told is

    .. math:: L = \frac{L_0 + N}{d + 1}

    A mold that still stands adds to :math:`N` alone, so it never lowers it. Molds wear out more
    regularly than that, so that what is told of the doubt is rather too much.

    References
    ----------
    .. [1] Lawless, "Statistical Models and Methods for Lifetime Data", 2nd ed., 2003, chapter 4:
       exponential lives, censored.
    .. [2] Gelman, Carlin, Stern, Rubin, "Bayesian Data Analysis", 2nd ed., chapter 2: the gamma
       prior of a rate.
    """
    shape = 1 + sum(one.ended for one in molds)
    total = expected + sum(one.cycles for one in molds)
    return NoteEstimate(
        value=total / shape,
        low=total / gamma_point(shape, 1 - _TAIL),
        high=total / gamma_point(shape, _TAIL),
        n_notes=len(molds),
    )


def gamma_point(shape: int, share: float) -> float:
    r"""Return below which number a share of a gamma distribution of rate 1 lies.

    Parameters
    ----------
    shape : int
        At least 1.
    share : float
        Between 0 and 1.

    Notes
    -----
    For a whole shape :math:`k`, the share below :math:`x` is
    :math:`1 - e^{-x} \sum_{j<k} x^j / j!`: half of chi squared of :math:`2k` degrees of freedom.

    Checked against ``tests/published/chi_squared.csv``.
    """
    low, high = narrowed(
        lambda x: _gamma_share(shape, x) >= share, 0.0, 40.0 + 4.0 * shape, within=1e-9
    )
    return (low + high) / 2


def _gamma_share(shape: int, x: float) -> float:
    if x <= 0:
        return 0.0
    return 1 - sum(exp(j * log(x) - x - lgamma(j + 1)) for j in range(shape))
