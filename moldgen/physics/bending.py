r"""Bending: how long a strip must be to be bent, and how much the bend stretches it.

A bend turns the strip by an angle :math:`A`, measured from flat. Its inside face follows a radius
:math:`R`; one line inside the thickness :math:`T`, at :math:`K T` from the inside face, keeps
its length: the neutral line.

For reckoning by hand, and called by nothing in moldgen itself: `deduction_mm`, `cold_radius_mm`,
`cold_strain`, `annealing_h` and `cooling_rate_K_h`.

References
----------
.. [1] Machinery's Handbook, "Bending Sheet Metal", from memory.
.. [2] FAA, Aviation Maintenance Technician Handbook - Airframe, vol. 1, layout of bends.
"""

from __future__ import annotations

from math import radians, tan

from moldgen.errors import SpecError
from moldgen.quantity import Quantity

_ANGLE = Quantity("°", "rotation from flat", above=0, at_most=180)
_RADIUS = Quantity("mm", "inside radius", at_least=0)
_THICKNESS = Quantity("mm", "thickness", above=0)
_RATIO = Quantity("", "radius over thickness", above=0)
_COOLING = ((0.177, 140), (0.354, 54), (0.708, 25), (0.944, 18), (1.75, 12), (2.0, 10))
"""Thickness up to which [in], and degrees an hour [°F/h]."""
_NEUTRAL = Quantity("", "neutral line over thickness", above=0, at_most=1)


def allowance_mm(
    angle_deg: float, inside_radius_mm: float, thickness_mm: float, *, neutral: float = 0.5
) -> float:
    r"""Return the length of flat strip that a bend uses up.

    Parameters
    ----------
    angle_deg : float
        Rotation from flat; 90 for a right angle, 180 for a closed fold. [°]
    inside_radius_mm : float
        Radius of the inside face. [mm]
    thickness_mm : float
        Thickness of the strip. [mm]
    neutral : float, default 0.5
        Distance of the neutral line from the inside face over thickness; 0.5 is the middle. [-]

    Returns
    -------
    float
        Arc length of the neutral line, from tangent line to tangent line. [mm]

    Raises
    ------
    SpecError
        If a value is out of range.

    Notes
    -----
    .. math:: BA = A\,(R + K T), \quad A \text{ in radians}

    Constant thickness. For softened plastic nobody has published a measured :math:`K`; 0.5 is the
    plain assumption, and a test strip settles it (`neutral_from_lengths`).

    References
    ----------
    See [1]_ in the module's docstring. Checked against ``tests/published/bend_allowance.csv``.

    Examples
    --------
    >>> round(allowance_mm(90, 6, 3), 3)
    11.781
    """
    _check(angle_deg, inside_radius_mm, thickness_mm)
    _NEUTRAL.check("neutral", neutral)
    return radians(angle_deg) * (inside_radius_mm + neutral * thickness_mm)


def setback_mm(angle_deg: float, radius_mm: float) -> float:
    r"""Return the distance from a tangent line to the corner in which the lengthened faces meet.

    With the outside radius, :math:`R + T`, for outside dimensions; with the inside radius for
    inside ones.

    Parameters
    ----------
    angle_deg : float
        Rotation from flat, less than 180. [°]
    radius_mm : float
        Radius of the face whose corner is meant. [mm]

    Raises
    ------
    SpecError
        If a value is out of range; at 180° the faces are parallel and never meet.

    Notes
    -----
    .. math:: SB = r \tan(A/2)

    Examples
    --------
    >>> round(setback_mm(90, 6 + 3), 6)
    9.0
    """
    _ANGLE.check("angle_deg", angle_deg)
    _RADIUS.check("radius_mm", radius_mm)
    if angle_deg == 180:
        raise SpecError(
            "angle_deg",
            "less than 180°",
            "180°",
            "A closed fold has no corner; measure its legs to the crest or on the flat strip.",
        )
    return radius_mm * tan(radians(angle_deg) / 2)


def deduction_mm(
    angle_deg: float, inside_radius_mm: float, thickness_mm: float, *, neutral: float = 0.5
) -> float:
    r"""Return by how much two outside legs together are longer than their flat strip.

    Notes
    -----
    .. math:: BD = 2 (R + T) \tan(A/2) - BA

    Parameters and errors as in `allowance_mm`, but the angle less than 180°.

    Examples
    --------
    >>> round(deduction_mm(90, 6, 3), 4)
    6.219
    """
    used_mm = allowance_mm(angle_deg, inside_radius_mm, thickness_mm, neutral=neutral)
    return 2 * setback_mm(angle_deg, inside_radius_mm + thickness_mm) - used_mm


