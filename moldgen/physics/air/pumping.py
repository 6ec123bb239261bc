r"""Pumping: how the vacuum builds under a sheet, from passages, tank and pump.

First the sheet comes down: it is soft and hardly resists, so the air ahead of it stays near
atmospheric pressure while its volume is pushed out. What is then left in channels and bores falls
to the pressure behind it. Behind is the receiver, the tank or the bare box under the table, which
fills as air comes in and is emptied by the pump.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, isfinite, sqrt
from typing import Annotated, NamedTuple

import numpy as np
from numpy.typing import NDArray

from moldgen.physics.air.airflow import KAPPA, ROOM_K, ATMOSPHERE_kPa, GAS_J_kgK, choked_factor
from moldgen.physics.air.passage import Passage
from moldgen.quantity import Quantity, Spec

Array = NDArray[np.float64]

_TOLERANCE = 1e-4
"""Error of a step, as a share of the atmosphere and of the volume to begin with."""
_ROUNDS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiver(Spec):
    """What the air goes into.

    Attributes
    ----------
    volume_L : float
        Tank and pipes. [L]
    start_kPa : float
        Absolute pressure in it when the valve is opened. [kPa]
    pump_L_s : float
        Free air that the pump moves out of it, at any pressure; 0 for a pump that is off. [L/s]
    lowest_kPa : float
        Absolute pressure at which the pump moves nothing any more. [kPa]
    """

    volume_L: Annotated[float, Quantity("L", "tank and pipes", above=0)]
    start_kPa: Annotated[float, Quantity("kPa", "pressure to begin with", at_least=0)]
    pump_L_s: Annotated[float, Quantity("L/s", "displacement of the pump", at_least=0)] = 0.0
    lowest_kPa: Annotated[float, Quantity("kPa", "lowest pressure of the pump", at_least=0)] = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VacuumHistory:
    """How the vacuum built, step by step.

    Attributes
    ----------
    times_s : ndarray, shape (n,)
        Since the valve was opened. [s]
    volumes_L : ndarray, shape (n,)
        Air's room under the sheet. [L]
    cavity_kPa, receiver_kPa : ndarray, shape (n,)
        Absolute pressures under the sheet and in the receiver. [kPa]
    down_s : float
        When the sheet was down; infinite if it did not get there in time. [s]
    reached_s : float
        When the pressure that was asked for was reached; infinite if it was not. [s]
    """

    times_s: Array
    volumes_L: Array
    cavity_kPa: Array
    receiver_kPa: Array
    down_s: float
    reached_s: float

    def when_s(self, pressure_kPa: float) -> float:
        """Return when the pressure under the sheet fell to a value; infinite if it did not."""
        below = np.flatnonzero(self.cavity_kPa <= pressure_kPa)
        if not len(below):
            return inf
        n = int(below[0])
        if n == 0:
            return 0.0
        p, t = self.cavity_kPa[n - 1 : n + 1], self.times_s[n - 1 : n + 1]
        return float(np.interp(-pressure_kPa, -p, t))


class _PumpState(NamedTuple):
    t_s: float
    volume_L: float
    cavity_kPa: float
    receiver_kPa: float
    flow_kPa_L_s: float
    """What flowed in the step that led here; where to look for the next."""


def evacuate(
    passage: Passage,
    receiver: Receiver,
    *,
    swept_L: float,
    left_L: float,
    target_kPa: float,
    atmosphere_kPa: float = ATMOSPHERE_kPa,
    temperature_K: float = ROOM_K,
    longest_s: float = 600.0,
) -> VacuumHistory:
    r"""Follow the air out from under a sheet.

    Parameters
    ----------
    passage : Passage
        All ways from under the sheet to the receiver.
    receiver : Receiver
        Tank and pump.
    swept_L : float
        Volume the sheet gives up as it comes down; 0 for a fixed volume. [L]
    left_L : float
        Volume left under it, in channels and bores. [L]
    target_kPa : float
        Absolute pressure under the sheet at which to stop. [kPa]
    atmosphere_kPa : float
        Pressure above the sheet. [kPa]
    temperature_K : float
        Of all air, all the time. [K]
    longest_s : float
        How long to wait for it. [s]

    Raises
    ------
    SpecError
        If a volume is negative, nothing is left, or the target is not below the atmosphere.

    Notes
    -----
    Isothermal; :math:`V_r\,\dot p_r = q - S\,(p_r - p_u)` in the receiver with
    :math:`q = R T \dot m`; before the sheet is down :math:`\dot V = -q/p_0` under it, afterward
    :math:`V \dot p = -q`. A sheet that resists, or is already stiff, comes down more slowly.

    Backward Euler, each step against two half ones, extrapolated: second order, and steady where
    a wide passage makes both pressures run together.
    """
    Quantity("L", "", at_least=0).check("swept_L", swept_L)
    Quantity("L", "", above=0).check("left_L", left_L)
    Quantity("kPa", "", at_least=0, below=atmosphere_kPa).check("target_kPa", target_kPa)
    air = _Air(passage, receiver, temperature_K)
    states = [_start(swept_L + left_L, atmosphere_kPa, receiver)]
    reached_s, down_s = inf, _swept(states, air, swept_L, longest_s)
    if isfinite(down_s):
        states[-1] = states[-1]._replace(volume_L=left_L)
        span = atmosphere_kPa - target_kPa
        reached_s = _follow(
            states, air.fall, lambda now: (now.cavity_kPa - target_kPa) / span, longest_s
        )
    return VacuumHistory(
        times_s=np.array([state.t_s for state in states]),
        volumes_L=np.array([state.volume_L for state in states]),
        cavity_kPa=np.array([state.cavity_kPa for state in states]),
        receiver_kPa=np.array([state.receiver_kPa for state in states]),
        down_s=down_s,
        reached_s=reached_s,
    )


def pushed_out_s(
    passage: Passage,
    receiver: Receiver,
    *,
    swept_L: float,
    left_L: float,
    atmosphere_kPa: float = ATMOSPHERE_kPa,
    temperature_K: float = ROOM_K,
    longest_s: float = 600.0,
) -> float:
    """Return when a sheet is down, and nothing of what comes after; infinite if never. [s].

    Parameters
    ----------
    passage, receiver, swept_L, left_L, atmosphere_kPa, temperature_K, longest_s
        As in `evacuate`.

    Raises
    ------
    SpecError
        As in `evacuate`.
    """
    Quantity("L", "", at_least=0).check("swept_L", swept_L)
    Quantity("L", "", above=0).check("left_L", left_L)
    states = [_start(swept_L + left_L, atmosphere_kPa, receiver)]
    return _swept(states, _Air(passage, receiver, temperature_K), swept_L, longest_s)


def _start(volume_L: float, atmosphere_kPa: float, receiver: Receiver) -> _PumpState:
    return _PumpState(
        t_s=0.0,
        volume_L=volume_L,
        cavity_kPa=atmosphere_kPa,
        receiver_kPa=receiver.start_kPa,
        flow_kPa_L_s=0.0,
    )


def _swept(states: list[_PumpState], air: _Air, swept_L: float, longest_s: float) -> float:
    """Let the sheet come down; return when it is, or infinity if it is not in time."""
    if swept_L == 0:
        return 0.0
    left_L = states[0].volume_L - swept_L
    return _follow(states, air.sweep, lambda now: (now.volume_L - left_L) / swept_L, longest_s)


class _Air:
    """One implicit step of either stage."""

    def __init__(self, passage: Passage, receiver: Receiver, temperature_K: float) -> None:
        self.passage, self.receiver = passage, receiver
        # Volume through one square millimeter, choked: L/s, and kPa L/s for each kPa before it.
        self.swallow_L_s_mm2 = sqrt(KAPPA * GAS_J_kgK * temperature_K) * choked_factor() * 1e-3

    def sweep(self, now: _PumpState, dt_s: float) -> _PumpState:
        """Let the sheet come down at the pressure that is under it."""
        flow = self._flow(now, dt_s, 0.0)
        return _PumpState(
            t_s=now.t_s + dt_s,
            volume_L=now.volume_L - flow * dt_s / now.cavity_kPa,
            cavity_kPa=now.cavity_kPa,
            receiver_kPa=self._receiver(now, flow, dt_s),
            flow_kPa_L_s=flow,
        )

    def fall(self, now: _PumpState, dt_s: float) -> _PumpState:
        """Let the pressure fall in the volume that is left."""
        per_flow = dt_s / now.volume_L
        flow = self._flow(now, dt_s, per_flow)
        return _PumpState(
            t_s=now.t_s + dt_s,
            volume_L=now.volume_L,
            cavity_kPa=now.cavity_kPa - flow * per_flow,
            receiver_kPa=self._receiver(now, flow, dt_s),
            flow_kPa_L_s=flow,
        )

    def _receiver(self, now: _PumpState, flow: float, dt_s: float) -> float:
        """Return its pressure at the end of a step."""
        r = self.receiver
        gained = dt_s * (flow + r.pump_L_s * r.lowest_kPa) / r.volume_L
        return (now.receiver_kPa + gained) / (1 + dt_s * r.pump_L_s / r.volume_L)

    def _flow(self, now: _PumpState, dt_s: float, per_flow: float) -> float:
        """Return the flow, in kPa L/s, that the pressures at the end of the step would drive.

        More flow leaves less to drive it, so that what is in excess of the flow that is driven
        rises at least as fast as the flow. There is one answer, no farther from a guess than that
        excess; it is found by false position, the stale end halved.
        """
        fill = dt_s / (self.receiver.volume_L + dt_s * self.receiver.pump_L_s)
        empty_kPa, cavity_kPa = self._receiver(now, 0.0, dt_s), now.cavity_kPa
        swallow_L_s_mm2, at_mm2 = self.swallow_L_s_mm2, self.passage.at_mm2

        def excess(flow: float) -> float:
            before, behind = cavity_kPa - flow * per_flow, empty_kPa + flow * fill
            if before <= 0 or behind >= before:
                return flow
            return flow - before * swallow_L_s_mm2 * at_mm2(behind / before)

        guess = now.flow_kPa_L_s
        value = excess(guess)
        if value == 0:
            return guess
        other = max(0.0, guess - value)
        low, high = (other, guess) if value > 0 else (guess, other)
        return _zero(
            excess, (low, high), (excess(low), value) if value > 0 else (value, excess(high))
        )


def _zero(
    excess: Callable[[float], float], ends: tuple[float, float], values: tuple[float, float]
) -> float:
    """Return where a rising function is 0, by false position, the stale end halved."""
    (low, high), (below, above) = ends, values
    if below >= 0:
        return low
    for _ in range(_ROUNDS):
        middle = low - below * (high - low) / (above - below)
        value = excess(middle)
        if abs(value) <= 1e-10 * (abs(middle) + 1e-12) or high - low <= 1e-13 * high:
            return middle
        if value < 0:
            low, below, above = middle, value, above / 2
        else:
            high, above, below = middle, value, below / 2
    return (low + high) / 2


def _follow(
    states: list[_PumpState],
    step: Callable[[_PumpState, float], _PumpState],
    ahead: Callable[[_PumpState], float],
    longest_s: float,
) -> float:
    """Take steps until nothing is ahead any more; return when, or infinity after the longest."""
    dt_s = 1e-5
    while ahead(states[-1]) > 1e-9:
        now = states[-1]
        if now.t_s >= longest_s:
            return inf
        dt_s = min(dt_s, longest_s - now.t_s)
        new, error = _doubled(step, now, dt_s)
        if error > 4 * _TOLERANCE and dt_s > 1e-9:
            dt_s *= 0.4
            continue
        over = ahead(new)
        if over < -1e-9:
            # Beyond the end: as much of the step as gets there, then look again.
            dt_s *= ahead(now) / (ahead(now) - over)
            continue
        states.append(new)
        dt_s *= min(3.0, 0.9 * sqrt(_TOLERANCE / max(error, 1e-12)))
    return states[-1].t_s


def _doubled(
    step: Callable[[_PumpState, float], _PumpState], now: _PumpState, dt_s: float
) -> tuple[_PumpState, float]:
    """Return the state after a step, extrapolated, and how far one step was from two."""
    once, twice = step(now, dt_s), step(step(now, dt_s / 2), dt_s / 2)
    new = _PumpState(
        t_s=now.t_s + dt_s,
        volume_L=2 * twice.volume_L - once.volume_L,
        cavity_kPa=2 * twice.cavity_kPa - once.cavity_kPa,
        receiver_kPa=2 * twice.receiver_kPa - once.receiver_kPa,
        flow_kPa_L_s=twice.flow_kPa_L_s,
    )
    error = max(
        abs(twice.volume_L - once.volume_L) / now.volume_L,
        abs(twice.cavity_kPa - once.cavity_kPa) / ATMOSPHERE_kPa,
        abs(twice.receiver_kPa - once.receiver_kPa) / ATMOSPHERE_kPa,
    )
    return new, error
