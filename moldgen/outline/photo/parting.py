"""The brightness between ink and paper."""

from __future__ import annotations

import numpy as np

from moldgen.errors import OutlineError
from moldgen.outline.photo.raster import Gray

_LEAST_CONTRAST = 0.12
"""Least step from ink to paper, as a share of the paper's brightness."""

_LEAST_SHARE = 5e-4
"""Share of the picture that ink covers at least."""

_MOST_NOISE = 5.0
_TOWARD_PAPER = 0.6


def parting(share: Gray) -> float:
    """Return the brightness half-way between ink and paper, where a line has no bias.

    The darkest of the picture is ink, however little of it there is.

    Parameters
    ----------
    share : ndarray, shape (ny, nx)
        Brightness over that of the paper. [-]

    Raises
    ------
    OutlineError
        If nothing is clearly darker than paper, or nearly everything.
    """
    values = share.ravel()
    nth = int(_LEAST_SHARE * values.size)
    darkest = float(np.partition(values, nth)[nth])
    light = values[values > (1 + darkest) / 2]
    paper = float(np.median(light)) if len(light) else 1.0
    near = np.abs(light - paper)
    noise = 1.48 * float(np.median(near)) if len(light) else 0.0
    if paper - darkest < max(_LEAST_CONTRAST, _MOST_NOISE * noise):
        raise OutlineError(
            "The picture is blank, or its ink is hardly darker than its paper. Draw with a dark "
            "pen, or take the photograph in better light."
        )
    ink = float(np.median(values[values < paper - _TOWARD_PAPER * (paper - darkest)]))
    return (ink + paper) / 2
