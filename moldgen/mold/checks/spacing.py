"""Whether each mold has room: to its neighbor, to the clamp frame, for the flange."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.mold.checks.apart import shortest_between
from moldgen.mold.checks.case import WITHIN, Case
from moldgen.mold.spacing_rule import BETWEEN, BETWEEN_LOW, LOW_MM, clamp_gap_mm, web_gap_mm
from moldgen.mold.trim_rule import DEEP_MM, flange_mm

_WEB = "common practice, no source: webs between molds closer than 1.75 to 2 heights"
_CLAMP = "common practice, no source: 1 to 1.5 heights to the clamp, at least 25 mm"
_FLANGE = (
    "common practice, no source: about 50 mm of flange round a tray, 25 to 30 mm round letters,"
    " clear of the clamp's print"
)


@dataclass(frozen=True, kw_only=True)
class Room:
    """What is free around the bodies, laid in the middle of the clear opening.

    Attributes
    ----------
    to_clamp_mm : float
        Least distance to the clamp frame, the better of the two ways round. [mm]
    nearest : tuple of (i, j, distance), one per pair of neighbors nearer than the limit
        Bodies too near each other. [mm]
    """

    to_clamp_mm: float
    nearest: tuple[tuple[int, int, float], ...]


def measure_room(case: Case) -> Room:
    """Measure the distances between bodies, and to the clamp if laid in its middle."""
    width, depth = np.ptp(case.box_mm[:, :2], axis=0)
    machine = case.machine
    opening = (machine.opening_width_mm, machine.opening_depth_mm)
    to_clamp = max(
        min(opening[0] - width, opening[1] - depth),
        min(opening[0] - depth, opening[1] - width),
    )
    return Room(to_clamp_mm=float(to_clamp) / 2, nearest=_near_pairs(case))


def check_spacing(case: Case, room: Room) -> tuple[Finding, ...]:
    """Ask whether each mold has room for the sheet and for its flange."""
    return (*_between(case, room), *_to_clamp(case, room))


def tallest_mm(gap_mm: float) -> float:
    """Return how tall molds may be that stand so far apart. [mm]."""
    return max(min(gap_mm / BETWEEN_LOW, LOW_MM), gap_mm / BETWEEN)


_Sizes = list[tuple[float, float]]
"""Height of each body, and the flange its part keeps on the table. [mm]."""


def _sizes(case: Case) -> _Sizes:
    heights = [float(part.bounds_mm[1, 2]) - case.floor_mm for part in case.parts]
    return [(height, _flange_mm(case, height)) for height in heights]


def _flange_mm(case: Case, height_mm: float) -> float:
    """Return the flange on the table; a tray drawn into its mold is cut on its block. [mm]."""
    return 0.0 if case.side == "female" else flange_mm(height_mm)


def _asked(sizes: _Sizes, i: int, j: int) -> tuple[float, bool]:
    """Distance asked between two bodies, and whether it is for their flanges. [mm]."""
    both = sizes[i], sizes[j]
    tallest = max(height for height, _ in both)
    web = web_gap_mm(tallest)
    flanges = sum(flange for height, flange in both if height >= DEEP_MM)
    return max(web, flanges), flanges > web


def _near_pairs(case: Case) -> tuple[tuple[int, int, float], ...]:
    prints, sizes = case.footprints, _sizes(case)
    far = max(_asked(sizes, i, i)[0] for i in range(len(prints)))
    tree = shapely.STRtree(list(prints))
    pairs = []
    for i, j in tree.query(list(prints), predicate="dwithin", distance=far).T:
        if i < j:
            asked = _asked(sizes, i, j)[0] - 1e-6
            way = shortest_between(case.parts[i], case.parts[j], within_mm=asked)
            if way is not None and (gap := float(np.hypot(*(way[1] - way[0])))) < asked:
                pairs.append((int(i), int(j), gap))
    return tuple(sorted(pairs))


def _between(case: Case, room: Room) -> list[Finding]:
    """Report the two kinds of nearness once each, at the pair that lacks most."""
    sizes = _sizes(case)
    findings = []
    for for_flanges in (True, False):
        pairs = [p for p in room.nearest if _asked(sizes, p[0], p[1])[1] == for_flanges]
        if pairs:
            worst = max(pairs, key=lambda pair: _asked(sizes, *pair[:2])[0] - pair[2])
            findings.append(_pair_finding(case, worst, len(pairs), for_flanges))
    return findings


def _pair_finding(
    case: Case, pair: tuple[int, int, float], count: int, for_flanges: bool
) -> Finding:
    i, j, gap = pair
    asked, _ = _asked(_sizes(case), i, j)
    what = "have no room for both flanges" if for_flanges else "stand so close that the sheet webs"
    others = f", the worst of {count} pairs" if count > 1 else ""
    way = shortest_between(case.parts[i], case.parts[j], within_mm=asked)
    assert way is not None
    x, y = way.mean(axis=0)
    tall = tallest_mm(gap)
    return Finding(
        code="flange-shared" if for_flanges else "bodies-near",
        severity=Severity.CAUTION,
        says=f"{case.bodies[i].name} and {case.bodies[j].name} {what}{others}; distance",
        measured=gap,
        limit=asked,
        unit="mm",
        where_mm=case.place(np.array([x, y, case.floor_mm])),
        basis=_FLANGE if for_flanges else _WEB,
        advice=(
            "Form one to a sheet, or lay them"
            if for_flanges
            else "Lay them"
        )
        + f" {asked:.0f} mm apart"
        + (f", or make them at most {tall:.2g} mm high." if not for_flanges and tall > 1 else "."),
        cures=()
        if for_flanges
        else (Cure(field=Remedy.HEIGHT, way=Way.LOWER, least=tall),),
    )  # fmt: skip


def _to_clamp(case: Case, room: Room) -> list[Finding]:
    height = case.height_mm
    web = clamp_gap_mm(height)
    flange = _flange_mm(case, height)
    if room.to_clamp_mm < 0 or room.to_clamp_mm >= max(WITHIN * web, flange):
        return []  # too large altogether is told by the check of sizes
    for_flange = flange > web
    return [
        Finding(
            code="flange-clamped" if for_flange else "clamp-near",
            severity=Severity.CAUTION,
            says=(
                "the print of the clamp frame falls on the flange; free to the clamp"
                if for_flange
                else "the clamp frame is so near that the sheet webs or thins; free to the clamp"
            ),
            measured=room.to_clamp_mm,
            limit=max(web, flange),
            unit="mm",
            where_mm=_outermost(case),
            basis=_FLANGE if for_flange else _CLAMP,
            advice=(
                f"Make the mold {2 * (max(web, flange) - room.to_clamp_mm):.0f} mm smaller, lower,"
                " or use a larger opening."
            ),
        )
    ]


def _outermost(case: Case) -> tuple[float, float, float]:
    """Return the middle of the side that is nearest to the clamp. [mm]."""
    low, high = case.box_mm
    machine = case.machine
    width, depth = (high - low)[:2]
    straight = min(machine.opening_width_mm - width, machine.opening_depth_mm - depth)
    turned = min(machine.opening_width_mm - depth, machine.opening_depth_mm - width)
    spare_x = machine.opening_width_mm if straight >= turned else machine.opening_depth_mm
    spare_y = machine.opening_depth_mm if straight >= turned else machine.opening_width_mm
    middle = (low + high) / 2
    if spare_x - width <= spare_y - depth:
        return case.place(np.array([high[0], middle[1], low[2]]))
    return case.place(np.array([middle[0], high[1], low[2]]))
