r"""Draw shapes: areal draw ratios of the shapes whose area has a closed form.

All are female, without a flange, with sharp edges and the floor included: formed area over the
area of the mouth. They are estimates before there is a mold, and the yardstick of the areas
measured on one.

References
----------
.. [1] SPE Thermoforming Division, Thermoforming 101, "The Ubiquitous Draw Ratio,"
   Thermoforming Quarterly 24(4), 2005.
.. [2] R. J. Crawford, Plastics Engineering, Example 4.7.
"""

from __future__ import annotations

from math import hypot

from moldgen.quantity import Quantity

_LENGTH = Quantity("mm", "a side or diameter", above=0)
_DEPTH = Quantity("mm", "a depth", at_least=0)


def cylinder_areal_ratio(diameter_mm: float, depth_mm: float) -> float:
    r"""Return the areal draw ratio of a straight round cup without a flange.

    Parameters
    ----------
    diameter_mm : float
        Diameter. [mm]
    depth_mm : float
        Depth; 0 or more. [mm]

    Returns
    -------
    float
        Areal draw ratio. [-]

    Raises
    ------
    SpecError
        If the diameter is not more than 0, or the depth is negative.

    Notes
    -----
    .. math:: R_A = 1 + 4 H / D

    References
    ----------
    See [1]_ in the module's docstring. Checked against ``tests/published/draw_ratios.csv``.

    Examples
    --------
    >>> cylinder_areal_ratio(100, 50)
    3.0
    """
    _LENGTH.check("diameter_mm", diameter_mm)
    _DEPTH.check("depth_mm", depth_mm)
    D, H = diameter_mm, depth_mm
    return 1 + 4 * H / D


def box_areal_ratio(length_mm: float, width_mm: float, depth_mm: float) -> float:
    r"""Return the areal draw ratio of a straight-walled box without a flange.

    Parameters
    ----------
    length_mm, width_mm : float
        Sides of the opening. [mm]
    depth_mm : float
        Depth; 0 or more. [mm]

    Returns
    -------
    float
        Areal draw ratio. [-]

    Raises
    ------
    SpecError
        If a side is not more than 0, or the depth is negative.

    Notes
    -----
    .. math:: R_A = 1 + 2 H (L + W) / (L W)

    Two boxes in trade pages are misprinted:
    10 x 11 x 5 in is 320/110 = 2.909 (not 300/110), and 600 x 600 x 300 mm is 3 (not 2).

    References
    ----------
    See [2]_ in the module's docstring. Checked against ``tests/published/box_mean_wall.csv``.

    Examples
    --------
    >>> box_areal_ratio(600, 600, 300)
    3.0
    """
    _LENGTH.check("length_mm", length_mm)
    _LENGTH.check("width_mm", width_mm)
    _DEPTH.check("depth_mm", depth_mm)
    L, W, H = length_mm, width_mm, depth_mm
    return 1 + 2 * H * (L + W) / (L * W)


def cone_areal_ratio(diameter_mm: float, depth_mm: float) -> float:
    r"""Return the areal draw ratio of a pointed cone.

    Parameters
    ----------
    diameter_mm : float
        Diameter of the mouth. [mm]
    depth_mm : float
        Depth to the point; 0 or more. [mm]

    Returns
    -------
    float
        Areal draw ratio. [-]

    Raises
    ------
    SpecError
        If the diameter is not more than 0, or the depth is negative.

    Notes
    -----
    .. math:: R_A = \sqrt{r^2 + H^2} / r = 1 / \cos\alpha

    with the wall at :math:`\alpha` from the horizontal.

    Examples
    --------
    >>> round(cone_areal_ratio(100, 100), 5)
    2.23607
    """
    return truncated_cone_areal_ratio(diameter_mm, 0.0, depth_mm)


def truncated_cone_areal_ratio(mouth_mm: float, floor_mm: float, depth_mm: float) -> float:
    r"""Return the areal draw ratio of a cup with a leaning wall and a flat floor.

    Parameters
    ----------
    mouth_mm, floor_mm : float
        Diameters of mouth and floor; the floor may be 0. [mm]
    depth_mm : float
        Depth; 0 or more. [mm]

    Returns
    -------
    float
        Areal draw ratio. [-]

    Raises
    ------
    SpecError
        If the mouth is not more than 0, the floor is negative or wider than the mouth, or the
        depth is negative.

    Notes
    -----
    .. math:: R_A = \frac{(r_1 + r_2) \sqrt{(r_1 - r_2)^2 + H^2} + r_2^2}{r_1^2}

    Examples
    --------
    >>> round(truncated_cone_areal_ratio(100, 60, 60), 5)
    2.38386
    """
    _LENGTH.check("mouth_mm", mouth_mm)
    rule = Quantity("mm", "diameter of the floor", at_least=0, at_most=mouth_mm)
    rule.check("floor_mm", floor_mm)
    _DEPTH.check("depth_mm", depth_mm)
    r1, r2, H = mouth_mm / 2, floor_mm / 2, depth_mm
    return ((r1 + r2) * hypot(r1 - r2, H) + r2**2) / r1**2


def cap_areal_ratio(diameter_mm: float, depth_mm: float) -> float:
    r"""Return the areal draw ratio of a spherical cap, such as a free-blown dome.

    Parameters
    ----------
    diameter_mm : float
        Diameter of the mouth. [mm]
    depth_mm : float
        Depth of the cap; 0 or more, a hemisphere at half the diameter. [mm]

    Returns
    -------
    float
        Areal draw ratio. [-]

    Raises
    ------
    SpecError
        If the diameter is not more than 0, or the depth is negative.

    Notes
    -----
    .. math:: R_A = 1 + (H / r_0)^2

    Examples
    --------
    >>> cap_areal_ratio(100, 50)
    2.0
    """
    _LENGTH.check("diameter_mm", diameter_mm)
    _DEPTH.check("depth_mm", depth_mm)
    r0, H = diameter_mm / 2, depth_mm
    return 1 + (H / r0) ** 2
