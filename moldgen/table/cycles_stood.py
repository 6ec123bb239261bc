"""Cycles that molds stood: those that were given up, and those that still stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, lgamma, log

from moldgen.physics.bisection import narrowed
from moldgen.stock.experience import CyclesStood, NoteEstimate
from moldgen.table.mold_life import TOLD_CYCLES, MoldLife

_TAIL = 0.05
"""Share of the cases beyond either end of what is told. [-]."""
_FAR_SHARE = 1e-4
"""A mold contradicts the others if they give so few molds so many cycles; about as rare as what
lies four standard deviations off. [-]."""


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
    return _estimate(
        expected + sum(one.cycles for one in molds),
        n_ended=sum(one.ended for one in molds),
        n_molds=len(molds),
    )


def _estimate(total: float, *, n_ended: int, n_molds: int) -> NoteEstimate:
    shape = 1 + n_ended
    return NoteEstimate(
        value=total / shape,
        low=total / gamma_point(shape, 1 - _TAIL),
        high=total / gamma_point(shape, _TAIL),
        n_notes=n_molds,
    )


def expected_cycles(life: MoldLife) -> float:
    """Return how many cycles are computed for a mold, as notes are held against it. [-].

    Where pauses make it last, or it never sinks, as many as a class asks of it.
    """
    if life.in_a_row is None or life.pause_s is not None:
        return float(TOLD_CYCLES)
    return float(max(1, life.in_a_row))


def stood_with(known: CyclesStood, *, expected: float) -> CyclesStood:
    """Return how many cycles molds of a filament stand, where so many are computed for them.

    Parameters
    ----------
    known : CyclesStood
        What the notes say of the filament.
    expected : float
        What is computed for this mold, in the place of what is for the usual one. [-]
    """
    cycles = _estimate(
        expected + known.n_cycles, n_ended=known.n_ended, n_molds=known.cycles.n_notes
    )
    return replace(known, cycles=cycles)


def far_molds(molds: Sequence[MoldCycles], *, expected: float) -> tuple[int, ...]:
    r"""Return which molds have more cycles behind them than the others allow.

    Parameters
    ----------
    molds : sequence of MoldCycles
        Of one kind.
    expected : float
        What is computed for them. [-]

    Returns
    -------
    tuple of int
        Places in the sequence, the farthest first.

    Notes
    -----
    With what all others say of the life, as in `cycles_stood`, a mold stands :math:`n` cycles with

    .. math:: P = \left(1 + \frac{n}{L_0 + N}\right)^{-(d + 1)}

    Lives differ so much that a short one contradicts nothing. The computed life is trusted to a
    factor of two only, so that a single mold contradicts nothing either.
    """
    kept, out = list(range(len(molds))), list[int]()
    while len(kept) > 1:
        worst = max(kept, key=lambda place: molds[place].cycles)
        others = [molds[place] for place in kept if place != worst]
        total = expected + sum(one.cycles for one in others)
        shape = 1 + sum(one.ended for one in others)
        if (1 + molds[worst].cycles / total) ** -shape >= _FAR_SHARE:
            break
        out.append(worst)
        kept.remove(worst)
    return tuple(out)


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
