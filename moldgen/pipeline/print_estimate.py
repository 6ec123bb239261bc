"""What prints take, for every command: one way to slice, one estimate, plate by plate."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil

from moldgen.mold.load.bearing import PrintStructure
from moldgen.printing.estimate import Estimate, estimate, summed
from moldgen.printing.print_spec import LINE_SHARE, PrintSpec
from moldgen.solid.mesh import Body, joined
from moldgen.stock import Filament, Printer
from moldgen.stock.infill import USUAL_INFILL


def print_spec(
    printer: Printer, *, infill: float = USUAL_INFILL, walls: int | None = None
) -> PrintSpec:
    """Return how a print is sliced: skin and walls are those that a mold's load counts on.

    Parameters
    ----------
    infill : float
        Share of plastic between walls and skins. [-]
    walls : int, optional
        Lines along outlines; those of a mold if left out.
    """
    sliced = PrintStructure()
    return PrintSpec(
        walls=walls or max(1, ceil(sliced.shell_mm / (LINE_SHARE * printer.nozzle_mm) - 1e-6)),
        skins=ceil(sliced.skin_mm / printer.layer_mm - 1e-6),
        infill=infill,
    )


def estimate_plates(
    plates: Iterable[Sequence[Body]], *, filament: Filament, printer: Printer, spec: PrintSpec
) -> Estimate:
    """Estimate what plates take, one after the other; all bodies of a plate are printed at once.

    Raises
    ------
    SpecError
        If there is no plate.
    """
    return summed(
        [
            estimate(
                joined([body.mesh for body in plate]),
                filament=filament, printer=printer, spec=spec,
            )
            for plate in plates
        ]
    )  # fmt: skip
