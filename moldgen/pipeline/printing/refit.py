"""The recipe for changing a brought part: turned, scaled, mirrored, cut, thickened, vented."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from moldgen.finding import Finding, ranked
from moldgen.job.command.printing import RefitCommand
from moldgen.mold.air.added_vents import vent_mold
from moldgen.mold.checks import grouped
from moldgen.mold.rules import hole_rule, vent_rule
from moldgen.mold.underside.cut import BoreSpec
from moldgen.mold.underside.underside import UndersideSpec
from moldgen.mold.vents.vent import VentSpec
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.mesh_file import UPS, solid_from_file
from moldgen.pipeline.output import Output
from moldgen.pipeline.print_estimate import print_spec
from moldgen.pipeline.print_rows import (
    hanging_text,
    infill_text,
    print_numbers,
    print_text,
    size_text,
)
from moldgen.pipeline.printing.files import PrintResult, print_output, views
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage
from moldgen.printing.bed_fit import check_beds
from moldgen.printing.edits import cut_flat, mirror, scale_to_length, set_down, thicken_base, turn
from moldgen.printing.estimate import estimate
from moldgen.printing.hollow import hollow, hollow_spec
from moldgen.printing.overhang import check_overhangs, measure_overhangs, widest_bridge_mm
from moldgen.solid.mesh import Body
from moldgen.stock import Filament, Printer, Shop


@dataclass(slots=True)
class _PartInWork:
    """A part while it is being changed, and what was said on the way."""

    body: Body
    rows: list[tuple[str, str]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def now(self, body: Body, label: str, words: str) -> None:
        """Take the changed part, and tell of it."""
        self.body = body
        self.rows.append((label, words))


def refit(path: Path, *, command: RefitCommand, shop: Shop, progress: Progress) -> Result:
    """Change a part that somebody brings; see `design_refit`."""
    output = design_refit(path, command=command, shop=shop, progress=progress)
    return output.render(progress=progress)


def design_refit(path: Path, *, command: RefitCommand, shop: Shop, progress: Progress) -> Output:
    """Change a part that somebody brings, and write it.

    Raises
    ------
    MoldgenError
        If the file cannot be read, a name is not in stock, or a change cannot be made.
    """
    progress = telling_first_use(progress)
    progress(Stage(1, 3, "reading the part"))
    filament, printer = shop.filament(command.filament), shop.printer(command.printer)
    body, doubts = solid_from_file(path, command.unit)
    work = _PartInWork(set_down(body), [("Brought", size_text(body.mesh))], list(doubts))
    progress(Stage(2, 3, "changing it"))
    _shape(work, command)
    _open(work, command, shop, filament, printer)
    result = _result(path, work, filament, printer)
    return print_output(
        result,
        command.formats,
        pictures=lambda: views(result, widest_bridge_mm(printer)),
        units=command.units,
        stage=Stage(3, 3, "pictures and report"),
    )


def _shape(work: _PartInWork, command: RefitCommand) -> None:
    """Turn, scale, mirror, cut, thicken: in this order."""
    if "up" in command.changes:
        work.now(turn(work.body, up=UPS[command.up]), "Turned", f"{command.up.value} up")
    if command.length_mm is not None:
        measured = command.measured_mm or _longest_mm(work.body)
        work.now(
            scale_to_length(work.body, command.length_mm, measured_mm=measured),
            "Scaled",
            f"{measured:.2f} mm became {command.length_mm:.2f} mm, "
            f"{command.length_mm / measured:.2%} in every direction",
        )
    if command.mirror is not None:
        work.now(mirror(work.body, command.mirror), "Mirrored", f"along {command.mirror.value}")
    if command.cut_mm is not None:
        cut = cut_flat(work.body, command.cut_mm)
        work.now(cut, "Cut flat", f"at {command.cut_mm:g} mm, what was above is kept")
    if command.thicken_mm is not None:
        thicker = thicken_base(work.body, command.thicken_mm)
        work.now(thicker, "Base", f"{command.thicken_mm:g} mm added below")


def _longest_mm(body: Body) -> float:
    low, high = body.mesh.bounds_mm
    return float((high - low).max())


def _open(
    work: _PartInWork, command: RefitCommand, shop: Shop, filament: Filament, printer: Printer
) -> None:
    """Hollow, then bore vents, which may open into the hollows."""
    if command.hollow:
        spec = hollow_spec(printer, skin_mm=command.skin_mm, cell_mm=command.cell_mm)
        hollowed = hollow(work.body, spec=spec, filament=filament)
        saved = f"{len(hollowed.cells)} hollows, {hollowed.saved_mm3 / 1000:.1f} cm³ taken out"
        work.now(hollowed.body, "Hollowed", f"{saved}, skin {command.skin_mm:g} mm")
        work.findings += hollowed.findings
    if command.vents:
        rule = vent_rule(shop.plastic(command.plastic), command.gauge_mm)
        wide = command.vent_mm or hole_rule(rule).value
        grooves = UndersideSpec(bridge_mm=max(4.0, printer.clean_bridge_mm))
        vented = vent_mold(
            work.body,
            VentSpec(diameter_mm=wide),
            bore=BoreSpec.for_printer(printer),
            grooves=grooves if command.grooves else None,
        )
        how = "printed" if wide >= printer.least_hole_mm else "to be drilled from below"
        work.now(vented.body, "Vents", f"{len(vented.vents)} of {wide:g} mm, {how}")
        work.findings += vented.findings


def _result(path: Path, work: _PartInWork, filament: Filament, printer: Printer) -> PrintResult:
    mesh = work.body.mesh
    spec = print_spec(printer)
    taken = estimate(mesh, filament=filament, printer=printer, spec=spec)
    hangs = measure_overhangs(mesh)
    body = Body(f"{path.stem} refit", mesh)
    rows = (
        *work.rows,
        ("Now", size_text(mesh)),
        (f"Printed in {filament.name}, {infill_text(spec)}", print_text(taken)),
        ("As it stands", hanging_text([hangs], widest_bridge_mm(printer))),
    )
    findings = [
        *work.findings,
        *check_beds([body], printer),
        *check_overhangs(body.name, hangs, printer),
    ]
    return PrintResult(
        title=f"{path.stem} refit",
        subtitle=f"{path.name}, changed",
        summary=rows,
        findings=ranked(grouped(findings)),
        numbers=print_numbers(taken, [hangs], widest_bridge_mm(printer)),
        bodies=(body,),
    )
