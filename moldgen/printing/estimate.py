"""Estimate: plastic, mass, filament and time of a print, with what they rest on.

The solid is cut level at even steps. Walls are the outer strip of every cut, skins the plastic
under and over what faces up and down, and the rest is filled at the infill's share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from math import ceil, pi
from typing import Annotated

import numpy as np
import shapely
from manifold3d import Manifold

from moldgen.errors import SpecError
from moldgen.quantity import Quantity, Spec
from moldgen.solid.mesh import Mesh
from moldgen.solid.slices import region_at, solid_of
from moldgen.stock import Filament, Printer
from moldgen.stock.infill import USUAL_INFILL

LINE_SHARE = 1.1
"""Width of a printed line over the nozzle's bore (common practice, no source). [-]."""
MOST_CUTS = 60
_CHUNK_MM = 0.5
BASIS = (
    "walls and skins at their line width, the rest at the infill's share; lines laid at the stated "
    "speeds, plus a fixed time for every layer (speeds: common practice, no source; heating up and "
    "support are not in it, and printers differ by a third)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintSpec(Spec):
    """How a solid is filled and how fast it is laid."""

    walls: Annotated[int, Quantity("", "lines along every outline", at_least=1, at_most=20)] = 3
    skins: Annotated[
        int, Quantity("", "top and bottom layers, of each", at_least=0, at_most=50)
    ] = 6
    infill: Annotated[
        float, Quantity("", "share of plastic between walls and skins", at_least=0, at_most=1)
    ] = USUAL_INFILL
    wall_mm_s: Annotated[float, Quantity("mm/s", "speed along walls", above=0, at_most=1000)] = 45.0
    fill_mm_s: Annotated[
        float, Quantity("mm/s", "speed in skins and infill", above=0, at_most=1000)
    ] = 70.0
    layer_s: Annotated[
        float, Quantity("s", "lost with every layer: moves, seam", at_least=0, at_most=600)
    ] = 4.0
    filament_mm: Annotated[
        float, Quantity("mm", "diameter of the filament", at_least=0.5, at_most=5)
    ] = 1.75


USUAL = PrintSpec()
"""Three walls, six skins, a fifth of infill: as the pipeline slices a mold of 0.2 mm layers."""


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
    basis: str = BASIS

    @property
    def plastic_mm3(self) -> float:
        """All plastic. [mm³]."""
        return self.wall_mm3 + self.skin_mm3 + self.fill_mm3


def estimate(
    mesh: Mesh, *, filament: Filament, printer: Printer, spec: PrintSpec = USUAL
) -> Estimate:
    """Estimate the print of a closed solid as it stands.

    Raises
    ------
    GeometryError
        If the solid is not closed.
    """
    solid = solid_of(mesh)
    volume = float(solid.volume())
    core = _core_mm3(solid, spec.walls * LINE_SHARE * printer.nozzle_mm)
    return _estimate_of(mesh, volume, core, filament=filament, printer=printer, spec=spec)


def estimate_unsliced(
    mesh: Mesh, *, filament: Filament, printer: Printer, spec: PrintSpec = USUAL
) -> Estimate:
    r"""Estimate the print of a closed solid as it stands, without cutting it into slices.

    Parameters
    ----------
    mesh : Mesh
        Closed, outside out; not checked. [mm]

    Notes
    -----
    Walls of a thickness w along outlines of a length P fill :math:`x = w \int P dz / V` of the
    volume V, less where they meet. All outlines together are the surface seen from the side:
    :math:`\int P dz = \sum A \cos(lean)`. Of a long strip the walls are x, of a square
    :math:`x - x^2 / 4`; what lies between is taken.
    """
    volume = mesh.volume_mm3
    across = mesh.area_vectors_mm2[:, :2]
    outlines_mm2 = float(np.hypot(across[:, 0], across[:, 1]).sum())
    walls = min(2.0, spec.walls * LINE_SHARE * printer.nozzle_mm * outlines_mm2 / volume)
    core = volume * (1 - min(1.0, walls - walls**2 / 8))
    return _estimate_of(mesh, volume, core, filament=filament, printer=printer, spec=spec)


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


def _estimate_of(
    mesh: Mesh, volume: float, core: float, *, filament: Filament, printer: Printer, spec: PrintSpec
) -> Estimate:
    """Return what walls, skins and infill of a solid take that has so much within its walls."""
    line = LINE_SHARE * printer.nozzle_mm
    skin = min(core, _skin_mm3(mesh, spec.skins * printer.layer_mm, core / volume))
    fill = spec.infill * (core - skin)
    wall = volume - core
    height = float(np.ptp(mesh.points_mm[:, 2]))
    layers = max(1, ceil(height / printer.layer_mm - 1e-6))
    plastic = wall + skin + fill
    per_mm = line * printer.layer_mm
    lines_s = (wall / spec.wall_mm_s + (skin + fill) / spec.fill_mm_s) / per_mm
    return Estimate(
        volume_mm3=volume,
        wall_mm3=wall,
        skin_mm3=skin,
        fill_mm3=fill,
        mass_g=mass_g(plastic, filament),
        filament_m=filament_m(plastic, spec.filament_mm),
        time_s=lines_s + layers * spec.layer_s,
        n_layers=layers,
    )


def mass_g(plastic_mm3: float, filament: Filament) -> float:
    """Return the mass of so much plastic. [g]."""
    return plastic_mm3 * filament.density_kg_m3 * 1e-6


def filament_m(plastic_mm3: float, diameter_mm: float) -> float:
    """Return the length of filament that holds so much plastic. [m]."""
    return plastic_mm3 / (pi / 4 * diameter_mm**2) / 1000


def spoken_time(time_s: float) -> str:
    """Return a time as a person says it: quarter hours from an hour on.

    Examples
    --------
    >>> spoken_time(1500.0), spoken_time(9000.0)
    ('25 min', '2.5 h')
    """
    if time_s < 3600:
        return f"{max(5, round(time_s / 300) * 5)} min"
    return f"{round(time_s / 900) / 4:g} h"


def _core_mm3(solid: Manifold, wall_mm: float) -> float:
    """Return what lies within the walls: the cuts shrunk by them."""
    _, _, low, _, _, high = solid.bounding_box()
    cuts = min(MOST_CUTS, max(8, ceil((high - low) / _CHUNK_MM)))
    levels = low + (np.arange(cuts) + 0.5) * (high - low) / cuts
    regions = [region_at(solid, float(z)) for z in levels]
    whole = sum(region.area for region in regions)
    inner = sum(shapely.buffer(region, -wall_mm, join_style="mitre").area for region in regions)
    # The cuts miss what lies between them; their share of it is scaled to the true volume.
    return float(solid.volume() * inner / whole) if whole > 0 else 0.0


def _skin_mm3(mesh: Mesh, thick_mm: float, core_share: float) -> float:
    """Return the plastic in skins: what faces up and down, seen from above, less the walls."""
    level = float(np.abs(mesh.area_vectors_mm2[:, 2]).sum())
    return thick_mm * level * core_share
