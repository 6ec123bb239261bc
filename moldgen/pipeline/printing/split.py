"""The recipe for splitting a part to the printer, and for the test pieces that try its fits."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from moldgen.finding import Finding, Severity, ranked
from moldgen.job.command.printing import SplitCommand
from moldgen.mold.checks import grouped
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.mesh_file import bodies_from_file, refuse_open
from moldgen.pipeline.output import Output
from moldgen.pipeline.print_estimate import print_spec
from moldgen.pipeline.print_rows import piece_table, plates_text, size_text
from moldgen.pipeline.printing.files import PrintResult, print_output, pulled_apart, views
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage
from moldgen.printing.choices import KeyKind
from moldgen.printing.edits import set_down
from moldgen.printing.estimate import estimate, summed
from moldgen.printing.hurdles import hurdles_of_mesh
from moldgen.printing.keys import KeySpec, keys_bill
from moldgen.printing.overhang import widest_bridge_mm
from moldgen.printing.split import SplitPart, on_bed, split_to_bed
from moldgen.solid.mesh import Body, Mesh, joined
from moldgen.stock import Printer, Shop


def split(path: Path, *, command: SplitCommand, shop: Shop, progress: Progress) -> Result:
    """Cut a part that somebody brings into pieces that fit the printer; see `design_split`."""
    output = design_split(path, command=command, shop=shop, progress=progress)
    return output.render(progress=progress)


def design_split(path: Path, *, command: SplitCommand, shop: Shop, progress: Progress) -> Output:
    """Cut a part that somebody brings into pieces that fit the printer.

    Raises
    ------
    MoldgenError
        If the file cannot be read, is not closed, or a name is not in stock.
    """
    progress = telling_first_use(progress)
    progress(Stage(1, 3, "reading the part"))
    filament, printer = shop.filament(command.filament), shop.printer(command.printer)
    bodies, doubts = bodies_from_file(path, command.unit)
    refuse_open(path, bodies)
    whole = set_down(Body(path.stem, joined([body.mesh for body in bodies])))
    progress(Stage(2, 3, "splitting it"))
    keys = KeySpec(kind=command.keys, dowel=command.dowel, play_mm=command.play_mm)
    parts = split_to_bed(whole, printer, hurdles=hurdles_of_mesh(whole.mesh), keys=keys)
    printed = tuple(on_bed(Body(f"piece {p.name}", p.mesh)) for p in parts.pieces)
    spec = print_spec(printer, infill=command.infill)
    taken = [
        estimate(body.mesh, filament=filament, printer=printer, spec=spec)
        for body in (*printed, *parts.pins)
    ]
    everything = (*printed, *parts.pins)
    result = PrintResult(
        title=f"{path.stem} split",
        subtitle=f"{path.name}, cut for the {printer.title}",
        summary=(
            ("Whole", size_text(whole.mesh)),
            ("Pieces", _pieces_text(parts)),
            ("Cuts", _cut_text(parts)),
            ("Pins", _pin_text(parts)),
            (f"Printed in {filament.name}", f"{plates_text(summed(taken), spec)} in all"),
        ),
        findings=ranked(grouped([*doubts, *parts.findings, *_whole_finding(parts, printer)])),
        tables=(piece_table(everything, taken, title="To print"),),
        steps=_steps(parts, command.keys),
        numbers=_numbers(parts),
        bodies=everything,
        shown=pulled_apart(parts.pieces),
    )  # fmt: skip
    apart = whole.mesh if len(parts.pieces) > 1 else None
    bridge_mm = widest_bridge_mm(printer)
    return print_output(
        result,
        command.formats,
        pictures=lambda: views(result, bridge_mm, whole=apart),
        units=command.units,
        stage=Stage(3, 3, "pictures and report"),
    )


def _rows(bodies: Sequence[Body]) -> list[Body]:
    """Return bodies one behind the other."""
    placed, at = [], 0.0
    for body in bodies:
        low, high = body.mesh.bounds_mm
        points = body.mesh.points_mm + np.array([0.0, at - low[1], 0.0])
        placed.append(Body(body.name, Mesh(points, body.mesh.triangles.copy())))
        at += high[1] - low[1] + 6.0
    return placed


def _pieces_text(parts: SplitPart) -> str:
    count = len(parts.pieces)
    if count == 1:
        return "1: it fits whole"
    return f"{count}, numbered from below" if count > 1 else "none"


def _cut_text(parts: SplitPart) -> str:
    if not parts.cuts:
        return "none"
    return ", ".join(f"{'xyz'[cut.axis]} = {cut.at_mm:.1f} mm" for cut in parts.cuts)


def _pin_text(parts: SplitPart) -> str:
    bill = [f"{count} {name} mm" for name, count in keys_bill(parts.keys)]
    return ", ".join(bill) or "none"


def _numbers(parts: SplitPart) -> dict[str, object]:
    return {
        "pieces": len(parts.pieces),
        "cuts": [{"axis": "xyz"[cut.axis], "at_mm": cut.at_mm} for cut in parts.cuts],
        "pins": dict(keys_bill(parts.keys)),
        "volume_mm3": sum(body.mesh.volume_mm3 for body in parts.plain),
    }


def _steps(parts: SplitPart, kind: KeyKind) -> tuple[tuple[str, str], ...]:
    if len(parts.pieces) == 1:
        return ()
    pins = {
        KeyKind.DOWEL: "Push the pins into one side; ream a hole that is tight by hand with a "
        "drill of the pin's size, held in a pin vise.",
        KeyKind.PRINTED: "Push the printed pins into one side, flat side down.",
        KeyKind.NONE: "Line the pieces up on a flat plate against a straight edge.",
    }[kind]
    return (
        ("Print", "Every piece stands as it was cut; a number is sunk into its underside."),
        ("Dry fit", pins + " Put all pieces together before any glue."),
        ("Glue", "Glue that stands the heat of forming: epoxy, or solvent cement where the "
         "filament takes it; open a window, wear gloves, read its label."),
        ("Dress", "Fill the joint, and sand it level with the surface; wear safety glasses."),
    )  # fmt: skip


def _whole_finding(parts: SplitPart, printer: Printer) -> tuple[Finding, ...]:
    if len(parts.pieces) != 1 or parts.cuts:
        return ()
    return (
        Finding(
            code="split-not-needed",
            severity=Severity.NOTE,
            says="the part fits the printer whole",
            basis=printer.name,
            advice="Print it in one piece.",
        ),
    )
