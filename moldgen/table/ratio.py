"""Ratio: one factor between what was noted and what was computed, shrunk toward 1."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, sqrt

import numpy as np

from moldgen.stock.experience import NoteEstimate
from moldgen.table.posterior import Posterior, linear_posterior, student_95
from moldgen.trust import COOLING, CORNER_THICKNESS

COOLING_WITHIN = log(1 + (COOLING.share or 0.0))
"""How far cooling times are trusted, read as one standard deviation of the logarithm. [-]."""
THICKNESS_WITHIN = log(1 + (CORNER_THICKNESS.share or 0.0))
"""The same of thicknesses of a formed sheet where it is thin, as it is in corners. [-]."""
PRINTING_WITHIN = 0.3
"""The same of hours of printing, which printers and slicers make differ; common practice, no
source. [-]."""
NOTED_WITHIN = 0.2
"""Scatter of one time that was noted while something else was done; common practice, no source.
[-]."""
CALIPER_WITHIN = 0.15
"""Scatter of the thickness at one place: sheet, place and caliper; common practice, no source.
[-]."""

ANY_FACTOR = 3.0
"""Width of a factor where notes are held against each other alone: left open. [-]."""
FAR = 4.0
"""Standard deviations from what all others foretell at which a note is none of theirs; one right
note in some thousands is so far off. [-]."""
_PAIR = 2


def ratio_estimate(
    ratios: Sequence[float], *, within: float, scatter: float
) -> NoteEstimate | None:
    """Return the factor between what was noted and what was computed; None if nothing was.

    Parameters
    ----------
    ratios : sequence of float
        Noted over computed, one a note. [-]
    within : float
        How far the factor may be off before anything was noted, as a standard deviation of the
        logarithm. [-]
    scatter : float
        The same of one ratio about the factor. [-]

    Notes
    -----
    `linear_posterior` with a single column of ones, for the logarithms: with `n` notes the mean
    logarithm is shrunk by `n` over `n` and the square of scatter over within.
    """
    if not ratios:
        return None
    found = _posterior(ratios, within, scatter)
    mean, reach = float(found.means[0]), student_95(found.freedom)
    off = reach * sqrt(float(found.covariance[0, 0]))
    return NoteEstimate(
        value=exp(mean), low=exp(mean - off), high=exp(mean + off), n_notes=len(ratios),
        spread=exp(reach * found.scatter),
    )  # fmt: skip


def ratio_contradictions(ratios: Sequence[float], *, scatter: float) -> tuple[tuple[int, ...], ...]:
    """Return which ratios contradict the rest: one by itself, or both of two.

    One after the other is taken out, the farthest from what the rest foretell first, until none is
    `FAR` standard deviations from them. Of two nothing tells which is wrong.

    Parameters
    ----------
    ratios : sequence of float
        Noted over computed, one a note. [-]
    scatter : float
        Of one ratio about the factor, as a standard deviation of the logarithm. [-]

    Returns
    -------
    tuple of tuple of int
        Places in the sequence.
    """
    kept = list(range(len(ratios)))
    out: list[tuple[int, ...]] = []
    while len(kept) > 1:
        surprises = np.abs(_posterior([ratios[one] for one in kept], ANY_FACTOR, scatter).surprises)
        if surprises.max() <= FAR:
            break
        out.append(tuple(kept) if len(kept) == _PAIR else (kept[int(np.argmax(surprises))],))
        kept = [one for one in kept if one not in out[-1]]
    return tuple(out)


def _posterior(ratios: Sequence[float], within: float, scatter: float) -> Posterior:
    logs = np.log(np.array(ratios, dtype=np.float64))
    return linear_posterior(
        np.ones((len(logs), 1)), logs, prior_widths=np.array([within]), noise_width=scatter
    )
