"""How deep points lie below a mold along any way, in a compiled loop."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from moldgen.physics.membrane.touch import Buckets
from moldgen.physics.membrane.touch_kernel import first_hit

_ONWARD = 1e-3
"""Share of a way after which a further face is looked for."""


@njit(cache=True, nogil=True, error_model="numpy")
def depths_along(
    places: NDArray[np.float64], ways: NDArray[np.float64], buckets: Buckets
) -> NDArray[np.float64]:
    """Return how far each place lies behind the last face on its way in, 0 if before it.

    Parameters
    ----------
    places : ndarray, shape (k, 3)
        Where it is looked. [mm]
    ways : ndarray, shape (k, 3)
        The path that leads to each place from outside. [mm]
    buckets : Buckets
        The mold.

    Returns
    -------
    ndarray, shape (k,)
        [mm]
    """
    depths = np.zeros(len(places))
    planes, starts, members, tops, _, frame = buckets
    for k in range(len(places)):
        qx, qy, qz = places[k]
        wx, wy, wz = ways[k]
        length = np.sqrt(wx * wx + wy * wy + wz * wz)
        # From face to face, until there is no further one.
        share, _ = first_hit(
            qx - wx, qy - wy, qz - wz, qx, qy, qz, planes, starts, members, tops, frame
        )
        while share <= 1.0:
            depths[k] = (1.0 - share) * length
            onward = min(1.0, share + _ONWARD)
            if onward >= 1.0:
                break
            back = 1.0 - onward
            share, _ = first_hit(
                qx - back * wx,
                qy - back * wy,
                qz - back * wz,
                qx,
                qy,
                qz,
                planes,
                starts,
                members,
                tops,
                frame,
            )
            if share <= 1.0:
                share = onward + share * back
    return depths
