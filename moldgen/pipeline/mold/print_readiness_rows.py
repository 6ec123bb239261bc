"""What printing a mold takes, in words: a row, a table, what to set, numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from moldgen.export.report.report import Table
from moldgen.finding import amount
from moldgen.pipeline.mold.print_readiness import PrintReadiness
from moldgen.pipeline.print_rows import hanging_text, piece_table, print_numbers
from moldgen.printing.estimate import spoken_time
from moldgen.printing.overhang import LIMIT_DEG
from moldgen.printing.warp import PULL_MM


def print_row(ready: PrintReadiness) -> str:
    """Return mass, filament, time and first layer in one line."""
    taken = ready.all_taken
    return (
        f"{taken.mass_g:.0f} g, {taken.filament_m:.0f} m of filament, about "
        f"{spoken_time(taken.time_s)} (rough, from volume and surface); "
        f"first layer {ready.first_layer_mm2 / 100:.0f} cm²"
    )


def setting_text(ready: PrintReadiness) -> str:
    """Return what to set for the print, and whether anything is to be supported."""
    spec, printer = ready.spec, ready.setting.printer
    support = sum(hangs.needs_support_mm2(ready.bridge_mm) for hangs in ready.hangs)
    supports = "support where the findings say" if support >= 1 else "no supports"
    return (
        f"Underside down, {supports}, {printer.layer_mm:g} mm layers, at least {spec.walls} "
        f"walls, {spec.skins} top and bottom layers, {spec.infill:.0%} infill.".replace("%", " %")
    )


def ready_tables(ready: PrintReadiness) -> Iterator[Table]:
    """Yield the report's tables."""
    yield piece_table(ready.bodies, ready.taken, title="To print")
    yield Table(
        title="Ready to print",
        header=("What", "", "Why, or against what"),
        rows=(
            _standing(ready), *_hanging(ready), _filled(ready), _hollow(ready), _first(ready),
            _pulled(ready), *_layers(ready),
        ),
    )  # fmt: skip


def ready_numbers(ready: PrintReadiness) -> dict[str, Any]:
    """Return the measures for programs; None for what was not measured."""
    least = ready.advice
    return {
        "print": print_numbers(ready.all_taken, ready.hangs, ready.bridge_mm)
        | {
            "first_layer_mm2": ready.first_layer_mm2,
            "first_layer_longest_mm": ready.longest_mm,
            "end_pull_mm": ready.end_pull_mm,
            "infill": ready.spec.infill,
            "least_infill": least.infill if least.enough else None,
            "solid_g": ready.solid_g,
            "layer_ridge_mm": ready.steps(ready.steepest).ridge_mm,
        }
    }


def _standing(ready: PrintReadiness) -> tuple[str, str, str]:
    height = max(float(np.ptp(body.mesh.points_mm[:, 2])) for body in ready.bodies)
    return (
        "Way up",
        f"as it stands on the table, {height:.1f} mm high",
        "the forming face looks up: nothing is printed onto it or broken off it",
    )


def _hanging(ready: PrintReadiness) -> Iterator[tuple[str, str, str]]:
    if ready.hangs:
        yield (
            "Overhangs and bridges",
            hanging_text(ready.hangs, ready.bridge_mm),
            f"{LIMIT_DEG:g}° from upright, {ready.setting.printer.clean_bridge_mm:g} mm bridged "
            f"cleanly and {ready.bridge_mm:g} mm at most (common practice, no source)",
        )


def _filled(ready: PrintReadiness) -> tuple[str, str, str]:
    least = ready.advice
    if not least.enough:
        return "Infill", "print it solid", "no infill carries so thin a skin under vacuum"
    return (
        "Infill",
        f"{ready.spec.infill:.0%}, never under {least.infill:.0%}".replace("%", " %"),
        f"at the least the skin spans {least.cell_mm:.1f} mm and carries {least.stress_MPa:.1f} of "
        f"{least.allowed_MPa:.1f} MPa (clamped plate under one atmosphere, Roark)",
    )


def _hollow(ready: PrintReadiness) -> tuple[str, str, str]:
    saved = 1 - ready.all_taken.mass_g / ready.solid_g
    return (
        "Solid or hollow",
        f"solid with infill, which saves {saved:.0%} of {amount(ready.solid_g, 'g')}".replace(
            "%", " %"
        ),
        "lines of infill carry the skin as ribs would, and the channels under it need their "
        "ceilings; a part without channels can be hollowed with ribs (moldgen refit --hollow)",
    )


def _first(ready: PrintReadiness) -> tuple[str, str, str]:
    return (
        "First layer",
        f"{ready.first_layer_mm2 / 100:.1f} cm², longest piece {ready.longest_mm:.0f} mm",
        "the faces that lie on the bed, exact",
    )


def _pulled(ready: PrintReadiness) -> tuple[str, str, str]:
    return (
        "Warp",
        f"each end pulls in by up to {ready.end_pull_mm:.2f} mm in {ready.setting.filament.name}",
        f"from {PULL_MM:g} mm on ends tend to lift (common practice, no source); half the length "
        "times expansion times cooling to 25 °C, no brim and no hot bed",
    )


def _layers(ready: PrintReadiness) -> Iterator[tuple[str, str, str]]:
    plan = ready.steepest
    steps, layer = ready.steps(plan), ready.setting.printer.layer_mm
    coarsest = ready.coarsest_mm(plan)
    bears = (
        f"layers of up to {coarsest:g} mm still release" if coarsest >= 0.05
        else "no layer is fine enough: sand it, or give it more draft"
    )  # fmt: skip
    yield (
        f"Layer steps on {plan.name}",
        f"ridges of {1000 * steps.ridge_mm:.0f} µm at {plan.wall.draft_deg:g}° and {layer:g} mm "
        "layers",
        f"{steps.rule.value:g}° asked for: {steps.rule.because}; {bears}",
    )
