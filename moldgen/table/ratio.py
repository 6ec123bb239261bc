"""Ratio: one factor between what was noted and what was computed, shrunk toward 1."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, sqrt

import numpy as np

from moldgen.stock.experience import NoteEstimate
from moldgen.table.posterior import linear_posterior, student_95
from moldgen.trust import COOLING, FACE_THICKNESS

COOLING_WITHIN = log(1 + (COOLING.share or 0.0))
"""How far cooling times are trusted, read as one standard deviation of the logarithm. [-]."""
THICKNESS_WITHIN = log(1 + (FACE_THICKNESS.share or 0.0))
"""The same of thicknesses of a formed sheet. [-]."""
PRINTING_WITHIN = 0.3
"""The same of hours of printing, which printers and slicers make differ; common practice, no
source. [-]."""
NOTED_WITHIN = 0.2
"""Scatter of one time that was noted while something else was done; common practice, no source.
[-]."""
CALIPER_WITHIN = 0.15
"""Scatter of the thickness at one place: sheet, place and caliper; common practice, no source.
[-]."""


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
    logs = np.log(np.array(ratios, dtype=np.float64))
    found = linear_posterior(
        np.ones((len(logs), 1)), logs, prior_widths=np.array([within]), noise_width=scatter
    )
    mean = float(found.means[0])
    off = student_95(found.freedom) * sqrt(float(found.covariance[0, 0]))
    return NoteEstimate(
        value=exp(mean), low=exp(mean - off), high=exp(mean + off), n_notes=len(logs)
    )
