r"""Airflow: how fast air leaves through small holes, and how a volume empties.

Air is an ideal gas. Through a hole it speeds up without loss until, below the critical ratio of
pressures, it reaches the speed of sound there and the flow cannot grow any more (choked).

For reckoning by hand, and called by nothing in moldgen itself: `orifice_flow_kg_s`,
`emptying_time_s` and `pump_down_s`.

References
----------
.. [1] Y. A. Çengel, J. M. Cimbala, Fluid Mechanics: Fundamentals and Applications, chapter 12.
.. [2] R. T. Balmer, Modern Engineering Thermodynamics, chapter 16.
.. [3] G. Bar-Meir, Fundamentals of Compressible Fluid Mechanics, chapter 11.
"""

from __future__ import annotations

from math import inf, log, log10, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moldgen.errors import SpecError
from moldgen.quantity import Quantity

GAS_J_kgK = 287.05
"""Gas constant of dry air (standard atmosphere). [J/(kg·K)]."""

KAPPA = 1.4
"""Ratio of the specific heats of dry air near room temperature. [-]."""

ROOM_K = 293.15
"""Air that is let in: 20 °C; warmer air leaves faster, by the root of the ratio. [K]."""

ATMOSPHERE_kPa = 101.325
"""The standard atmosphere; about 3.4 kPa less for every 300 m of altitude. [kPa]."""

SHORT_HOLE_CD = 0.8
"""Discharge coefficient of a short, sharp-edged tube, 0.8 to 0.85 when choked (fluid-mechanics
texts, from memory). [-]."""

_AREA = Quantity("mm²", "an area", above=0)
_LENGTH = Quantity("mm", "a length", above=0)
_VOLUME = Quantity("L", "a volume", above=0)
_PRESSURE = Quantity("kPa", "an absolute pressure", at_least=0)
_POSITIVE_kPa = Quantity("kPa", "an absolute pressure", above=0)
_CD = Quantity("", "a discharge coefficient", above=0, at_most=1)
_WARMTH = Quantity("K", "an absolute temperature", above=0)
_PUMP = Quantity("L/s", "a pump's displacement", above=0)


def critical_ratio(kappa: float = KAPPA) -> float:
    r"""Return the ratio of pressures below which a hole chokes: 0.5283 for air.

    Notes
    -----
    .. math:: \left(\frac{2}{k+1}\right)^{k/(k-1)}

    Checked against ``tests/published/air_constants.csv``.

    Examples
    --------
    >>> round(critical_ratio(), 4)
    0.5283
    """
    return float((2 / (kappa + 1)) ** (kappa / (kappa - 1)))


def choked_factor(kappa: float = KAPPA) -> float:
    r"""Return the factor of the choked flux: 0.5787 for air.

    Notes
    -----
    .. math:: \varphi = \left(\frac{2}{k+1}\right)^{(k+1)/(2(k-1))}
    """
    return float((2 / (kappa + 1)) ** ((kappa + 1) / (2 * (kappa - 1))))


def choked_flow_kg_s(
    area_mm2: float, *, upstream_kPa: float, cd: float = 1.0, temperature_K: float = ROOM_K
) -> float:
    r"""Return the most air a hole lets through, however good the vacuum behind it.

    Parameters
    ----------
    area_mm2 : float
        Area of the hole. [mm²]
    upstream_kPa : float
        Absolute pressure where the air rests before the hole. [kPa]
    cd : float
        Discharge coefficient. [-]
    temperature_K : float
        Temperature of that air. [K]

    Raises
    ------
    SpecError
        If area, coefficient or temperature is not more than 0, or the pressure is negative.

    Notes
    -----
    .. math:: \dot m = C_d A p_0 \sqrt{\frac{k}{R T_0}}\,\varphi

    Checked against ``tests/published/air_choked.csv``.
    """
    _AREA.check("area_mm2", area_mm2)
    _PRESSURE.check("upstream_kPa", upstream_kPa)
    _CD.check("cd", cd)
    _WARMTH.check("temperature_K", temperature_K)
    flux = sqrt(KAPPA / (GAS_J_kgK * temperature_K)) * choked_factor()
    return cd * area_mm2 * 1e-6 * upstream_kPa * 1e3 * flux


def flow_share(pressure_ratio: ArrayLike) -> NDArray[np.float64]:
    r"""Return the flow through a hole as a share of its choked flow.

    Parameters
    ----------
    pressure_ratio : array_like, shape (...,)
        Pressure behind the hole over pressure before it; from 1 on nothing flows. [-]

    Returns
    -------
    ndarray, shape (...,)
        0 to 1; 1 from the critical ratio down. [-]

    Notes
    -----
    .. math:: \sqrt{\frac{2}{k-1}\left(x^{2/k} - x^{(k+1)/k}\right)} \Big/ \varphi

    Checked against ``tests/published/air_flow_share.csv``.
    """
    k = KAPPA
    x = np.clip(np.asarray(pressure_ratio, dtype=np.float64), critical_ratio(), 1.0)
    speed = np.maximum(x ** (2 / k) - x ** ((k + 1) / k), 0.0)
    share = np.sqrt(2 / (k - 1) * speed) / choked_factor()
    return np.asarray(np.minimum(share, 1.0))


