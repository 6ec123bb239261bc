"""Whether the print bears the vacuum: ceilings over channels, skins over infill, thin walls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from moldgen.finding import Finding, Severity, amount
from moldgen.mold.features import FeaturePlan, roots_of
from moldgen.mold.load.bearing import (
    BearingPart,
    Borne,
    LoadCase,
    PrintStructure,
    ceilings_of,
    infill_spacing_mm,
    least_skin_mm,
    pads_of,
    ribs_of,
    skin_of,
    walls_of,
)
from moldgen.mold.load.strength import STRENGTH_BASIS, AllowedStress, allowed_at
from moldgen.mold.underside.underside import Underside
from moldgen.mold.vents.vent import Vent
from moldgen.solid.height.relief import Relief
from moldgen.stock import Filament, FormingMachine, Printer

_ROARK = "plates under even pressure (Roark's Formulas for Stress and Strain, Table 11.4)"


@dataclass(frozen=True, slots=True, kw_only=True)
class VacuumLoad:
    """What the vacuum does to a mold.

    Attributes
    ----------
    vacuum_kPa, force_N : float
        Pressure on it, and how hard it is pressed onto the table. [kPa], [N]
    borne : tuple of Borne
        The worst place of every kind, the most used first.
    allowed : AllowedStress
        What the print may bear.
    infill_mm, least_skin_mm : float
        Spacing of the infill, and the least skin over it. [mm]
    """

    vacuum_kPa: float
    force_N: float
    borne: tuple[Borne, ...]
    allowed: AllowedStress
    infill_mm: float
    least_skin_mm: float


def measure_load(
    plans: Sequence[FeaturePlan],
    undersides: Sequence[Underside],
    vents: Sequence[Vent],
    relief: Relief,
    *,
    machine: FormingMachine,
    printer: Printer,
    filament: Filament,
    spec: PrintStructure | None = None,
) -> VacuumLoad:
    """Return what ceilings, skins, walls and pads have to bear under the machine's vacuum.

    The full vacuum is put on one side of everything, which is more than a thin wall sees when the
    sheet comes down on both its sides together.

    Parameters
    ----------
    plans, undersides, vents, relief
        The mold as built; one underside for each body, in the order of the plans.
    machine, printer, filament
        Vacuum, line width and layers, strength.
    spec : PrintStructure, optional
        How it is sliced and how warm it gets.
    """
    spec = spec or PrintStructure()
    allowed = allowed_at(filament, spec.mold_degC)
    case = LoadCase(machine.vacuum_kPa, allowed, spec)
    infill_mm = infill_spacing_mm(spec.infill, printer.nozzle_mm)
    roots = roots_of(plans)
    borne = [skin_of(infill_mm, case)]
    for root, underside in zip(roots, undersides, strict=True):
        borne += [
            *ceilings_of(root, underside, vents, relief, case),
            pads_of(root, underside, case),
        ]
    borne += [wall for plan in plans for wall in walls_of(plan, case)]
    borne += [rib for rib in ribs_of(plans, case)]
    kinds = [[one for one in borne if one.part is part] for part in BearingPart]
    return VacuumLoad(
        vacuum_kPa=machine.vacuum_kPa,
        force_N=machine.vacuum_kPa * 1e-3 * sum(root.outer.area for root in roots),
        borne=tuple(
            sorted(
                (max(kind, key=lambda one: one.used) for kind in kinds if kind),
                key=lambda one: -one.used,
            )
        ),
        allowed=allowed,
        infill_mm=infill_mm,
        least_skin_mm=least_skin_mm(infill_mm, case, printer.layer_mm),
    )


def check_load(load: VacuumLoad) -> tuple[Finding, ...]:
    """Ask whether anything bears or gives more than it may."""
    return tuple(_too_much(one, load) for one in load.borne if one.used > 1)


_SAYS = {
    BearingPart.CEILING: "the ceiling of a channel bears too much under the vacuum",
    BearingPart.SKIN: "the skin over the infill bears too much under the vacuum",
    BearingPart.WALL: "a wall is thin for its height, should the vacuum press it from one side",
    BearingPart.PADS: "the pads it stands on bear too much under the vacuum",
}


def _too_much(one: Borne, load: VacuumLoad) -> Finding:
    gives = one.bend_mm / one.most_bend_mm > one.stress_MPa / max(one.allowed_MPa, 1e-9)
    return Finding(
        code="load-" + one.part.name.lower(),
        severity=Severity.STOP if one.used > 3 else Severity.CAUTION,
        says=_SAYS[one.part] if not gives else _SAYS[one.part].replace("bears", "gives"),
        measured=one.bend_mm if gives else one.stress_MPa,
        limit=one.most_bend_mm if gives else one.allowed_MPa,
        unit="mm" if gives else "MPa",
        where_mm=one.where_mm,
        subject=one.subject,
        basis=f"{_ROARK}; {STRENGTH_BASIS}; mold at {load.allowed.mold_degC:g} °C",
        advice=_advice(one, load),
    )


def _advice(one: Borne, load: VacuumLoad) -> str:
    cool = "let the mold cool between cycles, or print a filament that stands more heat."
    if one.part is BearingPart.SKIN:
        return (
            f"Slice it with {amount(load.least_skin_mm, 'mm')} of skin, or with more infill; {cool}"
        )
    if one.part is BearingPart.CEILING:
        return f"Make the channels narrower or the mold taller there; {cool}"
    if one.part is BearingPart.WALL:
        return f"Make it thicker or lower, or give it more draft; {cool}"
    return f"Leave more of the underside standing; {cool}"
