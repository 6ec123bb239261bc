"""What printing a mold takes, in words: a row, a table, what to set, numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from moldgen.export.report.table import Table
from moldgen.finding import amount, counted
from moldgen.pipeline.mold.print_readiness import PrintReadiness
from moldgen.pipeline.print_rows import TRUST, hanging_text, infill_text, piece_table, print_numbers
from moldgen.printing.estimate import spoken_time
from moldgen.printing.overhang import LIMIT_DEG
from moldgen.printing.warp import PULL_MM
from moldgen.table.noted import NotedFactor


def print_row(readiness: PrintReadiness) -> str:
    """Return mass, filament, time and first layer in one line."""
    taken = readiness.all_taken
    return (
        f"{taken.mass_g:.0f} g, {taken.filament_m:.0f} m of filament, about "
        f"{spoken_time(taken.time_s)} {_trust(readiness.noted)}; "
        f"first layer {readiness.first_layer_mm2 / 100:.0f} cm²"
    )


def _trust(noted: NotedFactor | None) -> str:
    """Return how far the time of a print is to be trusted, or on what it rests."""
    if noted is None:
        return TRUST
    notes = counted(noted.n_notes, "note")
    return f"(by {notes} of the log; estimated: {spoken_time(noted.computed_s)})"


def setting_text(readiness: PrintReadiness) -> str:
    """Return what to set for the print, and whether anything is to be supported."""
    spec, printer = readiness.spec, readiness.setting.printer
    support = sum(hangs.needs_support_mm2(readiness.bridge_mm) for hangs in readiness.hangs)
    supports = "support where the findings say" if support >= 1 else "no supports"
    return (
        f"Underside down, {supports}, {printer.layer_mm:g} mm layers, at least {spec.walls} "
        f"walls, {spec.skins} top and bottom layers, {infill_text(spec)}."
    )


def ready_tables(readiness: PrintReadiness) -> Iterator[Table]:
    """Yield the report's tables."""
    yield piece_table(readiness.bodies, readiness.taken, title="To print")
    yield Table(
        title="Ready to print",
        header=("What", "", "Why, or against what"),
        rows=(
            _standing(readiness), *_hanging(readiness), _filled(readiness), _hollow(readiness),
            _first(readiness), _pulled(readiness), *_layers(readiness),
        ),
    )  # fmt: skip


def ready_numbers(readiness: PrintReadiness) -> dict[str, Any]:
    """Return the measures for programs; None for what was not measured."""
    least, noted = readiness.advice, readiness.noted
    return {
        "print": print_numbers(readiness.all_taken, readiness.hangs, readiness.bridge_mm)
        | ({} if noted is None else _noted_numbers(noted))
        | {
            "first_layer_mm2": readiness.first_layer_mm2,
            "first_layer_longest_mm": readiness.longest_mm,
            "end_pull_mm": readiness.end_pull_mm,
            "infill": readiness.spec.infill,
            "least_infill": least.infill if least.enough else None,
            "solid_g": readiness.solid_g,
            "layer_ridge_mm": readiness.steps(readiness.steepest).ridge_mm,
        }
    }


def _noted_numbers(noted: NotedFactor) -> dict[str, Any]:
    """Return what notes of the log made of the time."""
    return {
        "computed_time_s": noted.computed_s,
        "noted_factor": noted.factor.value,
        "notes": noted.n_notes,
    }


def _standing(readiness: PrintReadiness) -> tuple[str, str, str]:
    height = max(float(np.ptp(body.mesh.points_mm[:, 2])) for body in readiness.bodies)
    return (
        "Way up",
        f"as it stands on the table, {height:.1f} mm high",
        "the forming face looks up: nothing is printed onto it or broken off it",
    )


def _hanging(readiness: PrintReadiness) -> Iterator[tuple[str, str, str]]:
    if readiness.hangs:
        yield (
            "Overhangs and bridges",
            hanging_text(readiness.hangs, readiness.bridge_mm),
            f"{LIMIT_DEG:g}° from upright, {readiness.setting.printer.clean_bridge_mm:g} mm "
            f"bridged cleanly and {readiness.bridge_mm:g} mm at most (common practice, no source)",
        )


def _filled(readiness: PrintReadiness) -> tuple[str, str, str]:
    least = readiness.advice
    if not least.enough:
        return "Infill", "print it solid", "no infill carries so thin a skin under vacuum"
    return (
        "Infill",
        f"{readiness.spec.infill:.0%}, never under {least.infill:.0%}".replace("%", " %"),
        f"at the least the skin spans {least.cell_mm:.1f} mm and carries {least.stress_MPa:.1f} of "
        f"{least.allowed_MPa:.1f} MPa (clamped plate under one atmosphere, Roark)",
    )


def _hollow(readiness: PrintReadiness) -> tuple[str, str, str]:
    saved = 1 - readiness.all_taken.mass_g / readiness.solid_g
    return (
        "Solid or hollow",
        f"solid with infill, which saves {saved:.0%} of {amount(readiness.solid_g, 'g')}".replace(
            "%", " %"
        ),
        "lines of infill carry the skin as ribs would, and the channels under it need their "
        "ceilings; a part without channels can be hollowed with ribs (moldgen refit --hollow)",
    )


def _first(readiness: PrintReadiness) -> tuple[str, str, str]:
    return (
        "First layer",
        f"{readiness.first_layer_mm2 / 100:.1f} cm², longest piece {readiness.longest_mm:.0f} mm",
        "the faces that lie on the bed, exact",
    )


def _pulled(readiness: PrintReadiness) -> tuple[str, str, str]:
    return (
        "Warp",
        f"each end pulls in by up to {readiness.end_pull_mm:.2f} mm in "
        f"{readiness.setting.filament.name}",
        f"from {PULL_MM:g} mm on ends tend to lift (common practice, no source); half the length "
        "times expansion times cooling to 25 °C, no brim and no hot bed",
    )


def _layers(readiness: PrintReadiness) -> Iterator[tuple[str, str, str]]:
    plan = readiness.steepest
    steps, layer = readiness.steps(plan), readiness.setting.printer.layer_mm
    coarsest = readiness.coarsest_mm(plan)
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
