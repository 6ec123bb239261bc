"""Stay: how long a part stays on the mold; whoever tells a cooling time takes it from here."""

from __future__ import annotations

from moldgen.errors import SpecError
from moldgen.stock.experience import NoteEstimate
from moldgen.stock.forming_machine import FormingMachine
from moldgen.stock.plastic import Sheet
from moldgen.table.by_record import cooled_by_record
from moldgen.table.cool import Cooling, cool
from moldgen.table.heat_up import HeatUp, heat_up
from moldgen.table.mold_life import MoldLife
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.run import Run

_LONGEST_HEAT_s = 3600.0


def usual_run(
    sheet: Sheet, machine: FormingMachine, heated: HeatUp | None, *, thickness_ratio: float = 1.0
) -> Run:
    """Return the cycles of a sheet on a machine.

    Parameters
    ----------
    sheet, machine : Sheet, FormingMachine
        What is formed, and where.
    heated : HeatUp or None
        How it is heated: it leaves the heater as hot as it is in the middle of its window. None
        if the machine cannot; the longest time and the usual forming temperature are taken then.
    thickness_ratio : float, default 1
        Thickness of the part over the gauge, where it is thickest. [-]
    """
    used = None if heated is None else heated.usable
    return Run(
        sheet=sheet,
        heat_s=_LONGEST_HEAT_s if used is None else min(used.clock.forming_s, _LONGEST_HEAT_s),
        leaves_degC=None if used is None else used.mean_degC,
        thickness_ratio=thickness_ratio,
        vacuum_kPa=machine.vacuum_kPa,
    )


def part_cooling(
    run: Run,
    mold: PrintedMold,
    *,
    thickness_ratio: float | None = None,
    fan: bool = False,
    record: NoteEstimate | None = None,
) -> Cooling:
    """Return how long a part stays on a cold mold.

    Parameters
    ----------
    run, mold : Run, PrintedMold
        What is formed, and on what.
    thickness_ratio : float, optional
        Local thickness over the gauge; the run's if left out. [-]
    fan : bool
        Whether a light fan blows on the part.
    record : NoteEstimate, optional
        Time on the mold over what is computed, by the notes of the table. [-]

    Raises
    ------
    SpecError
        If it never gets stiff there.
    """
    cooled = cool(
        run.sheet,
        mold,
        thickness_ratio=run.thickness_ratio if thickness_ratio is None else thickness_ratio,
        from_degC=run.arrival_degC,
        mold_degC=run.room_degC,
        room_degC=run.room_degC,
        fan=fan or run.fan,
    )
    return cooled_by_record(cooled, record)


def warm_s(cooling: Cooling, life: MoldLife) -> float:
    """Return how long the last part of a mold's life stays on, where the first does so long. [s].

    Notes
    -----
    The cycles follow a sheet whose heat content does not change with temperature, a few percent
    off; how much longer a warm mold takes is what they tell.
    """
    return cooling.stiff_s * float(life.contact_s[-1] / life.contact_s[0])


def soft_s(
    sheet: Sheet, machine: FormingMachine, mold: PrintedMold, *, thickness_ratio: float
) -> float | None:
    """Return how long a sheet stays soft on a cold mold; None if it never gets stiff. [s].

    As computed, whatever notes of the table say: they tell when parts were taken off, not how long
    the air has to get out.

    Parameters
    ----------
    sheet, machine, mold : Sheet, FormingMachine, PrintedMold
        What is formed, where it was heated, and on what.
    thickness_ratio : float
        Local thickness over the gauge. [-]
    """
    try:
        heated = heat_up(sheet, machine)
    except SpecError:
        heated = None
    run = usual_run(sheet, machine, heated)
    try:
        return part_cooling(run, mold, thickness_ratio=thickness_ratio).stiff_s
    except SpecError:
        return None
