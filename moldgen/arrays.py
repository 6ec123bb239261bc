"""Arrays by what they hold, for signatures; shapes and units stand in the docstrings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""Any number of real numbers."""

Grid = NDArray[np.float64]
"""Real numbers on a raster, shape (ny, nx)."""

Flags = NDArray[np.bool_]
"""Whether something holds, place by place."""

Indices = NDArray[np.int64]
"""Numbers of points, triangles, cells or rows."""
