"""From words to small test prints."""

from __future__ import annotations

from moldgen.job.command.printing import TestPieceCommand
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.output import Output
from moldgen.pipeline.print_estimate import print_spec
from moldgen.pipeline.print_rows import piece_table, plates_text
from moldgen.pipeline.printing.files import PrintResult, print_output, views
from moldgen.pipeline.printing.split import _rows
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage
from moldgen.printing.estimate import estimate, summed
from moldgen.printing.overhang import widest_bridge_mm
from moldgen.printing.test_piece import (
    build_key_test_piece,
    build_slit_test_piece,
    build_vent_test_piece,
)
from moldgen.solid.mesh import Body
from moldgen.stock import Shop
from moldgen.stock.dowel import dowel_named


def make_test_pieces(*, command: TestPieceCommand, shop: Shop, progress: Progress) -> Result:
    """Make the test prints for vents and pins; see `design_test_pieces`."""
    output = design_test_pieces(command=command, shop=shop, progress=progress)
    return output.render(progress=progress)


def design_test_pieces(*, command: TestPieceCommand, shop: Shop, progress: Progress) -> Output:
    """Make the test prints for vents and pins.

    Raises
    ------
    MoldgenError
        If a size or a name is wrong.
    """
    progress = telling_first_use(progress)
    progress(Stage(1, 2, "making the test pieces"))
    filament, printer = shop.filament(command.filament), shop.printer(command.printer)
    dowel = dowel_named(command.dowel)
    made = (
        build_vent_test_piece(command.vents_mm),
        build_slit_test_piece(command.slits_mm),
        build_key_test_piece(dowel, printer, plays_mm=command.plays_mm),
        build_key_test_piece(dowel, printer, plays_mm=command.plays_mm, lying=False),
    )
    bodies = tuple(
        Body(name, body.mesh)
        for name, body in zip(("vents", "slits", "pins lying", "pins standing"), made, strict=True)
    )
    spec = print_spec(printer)
    taken = [estimate(body.mesh, filament=filament, printer=printer, spec=spec) for body in bodies]
    result = PrintResult(
        title=f"Test pieces {command.dowel}",
        subtitle="Small test prints: which hole fits",
        summary=(
            ("Vents", ", ".join(f"{size:g} mm" for size in command.vents_mm) + " as drawn"),
            ("Slits", ", ".join(f"{size:g} mm" for size in command.slits_mm) + " as drawn"),
            ("Pins", f"{dowel.name}, play {', '.join(f'{p:g} mm' for p in command.plays_mm)}"),
            ("To print", plates_text(summed(taken), spec)),
        ),
        findings=(),
        tables=(piece_table(bodies, taken, title="To print"),),
        steps=(
            ("Vents", "Try drills in the holes: a drill's size less the number beside the hole it "
             "just fits is what the printer's holes lose. Write it as hole_undersize_mm of your "
             "own printer."),
            ("Slits", "Hold the piece to the light: the narrowest slit that shows from end to end "
             "is what your printer leaves open. Write it as least_slit_mm of your own printer."),
            ("Pins", f"Each hole is {dowel.diameter_mm:g} mm, plus {printer.hole_undersize_mm:g} "
             "mm that holes lose, plus the number beside it. Take the first that a pin slides "
             "into by hand: moldgen split --play says it."),
        ),
        numbers={"time_s": summed(taken).time_s, "mass_g": summed(taken).mass_g},
        bodies=bodies,
        shown=tuple(_rows(bodies)),
    )  # fmt: skip
    return print_output(
        result,
        command.formats,
        pictures=lambda: views(result, widest_bridge_mm(printer))[:1],
        units=command.units,
        stage=Stage(2, 2, "pictures and report"),
    )
