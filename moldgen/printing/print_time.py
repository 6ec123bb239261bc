"""Print time: how long a head that has to speed up and brake takes for the lines of a layer.

Every line is a trapezoid of speed: from the speed it may have at its corners up to the set speed,
as far as its length allows, and down again. The number and mean length of parallel lines over a
patch follow from its area and edge: lines at a distance s over an area A with an edge P are
P / (π s) pieces (Crofton), A / s long together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi, sqrt

from moldgen.printing.layer_runs import JOINED, LayerPatch, LayerRun
from moldgen.printing.print_spec import PrintLine, PrintSpec
from moldgen.stock import Printer

_ROUGH = 0.35
"""Share of an outline's turns that brake as sharp corners; arcs do not (fitted). [-]."""
_WAY = 0.7
"""Way from outline to outline over the distance of as many on a square net (fitted). [-]."""
_NEXT_MM = 0.5
"""From one wall to the next along the same outline. [mm]."""
_SLOWEST = 10.0
"""A short layer is never slowed below this (common practice, no source). [mm/s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """How a printer's head moves.

    Attributes
    ----------
    acceleration_mm_s2 : float
        [mm/s²]
    corner_mm_s : float
        Speed at a right-angled corner, and from standing. [mm/s]
    """

    acceleration_mm_s2: float
    corner_mm_s: float

    def line_s(self, length_mm: float, speed_mm_s: float) -> float:
        """Return the time for a straight line from corner to corner. [s]."""
        slow = min(self.corner_mm_s, speed_mm_s)
        to_full_mm = (speed_mm_s**2 - slow**2) / self.acceleration_mm_s2
        top = sqrt(slow**2 + self.acceleration_mm_s2 * min(length_mm, to_full_mm))
        ramps_s = 2 * (top - slow) / self.acceleration_mm_s2
        return ramps_s + max(0.0, length_mm - to_full_mm) / speed_mm_s

    def corner_s(self, speed_mm_s: float) -> float:
        """Return what braking for a sharp corner loses. [s]."""
        slower = max(0.0, speed_mm_s - self.corner_mm_s)
        return slower**2 / (self.acceleration_mm_s2 * speed_mm_s)


def motion_of(printer: Printer) -> Motion:
    """Return how a printer's head moves."""
    return Motion(acceleration_mm_s2=printer.acceleration_mm_s2, corner_mm_s=printer.corner_mm_s)


def run_s(run: LayerRun, spec: PrintSpec, *, line: PrintLine, printer: Printer) -> float:
    """Return how long a run of layers takes. [s]."""
    motion = motion_of(printer)
    moves_s = _travel_s(run, spec, motion, printer.travel_mm_s)
    usual = _layer_s(run, spec, line, motion)
    n_first = 1 if run.first == 0 else 0
    slow = _layer_s(run, _all_at(spec, spec.first_mm_s), line, motion) if n_first else 0.0
    held = _held(usual + moves_s, run, spec, line)
    total = n_first * (slow + moves_s) + (run.count - n_first) * held
    if run.bridge_mm2 and not n_first:
        total += _bridge_extra_s(run, spec, line, motion)
    return total


def _all_at(spec: PrintSpec, speed_mm_s: float) -> PrintSpec:
    return replace(spec, wall_mm_s=min(speed_mm_s, spec.wall_mm_s),
                   fill_mm_s=min(speed_mm_s, spec.fill_mm_s))  # fmt: skip


def _layer_s(run: LayerRun, spec: PrintSpec, line: PrintLine, motion: Motion) -> float:
    """Return how long walls, skins and infill of a layer take. [s]."""
    fill = spec.fill_mm_s
    infill_s = 0.0
    if spec.infill > 0 and run.sparse.area_mm2 > 0:
        spacing = line.infill_spacing_mm(spec.infill)
        infill_s = 2 * _filled_s(run.sparse, spacing, fill, motion, joined=JOINED)
    return (
        _walls_s(run, spec, motion) + _filled_s(run.solid, line.spacing_mm, fill, motion) + infill_s
    )


def _walls_s(run: LayerRun, spec: PrintSpec, motion: Motion) -> float:
    speed, cut = spec.wall_mm_s, run.contours
    starts_s = speed / motion.acceleration_mm_s2
    corners = _ROUGH * float(cut.turn_rad.sum()) / (pi / 2)
    lost_s = len(cut.area_mm2) * starts_s + corners * motion.corner_s(speed)
    return run.wall_mm / speed + _laps(run, spec) * lost_s


def _laps(run: LayerRun, spec: PrintSpec) -> float:
    """Return how many lines follow each outline, where so many fit. [-]."""
    around_mm = float(run.contours.length_mm.sum())
    return min(spec.walls, run.wall_mm / around_mm) if around_mm else 0.0


def _filled_s(
    patch: LayerPatch, spacing_mm: float, speed_mm_s: float, motion: Motion, *, joined: float = 1.0
) -> float:
    """Return how long parallel lines over a patch take, with what joins their ends. [s]."""
    if patch.area_mm2 <= 0:
        return 0.0
    pieces = max(1.0, patch.edge_mm / (pi * spacing_mm))
    long_mm = patch.area_mm2 / spacing_mm / pieces
    joint_s = motion.line_s(joined * spacing_mm, speed_mm_s)
    return pieces * (motion.line_s(long_mm, speed_mm_s) + joint_s)


def _travel_s(run: LayerRun, spec: PrintSpec, motion: Motion, travel_mm_s: float) -> float:
    """Return how long the head takes from outline to outline, and to what they hold. [s]."""
    outlines = len(run.contours.area_mm2)
    if not outlines:
        return 0.0
    filled = run.solid.area_mm2 + run.sparse.area_mm2 > 0
    ways = 2 * outlines + 2 if filled else outlines
    far_mm = _WAY * sqrt(run.contours.span_mm2 / outlines)
    far_s = motion.line_s(far_mm, travel_mm_s) + spec.retract_s
    near_s = motion.line_s(_NEXT_MM, travel_mm_s)
    return ways * far_s + outlines * max(0.0, _laps(run, spec) - 1) * near_s


def _held(layer_s: float, run: LayerRun, spec: PrintSpec, line: PrintLine) -> float:
    """Return the time of a layer that is slowed if it is too short to cool. [s]."""
    laid_mm = run.wall_mm + run.solid.area_mm2 / line.spacing_mm
    slowest_s = laid_mm / _SLOWEST
    return max(layer_s, min(spec.least_layer_s, slowest_s))


def _bridge_extra_s(run: LayerRun, spec: PrintSpec, line: PrintLine, motion: Motion) -> float:
    """Return how much longer a bridge takes than the skin in its place. [s]."""
    part = run.bridge_mm2 / run.solid.area_mm2
    share = LayerPatch(area_mm2=run.bridge_mm2, edge_mm=part * run.solid.edge_mm)
    over_s = _filled_s(share, line.bridge_spacing_mm, spec.bridge_mm_s, motion)
    return over_s - _filled_s(share, line.spacing_mm, spec.fill_mm_s, motion)
