"""A printed mold as heat sees it: layers from its foot to its face, and a sheet laid on that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.physics.heat.heating import Matter, Stack, stack
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.filament import Filament
from moldgen.stock.infill import USUAL_INFILL

TOUCH_W_m2K = 500.0
"""Between a sheet that air presses on and a printed face; generic, from memory."""
_AIR_W_mK = 0.026
_SHEET_CELLS = 8
_CORE_CELLS = 4
_UNDER_mm = 4.0
_UNDER_CELLS = 4
_SKIN_CELLS = 6
_LOWEST_mm, _TALLEST_mm = 1.0, 500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedMold(Spec):
    """A printed mold as heat sees it: a solid skin on a filling of walls and air."""

    filament: Annotated[Filament, Meaning("what it is printed from")]
    height_mm: Annotated[
        float, Quantity("mm", "height under the sheet", at_least=_LOWEST_mm, at_most=_TALLEST_mm)
    ] = 20.0
    skin_mm: Annotated[
        float, Quantity("mm", "solid skin over the filling", at_least=0.2, at_most=50)
    ] = 1.2
    infill: Annotated[
        float, Quantity("", "share of the filling that is plastic", above=0, at_most=1)
    ] = USUAL_INFILL
    line_mm: Annotated[
        float, Quantity("mm", "thickness of the infill's walls", above=0, at_most=5)
    ] = 0.44
    edge_radius_mm: Annotated[
        float, Quantity("mm", "rounding of the edges of its top", at_least=0, at_most=100)
    ] = 1.5


def solid_matter(filament: Filament) -> Matter:
    """Return a filament, printed without gaps, as a conductor."""
    return Matter(
        conductivity_W_mK=filament.conductivity_W_mK,
        density_kg_m3=filament.density_kg_m3,
        heat_J_kgK=filament.specific_heat_J_kgK,
    )


def filling_matter(mold: PrintedMold) -> Matter:
    r"""Return a mold's filling as a conductor.

    Notes
    -----
    Walls and air side by side, :math:`k = \phi k_s + (1 - \phi) k_{air}`: the most that
    walls upright on the face can do. The air's weight is left out.
    """
    solid, share = solid_matter(mold.filament), mold.infill
    return Matter(
        conductivity_W_mK=share * solid.conductivity_W_mK + (1 - share) * _AIR_W_mK,
        density_kg_m3=share * solid.density_kg_m3,
        heat_J_kgK=solid.heat_J_kgK,
    )


def mold_layers(mold: PrintedMold) -> tuple[tuple[Matter, float, int], ...]:
    """Return a mold's layers for `moldgen.physics.heat.heating.stack`, its face last."""
    solid, filling = solid_matter(mold.filament), filling_matter(mold)
    skin_mm = min(mold.skin_mm, mold.height_mm)
    rest_mm = mold.height_mm - skin_mm
    under_mm = min(_UNDER_mm, rest_mm)
    layers = (
        (filling, (rest_mm - under_mm) / 1000, _CORE_CELLS),
        (filling, under_mm / 1000, _UNDER_CELLS),
        (solid, skin_mm / 1000, max(_SKIN_CELLS, round(skin_mm / 0.4))),
    )
    return tuple(layer for layer in layers if layer[1] > 1e-6)


def on_mold(mold: PrintedMold, matter: Matter, thickness_mm: float, touch_W_m2K: float) -> Stack:
    """Return a mold with a sheet lying on its face, from the underside up."""
    layers = mold_layers(mold)
    sheet = (matter, thickness_mm / 1000, _SHEET_CELLS)
    return stack(*layers, sheet, touch_W_m2K={len(layers) - 1: touch_W_m2K})


def printed_mold(filament: Filament, height_mm: float) -> PrintedMold:
    """Return a mold of a height as it is usually printed, the height within what is reckoned."""
    height = min(max(height_mm, _LOWEST_mm), _TALLEST_mm)
    return PrintedMold(filament=filament, height_mm=height)
