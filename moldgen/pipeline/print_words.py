"""What printing takes, in words: sizes, times, tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from moldgen.export.report import Table
from moldgen.finding import amount
from moldgen.printing.estimate import Estimate, spoken_time
from moldgen.printing.orient import Orientation
from moldgen.printing.overhang import Overhangs
from moldgen.solid.mesh import Body, Mesh


def size_words(mesh: Mesh) -> str:
    """Return width by depth by height, as a person says it."""
    width, depth, height = np.ptp(mesh.points_mm, axis=0)
    return f"{width:.1f} x {depth:.1f} x {height:.1f} mm"


def print_words(taken: Estimate) -> str:
    """Return mass, filament and time in one line."""
    return (
        f"{amount(taken.mass_g, 'g')}, {taken.filament_m:.1f} m of filament, "
        f"about {spoken_time(taken.time_s)}"
    )


def hanging_words(hangs: Overhangs, bridge_mm: float) -> str:
    """Return what hangs, in one line."""
    support = hangs.needs_support_mm2(bridge_mm)
    bridge = f"longest bridge {hangs.span_mm:.1f} mm" if hangs.span_mm else "no bridges"
    return f"{support / 100:.1f} cm² need support, {bridge}" if support >= 1 else (
        f"prints without support, {bridge}"
    )  # fmt: skip


def print_numbers(taken: Estimate, hangs: Overhangs, bridge_mm: float) -> dict[str, Any]:
    """Return the same for programs."""
    return {
        "volume_mm3": taken.volume_mm3,
        "plastic_mm3": taken.plastic_mm3,
        "mass_g": taken.mass_g,
        "filament_m": taken.filament_m,
        "time_s": taken.time_s,
        "layers": taken.n_layers,
        "support_mm2": hangs.needs_support_mm2(bridge_mm),
        "longest_bridge_mm": hangs.span_mm,
        "first_layer_mm2": hangs.bed_mm2,
    }


def piece_table(bodies: Sequence[Body], taken: Sequence[Estimate], *, title: str) -> Table:
    """Return what is printed, piece by piece, and all of it together."""
    rows = [
        (body.name, size_words(body.mesh), f"{one.mass_g:.0f}", f"{one.filament_m:.1f}",
         spoken_time(one.time_s))
        for body, one in zip(bodies, taken, strict=True)
    ]  # fmt: skip
    rows.append(
        ("all", "", f"{sum(one.mass_g for one in taken):.0f}",
         f"{sum(one.filament_m for one in taken):.1f}",
         spoken_time(sum(one.time_s for one in taken)))
    )  # fmt: skip
    return Table(
        title=title,
        header=("Piece", "Size", "Mass, g", "Filament, m", "Time"),
        rows=tuple(rows),
        note=taken[0].basis if taken else "",
    )


def orientation_table(tried: Sequence[Orientation], *, most: int = 8) -> Table:
    """Return the ways up that were tried, the best first."""
    rows = tuple(
        (one.name, f"{one.support_mm2 / 100:.1f}", f"{one.span_mm:.0f}", f"{one.bed_mm2 / 100:.1f}",
         f"{one.stepped_mm2 / 100:.1f}", f"{one.height_mm:.0f}", "yes" if one.fits else "no")
        for one in tried[:most]
    )  # fmt: skip
    return Table(
        title="Ways up on the printer",
        header=("Laid", "Support, cm²", "Bridge, mm", "On the bed, cm²", "Visible steps, cm²",
                "Height, mm", "Fits"),
        rows=rows,
        note="Compared over six sides and tilts of 15, 30 and 45°; support counts most, then "
        "visible steps, then height (their weights are a judgement).",
    )  # fmt: skip
