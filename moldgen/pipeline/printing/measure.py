"""The recipe for measuring a brought part: what it is, and what printing it takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from moldgen.export.report.table import Table
from moldgen.finding import Finding, amount, counted, ranked
from moldgen.job.command.printing import MeasureCommand
from moldgen.job.formats import REPORT_FORMATS
from moldgen.mold.checks import Case, grouped
from moldgen.mold.checks.closed import check_closed
from moldgen.mold.release.layer_steps import check_layer_steps
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.mesh_file import UPS, bodies_from_file, refuse_flat
from moldgen.pipeline.mold.tables import draft_table
from moldgen.pipeline.output import Output
from moldgen.pipeline.print_estimate import print_spec
from moldgen.pipeline.print_rows import (
    hanging_text,
    infill_text,
    orientation_table,
    piece_table,
    print_numbers,
    print_text,
)
from moldgen.pipeline.printing.facts import RADIUS_MM, REACH_MM, PartFacts, measure_part
from moldgen.pipeline.printing.files import PrintResult, print_output, views
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage
from moldgen.pipeline.types import Rows
from moldgen.printing.bed_fit import check_beds
from moldgen.printing.edits import set_down
from moldgen.printing.estimate import Estimate, estimate, mass_g
from moldgen.printing.hurdles import UNDERSIDE_MM
from moldgen.printing.orient import Orientation, check_orientation, orientations
from moldgen.printing.overhang import (
    Overhangs,
    check_overhangs,
    measure_overhangs,
    widest_bridge_mm,
)
from moldgen.printing.print_spec import PrintSpec
from moldgen.printing.skin import InfillAdvice, infill_advice
from moldgen.printing.warp import check_warp, end_pull_mm, measure_first_layer
from moldgen.solid.mesh import Body, joined
from moldgen.stock import Filament, Printer, Sheet, Shop


def measure(path: Path, *, words: MeasureCommand, shop: Shop, progress: Progress) -> Result:
    """Measure a part that somebody brings; see `design_measure`."""
    output = design_measure(path, words=words, shop=shop, progress=progress)
    return output.render(progress=progress)


def design_measure(path: Path, *, words: MeasureCommand, shop: Shop, progress: Progress) -> Output:
    """Measure a part that somebody brings.

    Raises
    ------
    MoldgenError
        If the file cannot be read, or a name is not in stock.
    """
    progress = telling_first_use(progress)
    progress(Stage(1, 3, "reading the part"))
    printer = shop.printer(words.printer)
    shop.filament(words.filament)
    bodies, doubts = bodies_from_file(path, words.unit)
    refuse_flat(path, bodies)
    case = Case(
        bodies=tuple(bodies),
        sheet=Sheet(plastic=shop.plastic(words.plastic), gauge_mm=words.gauge_mm),
        machine=shop.machine(words.machine),
        printer=printer,
        draw_direction=UPS[words.draw_direction],
    )
    progress(Stage(2, 3, "measuring"))
    facts = measure_part(case)
    body = set_down(Body(path.stem, joined([one.mesh for one in bodies])))
    findings = [*doubts, *check_closed(case)]
    rows, tables, numbers = _facts_told(facts)
    if facts.closed:
        print_findings = list(_ready(body, case, words, shop))
        for more_rows, more_tables, more_numbers, more_findings in print_findings:
            rows, tables = (*rows, *more_rows), (*tables, *more_tables)
            numbers |= more_numbers
            findings += more_findings
    result = PrintResult(
        title=f"Measures of {path.stem}",
        subtitle=f"What {path.name} is, and what printing it takes",
        summary=rows,
        findings=ranked(grouped(findings)),
        tables=tables,
        numbers=numbers,
        shown=(body,),
    )
    shown = PrintResult(title=result.title, subtitle="", summary=(), findings=(), bodies=(body,))
    bridge_mm = widest_bridge_mm(printer)
    return print_output(
        result,
        words.formats,
        pictures=lambda: views(shown, bridge_mm),
        usual=REPORT_FORMATS,
        units=words.units,
        stage=Stage(3, 3, "pictures and report"),
    )


Remarks = tuple[Rows, tuple[Table, ...], dict[str, Any], list[Finding]]


def _ready(body: Body, case: Case, command: MeasureCommand, shop: Shop) -> Iterator[Remarks]:
    """Yield what printing it takes."""
    filament, printer, sheet = shop.filament(command.filament), case.printer, case.sheet
    spec = print_spec(printer, infill=command.infill)
    taken = estimate(body.mesh, filament=filament, printer=printer, spec=spec)
    masses = tuple((one.name, mass_g(taken.plastic_mm3, one)) for one in shop.filaments.entries)
    hangs = measure_overhangs(body.mesh)
    tried = orientations(body.mesh, printer)
    first = measure_first_layer(body.mesh)
    advice = infill_advice(filament, printer)
    pull = end_pull_mm(first.longest_mm, filament)
    yield (
        (
            *_print_rows(
                taken, hangs, tried, printer=printer, filament=filament, spec=spec
            ),
            ("First layer", f"{first.area_mm2 / 100:.1f} cm², {first.longest_mm:.0f} mm long; "
             f"each end pulls in by up to {pull:.2f} mm"),
            ("If it is a solid mold", _advice_text(advice)),
        ),
        (piece_table([body], [taken], title="To print"), _mass_table(masses, spec),
         orientation_table(tried)),
        print_numbers(taken, [hangs], widest_bridge_mm(printer))
        | {"end_pull_mm": pull, "masses_g": dict(masses)},
        [
            *check_beds([body], printer),
            *check_overhangs(body.name, hangs, printer),
            *check_orientation(body.name, tried),
            *check_warp(body.name, first, filament),
            *check_layer_steps(
                body.name, body.mesh, plastic=sheet.plastic, layer_mm=printer.layer_mm
            ),
        ],
    )  # fmt: skip


def _print_rows(
    taken: Estimate, hangs: Overhangs, tried: tuple[Orientation, ...], *, printer: Printer,
    filament: Filament, spec: PrintSpec,
) -> Rows:  # fmt: skip
    best = tried[0]
    return (
        (f"Printed in {filament.name}, {infill_text(spec)}", print_text(taken)),
        ("As it stands", hanging_text([hangs], widest_bridge_mm(printer))),
        ("Prints best", f"{best.name}, {best.support_mm2 / 100:.1f} cm² to support"),
    )


def _mass_table(masses_g: Sequence[tuple[str, float]], spec: PrintSpec) -> Table:
    return Table(
        title=f"Mass printed, {infill_text(spec)}",
        header=("Filament", "g"),
        rows=tuple((name, f"{mass:.1f}") for name, mass in masses_g),
        note="The plastic of the print times the filament's density.",
    )


def _advice_text(advice: InfillAdvice) -> str:
    if not advice.enough:
        return "print it solid: no infill carries a thin skin under vacuum"
    return (
        f"at least {advice.infill:.0%} infill: the skin spans {advice.cell_mm:.1f} mm and carries "
        f"{advice.stress_MPa:.1f} of {advice.allowed_MPa:.1f} MPa"
    )


def _facts_told(facts: PartFacts) -> tuple[Rows, tuple[Table, ...], dict[str, Any]]:
    draft = facts.draft.least_deg
    deepest = facts.undercuts[0].depth_mm if facts.undercuts else 0.0
    rows = [
        ("Size", f"{facts.size_mm[0]:.2f} x {facts.size_mm[1]:.2f} x {facts.size_mm[2]:.2f} mm"),
        ("Mesh", f"{facts.n_triangles} triangles, {counted(facts.n_pieces, 'piece')}, "
         + ("closed" if facts.closed else "open")),
        ("Surface", f"{facts.area_mm2 / 100:.1f} cm²"),
    ]  # fmt: skip
    if facts.closed:
        rows.append(("Volume", amount(facts.volume_mm3 / 1000, "cm³")))
    rows += [
        ("Least draft", f"{draft:.1f}°" if np.isfinite(draft) else "no walls"),
        ("Undercut", f"{deepest:.1f} mm deep" if facts.undercuts else "none"),
        ("Sharpest edges", f"outside {_radius(facts.convex_mm)}, "
         f"inside {_radius(facts.concave_mm)}"),
        ("Thinnest wall", _wall_text(facts)),
    ]  # fmt: skip
    return tuple(rows), _fact_tables(facts), _fact_numbers(facts)


def _wall_text(facts: PartFacts) -> str:
    """Return the thinnest wall in words; the lowest millimeters are an underside, not walls."""
    if np.isfinite(facts.wall_mm):
        return amount(facts.wall_mm, "mm")
    if facts.size_mm[2] <= UNDERSIDE_MM:
        return f"not told for parts lower than {UNDERSIDE_MM:g} mm"
    return f"over {REACH_MM:g} mm"


def _radius(radius_mm: float) -> str:
    return f"radius {radius_mm:.1f} mm" if np.isfinite(radius_mm) else f"over {RADIUS_MM:g} mm"


def _fact_tables(facts: PartFacts) -> tuple[Table, ...]:
    return (draft_table(facts.draft),)


def _fact_numbers(facts: PartFacts) -> dict[str, Any]:
    def known(value: float) -> float | None:
        return float(value) if np.isfinite(value) else None

    return {
        "size_mm": list(facts.size_mm),
        "least_corner_mm": list(facts.low_mm),
        "closed": facts.closed,
        "bodies": facts.n_bodies,
        "pieces": facts.n_pieces,
        "triangles": facts.n_triangles,
        "area_mm2": facts.area_mm2,
        "volume_mm3": known(facts.volume_mm3),
        "least_draft_deg": known(facts.draft.least_deg),
        "undercuts": len(facts.undercuts),
        "undercut_depth_mm": facts.undercuts[0].depth_mm if facts.undercuts else 0.0,
        "least_convex_radius_mm": known(facts.convex_mm),
        "least_concave_radius_mm": known(facts.concave_mm),
        "least_wall_mm": known(facts.wall_mm),
    }
