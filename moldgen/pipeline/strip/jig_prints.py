"""What the jigs of a strip take to print: heavier walls than a mold's, for they are leaned on."""

from __future__ import annotations

from collections.abc import Iterable

from moldgen.pipeline.print_estimate import estimate_plates, print_spec
from moldgen.pipeline.strip.jigs import PrintedJig
from moldgen.pipeline.strip.part import StripSetting
from moldgen.printing.estimate import Estimate
from moldgen.printing.print_spec import PrintSpec
from moldgen.stock import Printer

_WALLS = 4
"""Lines along outlines (judgment). [-]."""


def jig_print_spec(printer: Printer) -> PrintSpec:
    """Return how jigs are sliced, as their directions say."""
    return print_spec(printer, walls=_WALLS)


def estimate_jigs(jigs: Iterable[PrintedJig], bench: StripSetting) -> Estimate:
    """Return what some jigs take, each a print of its own."""
    return estimate_plates(
        [jig.bodies for jig in jigs],
        filament=bench.filament, printer=bench.printer, spec=jig_print_spec(bench.printer),
    )  # fmt: skip
