"""What printing takes, in words: sizes, times, tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from moldgen.export.report.table import Table
from moldgen.printing.estimate import Estimate, spoken_time, summed
from moldgen.printing.orient import Orientation
from moldgen.printing.overhang import Overhangs
from moldgen.printing.print_spec import PrintSpec
from moldgen.solid.mesh import Body, Mesh

TRUST = "(to about 10 %)"
"""How far mass and time are from those of a slicing program at the same settings."""
_MOST_WAYS = 8
"""Ways up that a table shows."""


def size_text(mesh: Mesh) -> str:
    """Return width by depth by height, as a person says it."""
    width, depth, height = np.ptp(mesh.points_mm, axis=0)
    return f"{width:.1f} x {depth:.1f} x {height:.1f} mm"


def print_text(taken: Estimate) -> str:
    """Return mass, filament and time in one line, and how far to trust them."""
    return (
        f"{grams_text(taken)}, {taken.filament_m:.1f} m of filament, "
        f"about {spoken_time(taken.time_s)} {TRUST}"
    )


def plates_text(taken: Estimate, spec: PrintSpec) -> str:
    """Return mass and time of plates in a few words, and at which infill."""
    return f"{grams_text(taken)}, about {spoken_time(taken.time_s)} at {infill_text(spec)} {TRUST}"


def grams_text(taken: Estimate) -> str:
    """Return the mass of a print; tenths where they count."""
    return f"{_grams(taken)} g"


def _grams(taken: Estimate) -> str:
    return f"{taken.mass_g:.{0 if taken.mass_g >= 9.95 else 1}f}"


def infill_text(spec: PrintSpec) -> str:
    """Return the infill of a print."""
    return f"{spec.infill:.0%} infill".replace("%", " %")


def hanging_text(hangs: Sequence[Overhangs], bridge_mm: float) -> str:
    """Return what hangs of all pieces, in one line."""
    support, span_mm = _hanging(hangs, bridge_mm)
    bridge = f"longest bridge {span_mm:.1f} mm" if span_mm else "no bridges"
    return f"{support / 100:.1f} cm² need support, {bridge}" if support >= 1 else (
        f"prints without support, {bridge}"
    )  # fmt: skip


def _hanging(hangs: Sequence[Overhangs], bridge_mm: float) -> tuple[float, float]:
    """Return the area to support and the longest bridge of all pieces. [mm²], [mm]."""
    return sum(one.needs_support_mm2(bridge_mm) for one in hangs), max(
        (one.span_mm for one in hangs), default=0.0
    )


def print_numbers(taken: Estimate, hangs: Sequence[Overhangs], bridge_mm: float) -> dict[str, Any]:
    """Return the same for programs; None where nobody measured what hangs."""
    support, span_mm = _hanging(hangs, bridge_mm)
    return {
        "volume_mm3": taken.volume_mm3,
        "plastic_mm3": taken.plastic_mm3,
        "mass_g": taken.mass_g,
        "filament_m": taken.filament_m,
        "time_s": taken.time_s,
        "layers": taken.n_layers,
        "support_mm2": support if hangs else None,
        "longest_bridge_mm": span_mm if hangs else None,
        "first_layer_mm2": sum(one.bed_mm2 for one in hangs) if hangs else None,
    }


def piece_table(bodies: Sequence[Body], taken: Sequence[Estimate], *, title: str) -> Table:
    """Return what is printed, piece by piece, and all of it together if there are several."""
    rows = [
        (body.name, size_text(body.mesh), _grams(one), f"{one.filament_m:.1f}",
         spoken_time(one.time_s))
        for body, one in zip(bodies, taken, strict=True)
    ]  # fmt: skip
    if len(rows) > 1:
        total = summed(taken)
        rows.append(
            (
                "all",
                "",
                _grams(total),
                f"{total.filament_m:.1f}",
                spoken_time(total.time_s),
            )
        )
    return Table(
        title=title,
        header=("Piece", "Size", "Mass, g", "Filament, m", "Time"),
        rows=tuple(rows),
        note=f"{taken[0].basis[0].upper()}{taken[0].basis[1:]}." if taken else "",
    )


def orientation_table(tried: Sequence[Orientation]) -> Table:
    """Return the ways up that were tried, the best first."""
    rows = tuple(
        (one.name, f"{one.support_mm2 / 100:.1f}", f"{one.span_mm:.0f}", f"{one.bed_mm2 / 100:.1f}",
         f"{one.stepped_mm2 / 100:.1f}", f"{one.height_mm:.0f}", "yes" if one.fits else "no")
        for one in tried[:_MOST_WAYS]
    )  # fmt: skip
    return Table(
        title="Ways up on the printer",
        header=("Laid", "Support, cm²", "Bridge, mm", "On the bed, cm²", "Visible steps, cm²",
                "Height, mm", "Fits"),
        rows=rows,
        note="Compared over six sides and tilts of 15, 30 and 45°; support counts most, then "
        "visible steps, then height (their weights are a judgment).",
    )  # fmt: skip
