r"""Draw: how far the sheet is stretched, told from areas and lengths alone.

Three ratios are in use and none replaces another. The *areal* ratio is the area of the formed
part over the area of the sheet it is made from, both within the clamp line or the lip; it gives
the mean thickness exactly, because sheet does not change its volume, and says nothing about the
thinnest place. The *linear* ratio is the length of a line on the part over its length on the flat
sheet. *Height to width* is depth over the smaller side of the opening.

For reckoning before there is a mold, and called by nothing in moldgen itself: `male_areal_ratio`,
`start_gauge_mm` and `method_by_height_to_width`.

References
----------
.. [1] SPE Thermoforming Division, Thermoforming 101, "The Ubiquitous Draw Ratio,"
   Thermoforming Quarterly 24(4), 2005.
.. [2] R. J. Crawford, Plastics Engineering, Example 4.7.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from moldgen.errors import SpecError
from moldgen.quantity import Quantity

_SLACK = 1e-3
"""Areas of triangulated parts fall short of the true ones by less than this."""
_AREA = Quantity("mm²", "an area", above=0)
_LENGTH = Quantity("mm", "a length", above=0)
_DEPTH = Quantity("mm", "a depth or height", at_least=0)
_AREAL = Quantity("", "an areal draw ratio", at_least=1 - _SLACK)


def areal_draw_ratio(part_mm2: float, sheet_mm2: float) -> float:
    r"""Return formed area over the area of the sheet that makes it.

    The first number to look at: it is the factor by which the sheet gets thinner on average.

    Parameters
    ----------
    part_mm2 : float
        Area of the formed part, one face, within the clamp line or lip. [mm²]
    sheet_mm2 : float
        Area of the flat sheet within the same line. [mm²]

    Returns
    -------
    float
        Areal draw ratio; 1 for a flat part. [-]

    Raises
    ------
    SpecError
        If an area is not more than 0, or the part is smaller than its sheet, as it is when the
        two are swapped.

    Notes
    -----
    .. math:: R_A = A_\text{part} / A_\text{sheet}

    Exact only if both areas are the same material.

    References
    ----------
    See [1]_ in the module's docstring. Checked against ``tests/published/draw_ratios.csv``.

    Examples
    --------
    >>> areal_draw_ratio(45_000, 15_000)
    3.0
    """
    _AREA.check("part_mm2", part_mm2)
    _AREA.check("sheet_mm2", sheet_mm2)
    if part_mm2 < sheet_mm2 * (1 - _SLACK):
        raise SpecError(
            "part_mm2",
            f"at least the area of its sheet, {sheet_mm2:g} mm²",
            f"{part_mm2:g} mm²",
            "Take both areas within the same line.",
        )
    return part_mm2 / sheet_mm2


def male_areal_ratio(part_mm2: float, footprint_mm2: float, clamp_mm2: float) -> float:
    r"""Return the areal draw ratio of a sheet drawn over a male mold in a larger clamp.

    The sheet between mold and clamp helps: the same mold draws less in a larger clamp.

    Parameters
    ----------
    part_mm2 : float
        Area of the mold's skin above the table. [mm²]
    footprint_mm2 : float
        Area of the mold on the table. [mm²]
    clamp_mm2 : float
        Area of the clear opening of the clamp. [mm²]

    Returns
    -------
    float
        Areal draw ratio of the whole sheet in the clamp. [-]

    Raises
    ------
    SpecError
        If an area is not more than 0, the skin is smaller than the footprint, or the footprint is
        larger than the clamp's opening.

    Notes
    -----
    .. math:: R_A = \frac{A_c - A_\text{foot} + A_\text{part}}{A_c}

    Derived: the ground outside the mold is covered flat.

    Examples
    --------
    >>> male_areal_ratio(45_000, 15_000, 60_000)
    1.5
    """
    areal_draw_ratio(part_mm2, footprint_mm2)
    _AREA.check("clamp_mm2", clamp_mm2)
    if footprint_mm2 > clamp_mm2:
        raise SpecError(
            "footprint_mm2",
            f"at most the opening of the clamp, {clamp_mm2:g} mm²",
            f"{footprint_mm2:g} mm²",
            "Make the mold smaller, or take a larger forming machine.",
        )
    return (clamp_mm2 - footprint_mm2 + part_mm2) / clamp_mm2


def linear_draw_ratio(part_line_mm: float, sheet_line_mm: float) -> float:
    r"""Return the length of a line on the part over its length on the flat sheet.

    Shows a stretch in one direction, along a ridge or across a long tray, that the areal ratio
    averages away.

    Parameters
    ----------
    part_line_mm : float
        Length along the formed surface. [mm]
    sheet_line_mm : float
        Straight distance between its ends on the sheet. [mm]

    Returns
    -------
    float
        Linear draw ratio; 1 for a flat part. [-]

    Raises
    ------
    SpecError
        If a length is not more than 0, or the line is shorter than the straight distance.

    Notes
    -----
    .. math:: R_L = L_\text{part} / L_\text{sheet}

    Across a straight-walled cup as deep as it is wide :math:`R_L = 1 + 2 H/D = 3`.

    References
    ----------
    See [1]_ in the module's docstring. Checked against ``tests/published/draw_ratios.csv``.

    Examples
    --------
    >>> linear_draw_ratio(300, 100)
    3.0
    """
    _LENGTH.check("part_line_mm", part_line_mm)
    _LENGTH.check("sheet_line_mm", sheet_line_mm)
    if part_line_mm < sheet_line_mm * (1 - _SLACK):
        raise SpecError(
            "part_line_mm",
            f"at least the straight distance, {sheet_line_mm:g} mm",
            f"{part_line_mm:g} mm",
            "Measure along the formed surface.",
        )
    return part_line_mm / sheet_line_mm


def height_to_width(height_mm: float, width_mm: float) -> float:
    """Return depth over the smaller side of the opening.

    The trade's quick test; `method_by_height_to_width` says what it asks for.

    Parameters
    ----------
    height_mm : float
        Depth of the recess or height of the mold; 0 or more. [mm]
    width_mm : float
        Smaller side of the opening, or its diameter. [mm]

    Returns
    -------
    float
        Height-to-width ratio. [-]

    Raises
    ------
    SpecError
        If the height is negative or the width not more than 0.

    References
    ----------
    See [1]_ in the module's docstring. Checked against ``tests/published/draw_ratios.csv``.

    Examples
    --------
    >>> height_to_width(60, 100)
    0.6
    """
    _DEPTH.check("height_mm", height_mm)
    _LENGTH.check("width_mm", width_mm)
    return height_mm / width_mm


def mean_thickness_mm(gauge_mm: float, areal_ratio: float) -> float:
    r"""Return the mean thickness of the formed part.

    What is left on average; corners and floors of deep recesses are much thinner.

    Parameters
    ----------
    gauge_mm : float
        Thickness of the sheet. [mm]
    areal_ratio : float
        Areal draw ratio, 1 or more. [-]

    Returns
    -------
    float
        Mean thickness. [mm]

    Raises
    ------
    SpecError
        If the gauge is not more than 0, or the ratio is less than 1.

    Notes
    -----
    .. math:: \bar t = t_0 / R_A

    Conservation of volume; no statement about the least thickness.

    References
    ----------
    See [1]_ and [2]_ in the module's docstring. Checked against
    ``tests/published/draw_ratios.csv`` and ``tests/published/box_mean_wall.csv``.

    Examples
    --------
    >>> mean_thickness_mm(2.0, 5.0)
    0.4
    """
    _LENGTH.check("gauge_mm", gauge_mm)
    _AREAL.check("areal_ratio", areal_ratio)
    return gauge_mm / areal_ratio


def start_gauge_mm(wanted_mm: float, areal_ratio: float) -> float:
    r"""Return the sheet thickness that leaves the wanted mean thickness.

    The first guess for buying sheet; round up to a gauge that is sold.

    Parameters
    ----------
    wanted_mm : float
        Wanted mean thickness of the part. [mm]
    areal_ratio : float
        Areal draw ratio, 1 or more. [-]

    Returns
    -------
    float
        Thickness before forming. [mm]

    Raises
    ------
    SpecError
        If the thickness is not more than 0, or the ratio is less than 1.

    Notes
    -----
    .. math:: t_0 = R_A\, \bar t

    Examples
    --------
    >>> round(start_gauge_mm(2.54, 1.7), 3)
    4.318
    """
    _LENGTH.check("wanted_mm", wanted_mm)
    _AREAL.check("areal_ratio", areal_ratio)
    return wanted_mm * areal_ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """A way of forming and how deep it goes.

    Attributes
    ----------
    name : str
        What the shop calls it.
    up_to : float
        Largest height-to-width ratio it is advised for. [-]
    advice : str
        What to do, one sentence.
    """

    name: str
    up_to: float
    advice: str


METHODS = (
    Method(name="plain vacuum", up_to=0.5, advice="Form it with vacuum alone."),
    Method(
        name="plug recommended",
        up_to=1.0,
        advice="Help the sheet down with a plug, or accept thin corners.",
    ),
    Method(name="plug required", up_to=1.5, advice="Form it with a plug, or make it shallower."),
    Method(
        name="redesign",
        up_to=inf,
        advice="Make it shallower or wider; vacuum alone does not form it.",
    ),
)
"""The bands, shallowest first."""


def method_by_height_to_width(ratio: float) -> Method:
    """Return the way of forming that a height-to-width ratio asks for.

    A rule, for advice only: the plastic, the draft and the radii move it either way.

    Parameters
    ----------
    ratio : float
        Height over width; 0 or more. [-]

    Returns
    -------
    Method
        The first band of `METHODS` that reaches as far.

    Raises
    ------
    SpecError
        If the ratio is negative or not a number.

    Notes
    -----
    Common practice, no source: plain vacuum at 0.5, a plug recommended at 1 and required at 1.5,
    pressure forming or a redesign from 2. Between 1.5 and 2, where the rule is silent, the
    stricter advice is given.

    Examples
    --------
    >>> method_by_height_to_width(0.8).name
    'plug recommended'
    """
    Quantity("", "height over width", at_least=0).check("ratio", ratio)
    return next(method for method in METHODS if ratio <= method.up_to)
