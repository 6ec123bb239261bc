"""Estimate: plastic, mass, filament and time of a print, with what they rest on.

A few level cuts tell walls, skins, bridges and infill of all layers (`layer_runs`), and how long
the head takes for them as it speeds up and brakes (`print_time`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from math import pi

import numpy as np

from moldgen.errors import GeometryError, SpecError
from moldgen.finding import counted
from moldgen.printing.layer_runs import LayerRun, infill_mm, layer_runs
from moldgen.printing.print_spec import USUAL, PrintLine, PrintSpec, line_of
from moldgen.printing.print_time import run_s
from moldgen.solid.mesh import Mesh
from moldgen.solid.slices import closed_mesh
from moldgen.stock import Filament, Printer
from moldgen.stock.experience import NoteEstimate

_OPEN = 1e-9
"""Share of its surface by which the faces of a closed mesh do not cancel out: rounding. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """What a print takes.

    Attributes
    ----------
    volume_mm3 : float
        Of the solid itself. [mm³]
    wall_mm3, skin_mm3, fill_mm3 : float
        Plastic in walls, skins and infill. [mm³]
    mass_g, filament_m, time_s : float
        Mass [g], length of filament [m], time [s].
    n_layers : int
        Layers.
    basis : str
        What the figures rest on.
    """

    volume_mm3: float
    wall_mm3: float
    skin_mm3: float
    fill_mm3: float
    mass_g: float
    filament_m: float
    time_s: float
    n_layers: int
    basis: str

    @property
    def plastic_mm3(self) -> float:
        """All plastic. [mm³]."""
        return self.wall_mm3 + self.skin_mm3 + self.fill_mm3


def estimate(
    mesh: Mesh, *, filament: Filament, printer: Printer, spec: PrintSpec = USUAL
) -> Estimate:
    """Estimate the print of a closed solid as it stands, alone on the bed.

    Raises
    ------
    GeometryError
        If the solid is not closed.
    """
    line = line_of(printer)
    solid, runs = _solid_runs(mesh, spec, line)
    held = [_plastic_mm3(run, spec, line) for run in runs]
    wall, skin, fill, volume = (sum(of_runs) for of_runs in zip(*held, strict=True))
    # The cuts miss what lies between them; their share of it is scaled to the true volume.
    scale = solid.volume_mm3 / volume if volume > 0 else 0.0
    plastic = scale * (wall + skin + fill)
    return Estimate(
        volume_mm3=solid.volume_mm3,
        wall_mm3=scale * wall,
        skin_mm3=scale * skin,
        fill_mm3=scale * fill,
        mass_g=mass_g(plastic, filament),
        filament_m=filament_m(plastic, spec.filament_mm),
        time_s=scale * sum(run_s(run, spec, line=line, printer=printer) for run in runs),
        n_layers=sum(run.count for run in runs),
        basis=basis_of(spec, printer),
    )


def summed(taken: Sequence[Estimate]) -> Estimate:
    """Return what several prints take together, one after the other; layers are those of all."""
    if not taken:
        raise SpecError("taken", "at least one estimate", "none")
    total = {
        one.name: sum(getattr(print_, one.name) for print_ in taken)
        for one in fields(Estimate)
        if one.name != "basis"
    }
    return Estimate(**total, basis=taken[0].basis)


def timed_by(taken: Estimate, ratio: NoteEstimate | None) -> Estimate:
    """Return what a print takes, with its time as the notes of the log have it.

    Parameters
    ----------
    taken : Estimate
        As computed.
    ratio : NoteEstimate or None
        Hours of printing over the estimate; nothing changes without. [-]
    """
    if ratio is None:
        return taken
    told = f"{ratio.value:.2f} times the estimate, by {counted(ratio.n_notes, 'note')} of the log"
    return replace(taken, time_s=ratio.value * taken.time_s, basis=f"{taken.basis}. Time is {told}")


def basis_of(spec: PrintSpec, printer: Printer) -> str:
    """Return what an estimate rests on, and how far to trust it."""
    walls, fill = f"{spec.walls} walls", f"{spec.infill:.0%} infill".replace("%", " %")
    return (
        f"within about 10 % of a slicing program at the same settings: {printer.layer_mm:g} mm "
        f"layers, {walls}, {spec.skins} top and bottom layers, {fill} as a grid; "
        f"{spec.wall_mm_s:g} mm/s along walls, {spec.fill_mm_s:g} in skins and infill, "
        f"{spec.bridge_mm_s:g} over gaps, {spec.first_mm_s:g} in the first layer, "
        f"{printer.travel_mm_s:g} between; {printer.acceleration_mm_s2:g} mm/s² and "
        f"{printer.corner_mm_s:g} mm/s round corners (common practice, no source). Heating up, "
        "support, brim and skirt are not in it"
    )


def _solid_runs(mesh: Mesh, spec: PrintSpec, line: PrintLine) -> tuple[Mesh, tuple[LayerRun, ...]]:
    """Return a mesh as the level cuts need it, and its layers; most are so from the start."""
    facing = np.abs(mesh.area_vectors_mm2.sum(axis=0)).max()
    if facing <= _OPEN * mesh.areas_mm2.sum() and mesh.volume_mm3 > 0:
        try:
            return mesh, tuple(layer_runs(mesh, spec, line))
        except GeometryError:
            pass  # Equal corners of a brought mesh need not be joined.
    whole = closed_mesh(mesh)
    return whole, tuple(layer_runs(whole, spec, line))


def _plastic_mm3(
    run: LayerRun, spec: PrintSpec, line: PrintLine
) -> tuple[float, float, float, float]:
    """Return plastic of walls, of skins and of infill in a run, and the run's volume. [mm³]."""
    height = run.count * line.layer_mm
    wall = min(run.wall_mm * line.spacing_mm, run.contours.all_mm2)
    solid = max(0.0, run.contours.all_mm2 - wall - run.sparse.area_mm2)
    skin = solid * height + run.bridge_mm2 * (line.bridge_mm - line.layer_mm)
    fill = 0.0
    if spec.infill > 0 and run.sparse.area_mm2 > 0:
        fill = 2 * infill_mm(run.sparse, line.infill_spacing_mm(spec.infill)) * line.spacing_mm
    return wall * height, skin, fill * height, run.contours.all_mm2 * height


def mass_g(plastic_mm3: float, filament: Filament) -> float:
    """Return the mass of so much plastic. [g]."""
    return plastic_mm3 * filament.density_kg_m3 * 1e-6


def filament_m(plastic_mm3: float, diameter_mm: float) -> float:
    """Return the length of filament that holds so much plastic. [m]."""
    return plastic_mm3 / (pi / 4 * diameter_mm**2) / 1000


def spoken_time(time_s: float) -> str:
    """Return a time as a person says it: in steps of 5 min, of 10 min from an hour on.

    Examples
    --------
    >>> spoken_time(1500.0), spoken_time(6000.0), spoken_time(10_800.0)
    ('25 min', '1 h 40 min', '3 h')
    """
    step = 5 if time_s < 3600 else 10
    hours, minutes = divmod(max(step, round(time_s / 60 / step) * step), 60)
    return " ".join([f"{hours} h"] * bool(hours) + [f"{minutes} min"] * bool(minutes))
