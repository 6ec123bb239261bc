"""Energy of a rubber, and the pressure in a balloon of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moldgen.physics.membrane.rubber import Rubber


def energy(
    first_stretch: ArrayLike, second_stretch: ArrayLike, rubber: Rubber
) -> NDArray[np.float64]:
    """Return stored energy per undeformed volume over the shear modulus. [-].

    Parameters
    ----------
    first_stretch, second_stretch : array_like
        Principal stretches in the plane of the sheet. [-]
    rubber : Rubber
        The law; ``taut`` plays no part here.
    """
    c1, c2 = rubber.shares
    a, b = np.square(first_stretch), np.square(second_stretch)
    j = a * b
    value: NDArray[np.float64] = 0.5 * (c1 * (a + b + 1 / j - 3) + c2 * ((a + b) / j + j - 3))
    return value


def balloon_pressure(stretch: ArrayLike, rubber: Rubber) -> NDArray[np.float64]:
    r"""Return p r0 / (mu t0) of a thin spherical balloon blown up by ``stretch``. [-].

    Notes
    -----
    .. math:: \frac{p r_0}{\mu t_0} = \frac{2 T(\lambda, \lambda)}{\lambda}
       = 2 (\lambda^{-1} - \lambda^{-7}) (c_1 + c_2 \lambda^2)
    """
    value: NDArray[np.float64] = 2 * tension(stretch, stretch, rubber) / np.asarray(stretch)
    return value


def tension(
    first_stretch: ArrayLike, second_stretch: ArrayLike, rubber: Rubber
) -> NDArray[np.float64]:
    r"""Return force per deformed length across the first direction, over modulus and gauge. [-].

    Swap the stretches for the other direction.

    Notes
    -----
    .. math:: T_1 = (\lambda_1^2 - \lambda_3^2)(c_1 + c_2 \lambda_2^2) \lambda_3
    """
    c1, c2 = rubber.shares
    l1 = np.asarray(first_stretch, dtype=np.float64)
    l2 = np.asarray(second_stretch, dtype=np.float64)
    l3 = 1 / (l1 * l2)
    value: NDArray[np.float64] = (l1**2 - l3**2) * (c1 + c2 * l2**2) * l3
    return value