def neutral_from_lengths(
    outside_legs_mm: tuple[float, float],
    flat_mm: float,
    angle_deg: float,
    inside_radius_mm: float,
    thickness_mm: float,
) -> float:
    r"""Return where the neutral line was in a strip measured before and after it was bent.

    Parameters
    ----------
    outside_legs_mm : pair of float
        Both legs of the bent strip, to the corner of the outer faces. [mm]
    flat_mm : float
        Length of the strip before it was bent. [mm]
    angle_deg, inside_radius_mm, thickness_mm : float
        As measured on the bent strip.

    Returns
    -------
    float
        Distance from the inside face over thickness; outside 0 to 1 if a measure is wrong. [-]

    Notes
    -----
    .. math:: K = \left(\frac{2 SB - BD}{A} - R\right) / T, \quad BD = a + b - L

    Examples
    --------
    >>> round(neutral_from_lengths((53.11, 53.11), 100, 90, 6, 3), 2)
    0.5
    """
    _check(angle_deg, inside_radius_mm, thickness_mm)
    lost_mm = sum(outside_legs_mm) - flat_mm
    arc_mm = 2 * setback_mm(angle_deg, inside_radius_mm + thickness_mm) - lost_mm
    return (arc_mm / radians(angle_deg) - inside_radius_mm) / thickness_mm


def outer_stretch(inside_radius_mm: float, thickness_mm: float, *, neutral: float = 0.5) -> float:
    r"""Return by what share the outside face of a bend is stretched.

    Notes
    -----
    .. math:: e = \frac{(1 - K) T}{R + K T}

    Parameters as in `allowance_mm`; the angle does not matter.

    Examples
    --------
    >>> outer_stretch(6, 3)
    0.2
    """
    _RADIUS.check("inside_radius_mm", inside_radius_mm)
    _THICKNESS.check("thickness_mm", thickness_mm)
    _NEUTRAL.check("neutral", neutral)
    T, R, K = thickness_mm, inside_radius_mm, neutral
    return (1 - K) * T / (R + K * T)


def heated_width_mm(
    angle_deg: float, inside_radius_mm: float, thickness_mm: float, *, neutral: float = 0.5
) -> float:
    r"""Return how wide a strip must be soft for a bend to have its full radius.

    Notes
    -----
    The soft strip must cover the bend allowance, and be at least 3 thicknesses wide. The rule of
    3 to 5 thicknesses (common practice, no source) is the same thing for bends of 69° to 115°
    with an inside radius of two thicknesses.

    Examples
    --------
    >>> round(heated_width_mm(90, 6, 3), 2)
    11.78
    >>> heated_width_mm(30, 6, 3)
    9
    """
    used_mm = allowance_mm(angle_deg, inside_radius_mm, thickness_mm, neutral=neutral)
    return max(3 * thickness_mm, used_mm)


def cold_radius_mm(thickness_mm: float, *, ratio: float) -> float:
    """Return the least radius a sheet may be sprung to without heat.

    Parameters
    ----------
    thickness_mm : float
        Thickness of the sheet. [mm]
    ratio : float
        Radius over thickness: 330 for acrylic, 240 for its impact grades, 100 to 180 for
        polycarbonate (common practice, no source). [-]

    Examples
    --------
    >>> cold_radius_mm(3, ratio=330)
    990
    """
    _THICKNESS.check("thickness_mm", thickness_mm)
    _RATIO.check("ratio", ratio)
    return ratio * thickness_mm


def cold_strain(radius_mm: float, thickness_mm: float) -> float:
    r"""Return the strain in the faces of a sheet sprung to a radius; times the modulus, the stress.

    Notes
    -----
    .. math:: e = \frac{T}{2 R}, \quad R \gg T \text{, to the middle of the sheet}

    Examples
    --------
    >>> cold_strain(300, 3)
    0.005
    """
    _THICKNESS.check("thickness_mm", thickness_mm)
    Quantity("mm", "radius", above=0).check("radius_mm", radius_mm)
    return thickness_mm / (2 * radius_mm)


def annealing_h(thickness_mm: float) -> tuple[float, float]:
    """Return hours at 80 °C, and hours of slow cooling after it, for bent cast acrylic.

    An hour for each millimeter and at least two; above 8 mm, cooling takes a quarter of an hour
    for each millimeter (one trade guide, brand withheld: common practice). Take it out below
    50 °C.

    Examples
    --------
    >>> annealing_h(12)
    (12.0, 3.0)
    """
    _THICKNESS.check("thickness_mm", thickness_mm)
    return max(2.0, float(thickness_mm)), thickness_mm / 4 if thickness_mm > 8 else 0.0


def cooling_rate_K_h(thickness_mm: float) -> float:
    """Return how fast annealed acrylic may cool, in kelvin an hour.

    From a table of one trade guide, brand withheld (common practice), printed in inches and °F.

    Raises
    ------
    SpecError
        If the sheet is thicker than the table goes, 2 in.
    """
    _THICKNESS.check("thickness_mm", thickness_mm)
    for most_in, rate_F_h in _COOLING:
        if thickness_mm <= most_in * 25.4 + 1e-9:
            return rate_F_h * 5 / 9
    raise SpecError(
        "thickness_mm", "at most 50.8 mm", f"{thickness_mm:g} mm", "Ask the maker of the sheet."
    )


def _check(angle_deg: float, inside_radius_mm: float, thickness_mm: float) -> None:
    _ANGLE.check("angle_deg", angle_deg)
    _RADIUS.check("inside_radius_mm", inside_radius_mm)
    _THICKNESS.check("thickness_mm", thickness_mm)
