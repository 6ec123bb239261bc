"""What of the shop a job uses."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.job.command.shop import ShopOptions
from moldgen.job.spec import MoldRequest
from moldgen.stock import Filament, Gauge, Printer, Sheet, Shop, Station


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What of the shop a mold is made with."""

    sheet: Sheet
    station: Station
    printer: Printer
    filament: Filament
    gauges: tuple[Gauge, ...] = ()


def setting_of(request: MoldRequest, shop: Shop) -> Setting:
    """Look up what a mold is made with.

    Raises
    ------
    SpecError
        With the nearest names, if there is no such entry.
    """
    return _setting(request, request.sheet.plastic, request.sheet.gauge_mm, shop=shop)


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
        station=shop.station(named.station),
        printer=shop.printer(named.printer),
        filament=shop.filament(named.filament),
        gauges=shop.gauges_for(plastic),
    )
