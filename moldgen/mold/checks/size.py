"""Whether it fits: through the clear opening, under the sheet, onto the printer's bed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case

Floats = NDArray[np.float64]

_TURNS_DEG = np.arange(0, 180, 0.5)
_SIDES = ("width", "depth")


def fit_deg(footprint: Polygon, width_mm: float, depth_mm: float) -> float | None:
    """Return a turn by which a footprint fits a rectangle: none, a right angle, else the least.

    Parameters
    ----------
    footprint : Polygon
        Convex outline of what shall fit. [mm]
    width_mm, depth_mm : float
        Sides of the rectangle along x and y. [mm]

    Returns
    -------
    float or None
        Turn in steps of 0.5°, 0 up to 180; None if it fits in no way. [°]
    """
    extents = _extents_mm(footprint)
    fits = (extents <= np.array([width_mm, depth_mm]) + 1e-6).all(axis=1)
    tried = _TURNS_DEG[fits]
    if not len(tried):
        return None
    return float(next((turn for turn in (0.0, 90.0) if turn in tried), tried[0]))


def check_size(case: Case) -> tuple[Finding, ...]:
    """Ask whether the mold fits the forming table and each body the printer."""
    return (*_on_station(case), *_on_printer(case))


def _extents_mm(footprint: Polygon) -> Floats:
    """Width and depth of a footprint at every turn, shape (k, 2). [mm]."""
    corners = shapely.get_coordinates(footprint.convex_hull)
    turn = np.radians(_TURNS_DEG)
    across = np.outer(corners[:, 0], np.cos(turn)) - np.outer(corners[:, 1], np.sin(turn))
    along = np.outer(corners[:, 0], np.sin(turn)) + np.outer(corners[:, 1], np.cos(turn))
    extents: Floats = np.stack([np.ptp(across, axis=0), np.ptp(along, axis=0)], axis=1)
    return extents


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lack:
    """By how much a footprint does not fit, laid straight, and how it would."""

    side: str
    size_mm: float
    room_mm: float
    advice: str


def _lack(footprint: Polygon, width_mm: float, depth_mm: float) -> _Lack:
    """Return which side lacks most room, by the straight turn that lacks least.

    Sides keep the names they have as the mold lies, so that they agree with its stated size.
    """
    room = np.array([width_mm, depth_mm])
    extents = _extents_mm(footprint)
    sizes = extents[0]
    rooms = min((room, room[::-1]), key=lambda given: float((sizes - given).max()))
    over = sizes - rooms
    most = int(np.argmax(over))
    cuts = [f"{over[k]:.1f} mm off its {_SIDES[k]}" for k in (0, 1) if over[k] > 1e-6]
    shares = (room / extents).min(axis=1)
    best = int(np.argmax(shares >= shares.max() * (1 - 1e-9)))
    percent = int(100 * shares[best])
    return _Lack(
        side=_SIDES[most],
        size_mm=float(sizes[most]),
        room_mm=float(rooms[most]),
        advice=f"Take {' and '.join(cuts)}{_turned(0.0 if rooms[0] == room[0] else 90.0)}, "
        f"or scale it to {percent} %{_turned(float(_TURNS_DEG[best]))}",
    )


def _turned(turn_deg: float) -> str:
    return f" and turn it by {turn_deg:g}°" if turn_deg else ""


def _on_station(case: Case) -> list[Finding]:
    station = case.station
    findings = []
    whole = Polygon(_box(case))
    if fit_deg(whole, station.opening_width_mm, station.opening_depth_mm) is None:
        one_by_one = ", or form the pieces one by one" if len(case.bodies) > 1 else ""
        lack = _lack(whole, station.opening_width_mm, station.opening_depth_mm)
        findings.append(
            _finding(
                "opening-small", "",
                f"the mold does not go through the clear opening in any turn; its {lack.side}",
                lack.size_mm, lack.room_mm, "clear opening of the station",
                f"{lack.advice}{one_by_one}.",
            )
        )  # fmt: skip
    if case.height_mm > station.tallest_mm + 1e-6:
        findings.append(
            _finding(
                "too-tall", "", "the mold is taller than the forming table takes; height",
                case.height_mm, station.tallest_mm, "tallest mold of the station",
                f"Make it {case.height_mm - station.tallest_mm:.1f} mm lower.",
            )
        )  # fmt: skip
    return findings


def _on_printer(case: Case) -> list[Finding]:
    printer = case.printer
    findings = []
    for body, part, footprint in zip(case.bodies, case.parts, case.footprints, strict=True):
        height = float(np.ptp(part.bounds_mm[:, 2]))
        if fit_deg(footprint, printer.bed_width_mm, printer.bed_depth_mm) is None:
            lack = _lack(footprint, printer.bed_width_mm, printer.bed_depth_mm)
            findings.append(
                _finding(
                    "bed-small", body.name,
                    f"does not fit the printer's bed in any turn; its {lack.side}",
                    lack.size_mm, lack.room_mm, "bed of the printer",
                    f"{lack.advice}, or split it.",
                )
            )  # fmt: skip
        if height > printer.bed_height_mm + 1e-6:
            findings.append(
                _finding(
                    "bed-low", body.name, "is taller than the printer reaches; height",
                    height, printer.bed_height_mm, "height of the printer",
                    "Print it lying, or split it by height.",
                )
            )  # fmt: skip
    return findings


def _box(case: Case) -> Floats:
    (x0, y0), (x1, y1) = case.box_mm[:, :2]
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _finding(
    code: str, subject: str, says: str, size: float, room: float, basis: str, advice: str
) -> Finding:
    return Finding(
        code=code,
        severity=Severity.STOP,
        says=says,
        measured=size,
        limit=room,
        unit="mm",
        subject=subject,
        basis=basis,
        advice=advice,
    )
