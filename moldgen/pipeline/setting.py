"""What of the shop a job uses."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.job.command.shop import ShopOptions
from moldgen.job.spec import USUAL_FILAMENT, USUAL_GAUGE_MM, MoldRequest
from moldgen.stock import Filament, FormingMachine, Gauge, Printer, Sheet, Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What of the shop a mold is made with."""

    sheet: Sheet
    machine: FormingMachine
    printer: Printer
    filament: Filament
    gauges: tuple[Gauge, ...] = ()


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
    return _setting(request, request.sheet.plastic, gauge_mm, shop=shop)


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
    return Setting(
        sheet=Sheet(plastic=shop.plastic(plastic), gauge_mm=gauge_mm),
        machine=shop.machine(named.machine),
        printer=shop.printer(named.printer),
        filament=shop.filament(named.filament or USUAL_FILAMENT),
        gauges=shop.gauges_for(plastic),
    )