def orifice_flow_kg_s(
    area_mm2: float,
    upstream_kPa: float,
    downstream_kPa: float,
    *,
    cd: float = 1.0,
    temperature_K: float = ROOM_K,
) -> float:
    """Return the flow through a hole between two pressures, choked or not.

    Parameters
    ----------
    area_mm2 : float
        Area of the hole. [mm²]
    upstream_kPa, downstream_kPa : float
        Absolute pressures before and behind it. [kPa]
    cd : float
        Discharge coefficient. [-]
    temperature_K : float
        Of the air before it. [K]

    Raises
    ------
    SpecError
        As `choked_flow_kg_s`; or if air would flow backwards.
    """
    _PRESSURE.check("downstream_kPa", downstream_kPa)
    most = choked_flow_kg_s(area_mm2, upstream_kPa=upstream_kPa, cd=cd, temperature_K=temperature_K)
    if downstream_kPa > upstream_kPa:
        raise SpecError(
            "downstream_kPa",
            f"at most the pressure upstream, {upstream_kPa:g} kPa",
            f"{downstream_kPa:g} kPa",
            "Swap the two.",
        )
    ratio = downstream_kPa / upstream_kPa if upstream_kPa > 0 else 1.0
    return most * float(flow_share(ratio))


def choked_volume_L_s(area_mm2: float, *, cd: float = 1.0, temperature_K: float = ROOM_K) -> float:
    r"""Return the volume a choked hole swallows in a second, at the pressure before it.

    It does not depend on that pressure: 0.2 L/s for every square millimeter of an ideal hole.

    Notes
    -----
    .. math:: \dot V = C_d A \varphi \sqrt{k R T}
    """
    flow = choked_flow_kg_s(area_mm2, upstream_kPa=1.0, cd=cd, temperature_K=temperature_K)
    return flow * GAS_J_kgK * temperature_K


def emptying_time_s(
    volume_L: float, area_mm2: float, *, cd: float = 1.0, temperature_K: float = ROOM_K
) -> float:
    r"""Return the time constant of a volume that empties through a choked hole.

    Just so long the sheet takes to push the volume out when the air ahead of it stays near
    atmospheric pressure.

    Notes
    -----
    .. math:: \tau = \frac{V}{C_d A \varphi \sqrt{k R T}}

    Checked against ``tests/published/air_blow_down.csv``.
    """
    _VOLUME.check("volume_L", volume_L)
    return volume_L / choked_volume_L_s(area_mm2, cd=cd, temperature_K=temperature_K)


def equalized_kPa(*parts: tuple[float, float]) -> float:
    """Return the pressure of volumes that are joined, each given as L and kPa, at one temperature.

    Examples
    --------
    >>> round(equalized_kPa((10, 10), (1, 101.325)), 3)
    18.302
    """
    for volume_L, pressure_kPa in parts:
        _VOLUME.check("volume_L", volume_L)
        _PRESSURE.check("pressure_kPa", pressure_kPa)
    return sum(V * p for V, p in parts) / sum(V for V, _ in parts)


def pump_down_s(
    volume_L: float, from_kPa: float, to_kPa: float, *, pump_L_s: float, lowest_kPa: float = 0.0
) -> float:
    r"""Return how long a pump takes to bring a volume from one absolute pressure to another.

    Parameters
    ----------
    volume_L : float
        What is pumped out. [L]
    from_kPa, to_kPa : float
        Absolute pressures. [kPa]
    pump_L_s : float
        Free air the pump moves, at any pressure. [L/s]
    lowest_kPa : float
        Absolute pressure at which it moves nothing any more. [kPa]

    Returns
    -------
    float
        Infinite if the pump does not get there. [s]

    Notes
    -----
    .. math:: t = \frac{V}{S} \ln\frac{p_1 - p_u}{p_2 - p_u}

    that is, the pump's speed falls as :math:`S(p) = S(1 - p_u/p)`, isothermal.
    """
    _VOLUME.check("volume_L", volume_L)
    _PUMP.check("pump_L_s", pump_L_s)
    for field, pressure_kPa in (("from_kPa", from_kPa), ("to_kPa", to_kPa)):
        _POSITIVE_kPa.check(field, pressure_kPa)
    if to_kPa >= from_kPa:
        return 0.0
    if to_kPa <= lowest_kPa:
        return inf
    return volume_L / pump_L_s * log((from_kPa - lowest_kPa) / (to_kPa - lowest_kPa))


def rough_friction_factor(diameter_mm: float, roughness_mm: float) -> float:
    r"""Return the (Darcy) friction factor of a rough bore at high speed.

    Printed bores are rough: grooves between the layers lie across the flow.

    Notes
    -----
    .. math:: f = \left[2 \log_{10}\frac{3.7\, d}{\varepsilon}\right]^{-2}

    von Kármán's law for fully rough pipes; the roughness is taken as a fifteenth of the bore at
    most, beyond which no pipe law holds.

    Examples
    --------
    >>> round(rough_friction_factor(4, 0.04), 4)
    0.0379
    """
    _LENGTH.check("diameter_mm", diameter_mm)
    _LENGTH.check("roughness_mm", roughness_mm)
    relative = min(roughness_mm / diameter_mm, 1 / 15)
    return float((2 * log10(3.7 / relative)) ** -2)
