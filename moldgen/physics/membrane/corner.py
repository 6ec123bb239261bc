r"""How sheet that sticks fills a straight corner of 90°: the closed form.

Free sheet bends into the corner as a quarter of a cylinder of radius *r*, evenly thin, and carries
the tension :math:`T = p r`. As the radius falls by *dr*, a strip as wide as *dr* comes to rest on
either face and keeps its thickness, so that what is left gets thinner:

.. math:: d \left( \tfrac{\pi}{2} r t \right) = 2 t \, dr
   \quad \Rightarrow \quad
   \frac{t}{t_1} = \left( \frac{r}{r_1} \right)^{(4 - \pi) / \pi} .

It holds for any law of the sheet; the law tells how far it goes under a pressure. Along the corner
the stretch does not change.
"""

from __future__ import annotations

import numpy as np

from moldgen.arrays import Floats
from moldgen.physics.membrane.rubber import Rubber, greater_tension

FILLING = (4.0 - np.pi) / np.pi
"""Power of the radius with which sheet gets thinner in a corner of 90°. [-]."""

_ROUNDS = 18
"""Each leaves less than 0.4 of what was off."""
_LEAST_STRETCH = 1.0 + 1e-6


def thinned_by(radius_share: Floats) -> Floats:
    """Return by what the thickness in a corner is multiplied as its radius falls to a share. [-].

    Examples
    --------
    >>> float(thinned_by(np.array(0.1)).round(3))
    0.533
    """
    share: Floats = radius_share**FILLING
    return share


def corner_radius_mm(
    stretches: Floats, from_per_mm: Floats, to_per_mm: float, rubber: Rubber
) -> Floats:
    """Return the radius of corners under a pressure, from their stretch under another. [mm].

    Parameters
    ----------
    stretches : ndarray, shape (k, 2)
        Across and along the corner, the greater first. [-]
    from_per_mm : ndarray, shape (k,)
        Pressure under which the sheet is stretched so, over modulus and gauge. [1/mm]
    to_per_mm : float
        The other pressure, more than 0; less than the first tells the corner as it was. [1/mm]
    rubber : Rubber
        The law.

    Returns
    -------
    ndarray, shape (k,)
        Radii; 0 for sheet that is under no tension.

    Examples
    --------
    Under the same pressure the radius is tension over pressure; under twice as much it is more than
    half, because the sheet has been stretched on the way:

    >>> pulled, under = np.array([[2.0, 1.0]]), np.array([0.5])
    >>> corner_radius_mm(pulled, under, 0.5, Rubber()).round(3).tolist()
    [3.75]
    >>> corner_radius_mm(pulled, under, 1.0, Rubber()).round(3).tolist()
    [2.225]
    """
    first_mm = np.maximum(greater_tension(stretches, rubber), 0.0) / from_per_mm
    radius_mm = first_mm.copy()
    for _ in range(_ROUNDS):
        over = np.divide(first_mm, radius_mm, out=np.ones_like(radius_mm), where=radius_mm > 0)
        across = np.maximum(stretches[:, 0] * thinned_by(over), _LEAST_STRETCH)
        pulled = np.column_stack([across, stretches[:, 1]])
        found_mm = np.maximum(greater_tension(pulled, rubber), 0.0) / to_per_mm
        radius_mm = np.sqrt(radius_mm * found_mm)
    return radius_mm
