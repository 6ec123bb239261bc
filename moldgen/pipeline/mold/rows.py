"""The measures of a mold in words: summary, tables and what to do on the day."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from moldgen.finding import amount, counted
from moldgen.job.spec import MoldRequest
from moldgen.mold.checks import CheckResults
from moldgen.mold.checks.deep import depth_text
from moldgen.mold.checks.draw import Draw
from moldgen.pipeline.mold.day import TableDay
from moldgen.pipeline.mold.day_rows import day_numbers, day_rows
from moldgen.pipeline.mold.forming_tables import forming_numbers, forming_rows, thin_numbers
from moldgen.pipeline.mold.hanging import hanging_holes, hanging_text
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.plan import Drilling, vents_in_text
from moldgen.pipeline.mold.trim_region import trim_plan_of
from moldgen.pipeline.setting import Setting
from moldgen.pipeline.types import Rows
from moldgen.solid.mesh import Body
from moldgen.wording import gauge_text


def summary_of(
    job: MoldRequest,
    mold: Mold,
    setting: Setting,
    drilling: Sequence[Drilling],
    day: TableDay,
) -> Rows:
    """Return the rows a teacher reads at a glance, the day at the table among them.

    Parameters
    ----------
    job : MoldRequest
        What was asked for.
    mold : Mold
        The finished mold.
    setting : Setting
        Sheet, table, printer and filament.
    drilling : Sequence[Drilling]
        Vents that are drilled after printing.
    day : TableDay
        The day at the table.
    """
    draws = mold.checked.draws
    least = mold.checked.draft.least_deg
    rows = [
        ("Mold", f"{_count(mold.bodies)}, {_size(mold.bodies)}"),
        ("Sheet", f"{setting.sheet.plastic.title}, {gauge_text(setting.sheet.gauge_mm)}"),
        ("Forming table", setting.machine.title),
        ("Printer", f"{setting.printer.title}, {setting.filament.title}"),
        ("Vents", vents_in_text(mold, drilling)),
        ("Least draft", f"{least:.1f}°" if np.isfinite(least) else "no walls"),
    ]
    if draws:
        rows.append(("Areal draw ratio", _draw_text(draws)))
    rows += forming_rows(mold.formed, mold.foreseen, because=depth_text(draws))
    rows += day_rows(day)
    rows.append(("Trim", trim_plan_of(job, mold, setting.sheet).where))
    if holes := hanging_holes(job, mold):
        rows.append(("Hanging holes", f"{hanging_text(holes)}, drilled in the formed part"))
    return tuple(rows)


def _draw_text(draws: Sequence[Draw]) -> str:
    """Return how far the sheet is drawn: all of it, and where it is drawn farthest."""
    whole, *features = draws
    told = f"{ratio_text(whole.areal)}, mean thickness {_mean(whole)}"
    most = max(features, key=lambda draw: draw.areal, default=whole)
    if most.areal <= whole.areal:
        return told
    return f"up to {ratio_text(most.areal)} ({most.name}), mean thickness there {_mean(most)}"


def ratio_text(ratio: float) -> str:
    """Return a draw ratio with the two digits that are known, such as ``1.3 : 1``."""
    return f"{ratio:.1f} : 1" if ratio < 9.95 else f"{ratio:.0f} : 1"


def _mean(draw: Draw) -> str:
    return amount(draw.mean_thickness_mm, "mm")


def check_summary(
    bodies: Sequence[Body], checked: CheckResults, setting: Setting, low_places: int
) -> Rows:
    """Return the rows for a part that somebody else made."""
    least = checked.draft.least_deg
    rows = [
        ("Part", f"{_count(bodies)}, {_size(bodies)}"),
        ("Sheet", f"{setting.sheet.plastic.title}, {gauge_text(setting.sheet.gauge_mm)}"),
        ("Forming table", setting.machine.title),
        ("Least draft", f"{least:.1f}°" if np.isfinite(least) else "no walls"),
        ("Undercuts", str(len(checked.undercuts)) if checked.undercuts else "none"),
        ("Low spots that want a vent", str(low_places)),
    ]
    if checked.draws:
        rows.append(("Areal draw ratio", _draw_text(checked.draws)))
    return tuple(rows)


def numbers_of(mold: Mold, drilling: Sequence[Drilling], day: TableDay) -> dict[str, Any]:
    """Return the measures for programs."""
    low, high = _bounds(mold.bodies)
    return {
        "width_mm": float(high[0] - low[0]),
        "depth_mm": float(high[1] - low[1]),
        "height_mm": float(high[2] - low[2]),
        "volume_mm3": float(sum(body.mesh.volume_mm3 for body in mold.bodies)),
        "triangles": sum(len(body.mesh.triangles) for body in mold.bodies),
        "bodies": len(mold.bodies),
        "vents": len(mold.vents.vents),
        "vents_to_drill": len(drilling),
        "vent_slits": sum(vent.slit is not None for vent in mold.vents.vents),
        **measured(mold.checked),
        **(forming_numbers(mold.formed) if mold.formed is not None else {}),
        **(thin_numbers(mold.foreseen) if mold.foreseen is not None else {}),
        **day_numbers(day),
        **_made_with(day.setting),
    }


def _made_with(setting: Setting) -> dict[str, Any]:
    """Return sheet, table and filament as the stock calls them; no filament of a wooden mold."""
    return {
        "plastic": setting.sheet.plastic.name,
        "gauge_mm": setting.sheet.gauge_mm,
        "machine": setting.machine.name,
        "filament": setting.filament.name if setting.is_printed else "",
        "printer": setting.printer.name if setting.is_printed else "",
    }


def measured(checked: CheckResults) -> dict[str, Any]:
    """Return what the checks measured, for programs."""
    whole = checked.draws[0] if checked.draws else None
    least = checked.draft.least_deg
    return {
        "least_draft_deg": float(least) if np.isfinite(least) else None,
        "undercuts": len(checked.undercuts),
        "areal_draw_ratio": whole.areal if whole else None,
        "mean_thickness_mm": whole.mean_thickness_mm if whole else None,
    }


def _count(bodies: Sequence[Body]) -> str:
    return "one piece" if len(bodies) == 1 else counted(len(bodies), "piece")


def _size(bodies: Sequence[Body]) -> str:
    low, high = _bounds(bodies)
    return " x ".join(f"{side:.1f}" for side in high - low) + " mm"


def _bounds(bodies: Sequence[Body]) -> tuple[Any, Any]:
    boxes = np.array([body.mesh.bounds_mm for body in bodies])
    return boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)
