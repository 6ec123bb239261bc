r"""Shrinking on: how hard a cold part holds a mold, and what pulls it off.

A band of plastic that would like to be shorter by its shrinkage, but cannot, is in tension
:math:`E \varepsilon t` for every millimeter of its height. Around a corner that turns by an angle,
a tension presses with itself times the angle, however sharp the corner: round any convex outline
:math:`2\pi` times, and the size of the outline does not matter.

References
----------
.. [1] E. C. Glanvill, E. N. Denton, Injection-Mold Design Fundamentals (from memory): the force
   that ejects a cup from its core, :math:`\alpha\,\Delta T\,d\,E A \mu / (d\,[d/2t - \nu d/4t])`.
   With :math:`A = \pi d l` it is the grip of this module times :math:`\mu/(1 - \nu/2)`; the last
   factor stands for the closed end of a cup.
.. [2] G. Menges, W. Michaeli, P. Mohren, How to Make Injection Molds (from memory): friction times
   shrink pressure times area, which is this module without draft.
"""

from __future__ import annotations

from math import atan, inf, pi, radians, tan

from moldgen.quantity import Quantity

_STRAIN = Quantity("", "a shrinkage", at_least=0, at_most=0.06)
_MODULUS = Quantity("MPa", "an elastic modulus", above=0)
_LENGTH = Quantity("mm", "a length", above=0)
_HEIGHT = Quantity("mm", "a height", at_least=0)
_DRAFT = Quantity("°", "a draft", at_least=0, below=90)
_FRICTION = Quantity("", "a friction coefficient", at_least=0, at_most=5)
_TURN = Quantity("rad", "an angle turned", at_least=0)
_FORCE = Quantity("N", "a force", at_least=0)
_LEAST_PEEL = 0.05
"""What is gripped along the line where a part just comes off; common practice, no source."""


def grip_N(
    shrinkage: float,
    *,
    modulus_MPa: float,
    thickness_mm: float,
    height_mm: float,
    turned_rad: float = 2 * pi,
) -> float:
    r"""Return how hard a band presses on the wall it shrank onto, summed all round.

    Parameters
    ----------
    shrinkage : float
        Strain the band would take if it were free. [-]
    modulus_MPa : float
        Elastic modulus, cold. [MPa]
    thickness_mm, height_mm : float
        Of the band. [mm]
    turned_rad : float
        Angle by which the outline turns toward its inside, all corners together. [rad]

    Returns
    -------
    float
        Sum of the pressure over the wall. [N]

    Notes
    -----
    .. math:: R = E \varepsilon t h \sum\theta

    An upper bound: plastic relaxes while it cools, and a warm part has not shrunk all of it yet.

    Examples
    --------
    >>> round(grip_N(0.005, modulus_MPa=2000, thickness_mm=1, height_mm=10))
    628
    """
    _STRAIN.check("shrinkage", shrinkage)
    _MODULUS.check("modulus_MPa", modulus_MPa)
    _LENGTH.check("thickness_mm", thickness_mm)
    _HEIGHT.check("height_mm", height_mm)
    _TURN.check("turned_rad", turned_rad)
    return modulus_MPa * shrinkage * thickness_mm * height_mm * turned_rad


def release_force_N(grip_N: float, *, draft_deg: float, friction: float) -> float:
    r"""Return the straight pull that starts a part off a tapered wall.

    Parameters
    ----------
    grip_N : float
        Sum of the pressure, if there were no friction. [N]
    draft_deg : float
        Lean of the wall. [°]
    friction : float
        Coefficient of friction between part and mold, at rest. [-]

    Returns
    -------
    float
        0 where the wall leans more than friction can hold: the part lets go by itself. [N]

    Notes
    -----
    .. math:: F = R \tan(\varphi - \alpha), \qquad \varphi = \arctan \mu

    Derived: on the wall acts a pressure normal to it and its friction along it; across, both hold
    the tension of the band, along the pull both hold the force.

    Examples
    --------
    >>> round(release_force_N(1000, draft_deg=0, friction=0.4))
    400
    """
    _FORCE.check("grip_N", grip_N)
    _DRAFT.check("draft_deg", draft_deg)
    _FRICTION.check("friction", friction)
    return max(0.0, grip_N * tan(atan(friction) - radians(draft_deg)))


def lets_go_after_mm(
    shrinkage: float, *, radius_mm: float, draft_deg: float, groove_mm: float = 0.0
) -> float:
    r"""Return how far a part must be drawn up a taper until it is loose; infinite without draft.

    Parameters
    ----------
    shrinkage : float
        Strain the band still wants to take. [-]
    radius_mm : float
        Half of what the outline measures across. [mm]
    draft_deg : float
        Lean of the wall. [°]
    groove_mm : float
        Depth of the grooves in the wall that the part has sunk into. [mm]

    Notes
    -----
    .. math:: s = (\varepsilon r + g) / \tan\alpha
    """
    _STRAIN.check("shrinkage", shrinkage)
    _LENGTH.check("radius_mm", radius_mm)
    _DRAFT.check("draft_deg", draft_deg)
    _HEIGHT.check("groove_mm", groove_mm)
    stands_out_mm = shrinkage * radius_mm + groove_mm
    return stands_out_mm / tan(radians(draft_deg)) if draft_deg > 0 else inf


def peel_share(loose_mm: float, height_mm: float) -> float:
    r"""Return which share of the straight pull peels a part off from an edge.

    Parameters
    ----------
    loose_mm : float
        How far it must be drawn until it is loose; `lets_go_after_mm`. [mm]
    height_mm : float
        Height of the wall. [mm]

    Notes
    -----
    .. math:: \min(1, s/h), \quad \text{at least } 0.05

    Derived, to an order of magnitude: a part that lifts from one edge to the other is loose
    wherever it has been drawn further than :math:`s`, and while the edge comes up over :math:`h`
    only that share of the wall still grips. About a tenth at the usual draft; all of it without.

    Examples
    --------
    >>> peel_share(1.5, 15)
    0.1
    """
    Quantity("mm", "a way", at_least=0).check("loose_mm", loose_mm)
    _LENGTH.check("height_mm", height_mm)
    return min(1.0, max(_LEAST_PEEL, loose_mm / height_mm))


def pull_out_N(diameter_mm: float, depth_mm: float, *, shear_MPa: float) -> float:
    """Return what pulls a plug out of a hole: shear of the plastic all round it. [N].

    Parameters
    ----------
    diameter_mm, depth_mm : float
        Of the hole. [mm]
    shear_MPa : float
        Shear stress that the plastic is given to bear. [MPa]

    Examples
    --------
    >>> round(pull_out_N(5.6, 8.5, shear_MPa=2))
    299
    """
    _LENGTH.check("diameter_mm", diameter_mm)
    _LENGTH.check("depth_mm", depth_mm)
    Quantity("MPa", "a stress", at_least=0).check("shear_MPa", shear_MPa)
    return pi * diameter_mm * depth_mm * shear_MPa
