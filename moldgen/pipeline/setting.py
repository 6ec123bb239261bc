"""What of the shop a job uses."""

from __future__ import annotations

from dataclasses import dataclass, replace

from moldgen.job.command.shop import ShopOptions
from moldgen.job.spec import USUAL_FILAMENT, USUAL_GAUGE_MM, Job, MoldRequest
from moldgen.mold.choices import BuildWay
from moldgen.stock import Filament, FormingMachine, Gauge, Printer, Sheet, Shop
from moldgen.stock.board import MDF
from moldgen.stock.experience import HeatingRecord

ANY_SIZE_MM = 5000.0
"""What a mold that is not printed may measure: no printer limits it. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What of the shop a mold is made with.

    Attributes
    ----------
    sheet : Sheet
        What is formed.
    machine : FormingMachine
        Where.
    printer : Printer
        What prints the mold; one without a limit of size for a mold of wood.
    filament : Filament
        What the mold is made of; wood in the place of it if it is not printed.
    gauges : tuple of Gauge
        In what the sheet is sold.
    build : BuildWay
        Whether the mold is printed.
    heating : HeatingRecord or None
        What notes of the machine say of its heating times; None if there are none.
    """

    sheet: Sheet
    machine: FormingMachine
    printer: Printer
    filament: Filament
    gauges: tuple[Gauge, ...] = ()
    build: BuildWay = BuildWay.PRINTED
    heating: HeatingRecord | None = None

    @property
    def is_printed(self) -> bool:
        """Whether the mold comes from a printer."""
        return self.build is BuildWay.PRINTED


def setting_of(request: MoldRequest, shop: Shop) -> Setting:
    """Look up what a mold is made with; the usual sheet and filament where it does not say.

    Raises
    ------
    SpecError
        With the nearest names, if there is no such entry.
    """
    gauge_mm = request.sheet.gauge_mm
    if gauge_mm is None:
        gauge_mm = USUAL_GAUGE_MM
    setting = _setting(request, request.sheet.plastic, gauge_mm, shop=shop)
    if isinstance(request, Job) and request.build is BuildWay.WOOD:
        return _of_wood(setting)
    return setting


def _of_wood(setting: Setting) -> Setting:
    """Return the same for a mold of wood: no bed limits it, and nothing of it softens."""
    printer = replace(
        setting.printer,
        bed_width_mm=ANY_SIZE_MM, bed_depth_mm=ANY_SIZE_MM, bed_height_mm=ANY_SIZE_MM,
    )  # fmt: skip
    return replace(setting, printer=printer, filament=MDF, build=BuildWay.WOOD)


def setting_of_text(command: ShopOptions, shop: Shop) -> Setting:
    """Look up what a short command names.

    Raises
    ------
    SpecError
        With the nearest names, if there is no such entry.
    """
    return _setting(command, command.plastic, command.gauge_mm, shop=shop)


def _setting(
    named: MoldRequest | ShopOptions, plastic: str, gauge_mm: float, *, shop: Shop
) -> Setting:
    machine = shop.machine(named.machine)
    known = shop.experience.of(machine.name)
    return Setting(
        sheet=Sheet(plastic=shop.plastic(plastic), gauge_mm=gauge_mm),
        machine=machine,
        printer=shop.printer(named.printer),
        filament=shop.filament(named.filament or USUAL_FILAMENT),
        gauges=shop.gauges_for(plastic),
        heating=None if known is None else known.heating,
    )
