"""What of the shop a job uses."""

from __future__ import annotations

from dataclasses import dataclass, replace

from moldgen.job.command.shop import ShopOptions
from moldgen.job.spec import USUAL_FILAMENT, USUAL_GAUGE_MM, Job, MoldRequest
from moldgen.mold.choices import BuildWay
from moldgen.stock import Filament, FormingMachine, Gauge, Printer, Sheet, Shop
from moldgen.stock.board import MDF
from moldgen.stock.experience import (
    CyclesStood,
    HeatingRecord,
    NoteEstimate,
    TableExperience,
    stood_of,
)

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
    cooling, thickness : NoteEstimate or None
        What they say of time on the mold and of the part's thickness, over what is computed. [-]
    printing : NoteEstimate or None
        What notes of the printer, or of the machine, say of hours over the estimate. [-]
    lives : tuple of CyclesStood
        What notes of the machine say of molds, by filament.
    """

    sheet: Sheet
    machine: FormingMachine
    printer: Printer
    filament: Filament
    gauges: tuple[Gauge, ...] = ()
    build: BuildWay = BuildWay.PRINTED
    heating: HeatingRecord | None = None
    cooling: NoteEstimate | None = None
    thickness: NoteEstimate | None = None
    printing: NoteEstimate | None = None
    lives: tuple[CyclesStood, ...] = ()

    @property
    def of_solid(self) -> Setting:
        """The same with no more of the notes than a solid may depend on: heating times."""
        return replace(self, cooling=None, thickness=None, printing=None, lives=())

    @property
    def stood(self) -> CyclesStood | None:
        """What notes say of molds of this filament; None if they say nothing."""
        return stood_of(self.lives, self.filament.name)

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
    return replace(
        setting, printer=printer, filament=MDF, build=BuildWay.WOOD, printing=None, lives=()
    )


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
    printer = shop.printer(named.printer)
    known = shop.experience.of(machine.name) or TableExperience(machine=machine.name)
    return Setting(
        sheet=Sheet(plastic=shop.plastic(plastic), gauge_mm=gauge_mm),
        machine=machine,
        printer=printer,
        filament=shop.filament(named.filament or USUAL_FILAMENT),
        gauges=shop.gauges_for(plastic),
        heating=known.heating,
        cooling=known.cooling,
        thickness=known.thickness,
        printing=shop.experience.printing(printer.name, machine.name),
        lives=known.lives,
    )
