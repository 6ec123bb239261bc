"""A printer for jigs, and level cuts of solids."""

from manifold3d import Manifold
from shapely import Polygon

from moldgen.stock import load_shop

SHOP = load_shop()
PRINTER = SHOP.printer("bed-220")


def section(solid: Manifold, z_mm: float):
    """Cut a solid level, without the help of what is tested."""
    whole = Polygon()
    for ring in solid.slice(z_mm).to_polygons():
        whole = whole.symmetric_difference(Polygon(ring))
    return whole
