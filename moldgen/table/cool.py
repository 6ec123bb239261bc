"""Cool: a formed sheet on a printed mold, in still air or a fan's, until it is stiff."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Annotated

import numpy as np

from moldgen.errors import SpecError
from moldgen.physics.falling import fallen_at
from moldgen.physics.heat.conduction import contact_degC, effusivity
from moldgen.physics.heat.heating import INSULATED, Matter, SheetFace, Stack, stack
from moldgen.physics.heat.march import Exposure, TemperatureHistory, march_all
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.stock.filament import Filament
from moldgen.stock.infill import USUAL_INFILL
from moldgen.stock.plastic import Sheet
from moldgen.table.heat_up import HEAT_WITHIN
from moldgen.table.matter import matter_of
from moldgen.table.surroundings import ROOM_degC, free_face

TOUCH_W_m2K = 500.0
"""Between a sheet that air presses on and a printed face; generic, from memory."""
TOUCH_BAND_W_m2K = (250.0, 1000.0)
"""How uncertain that is; generic, from memory."""
_AIR_W_mK = 0.026
_PART_mm = (150.0, 150.0)
"""Size of part that the film of air is worked out for; it hardly matters."""
_SHEET_CELLS = 8
_CORE_CELLS = 4
_UNDER_mm = 4.0
_UNDER_CELLS = 4
_SKIN_CELLS = 6
_STEPS = 60
_FIRST_s = 16.0
"""Usual sheet of 1 mm is stiff within this; longer if it is not."""
_LONGEST_s = 7200.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedMold(Spec):
    """A printed mold as heat sees it: a solid skin on a filling of walls and air."""

    filament: Annotated[Filament, Meaning("what it is printed from")]
    height_mm: Annotated[
        float, Quantity("mm", "height under the sheet", at_least=1, at_most=500)
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


@dataclass(frozen=True, kw_only=True)
class Cooling:
    """How long a formed sheet stays on the mold.

    Attributes
    ----------
    stiff_s : float
        Until its hottest plane is where the plastic is stiff. [s]
    thickness_mm : float
        The sheet's there. [mm]
    touch_degC : float
        The mold's face in the moment of touch, were the joint perfect. [°C]
    laid : _SheetOnMold
        The sheet on the mold, for what is asked later.
    """

    stiff_s: float
    thickness_mm: float
    touch_degC: float
    laid: _SheetOnMold = field(repr=False, compare=False)

    @cached_property
    def band_s(self) -> tuple[float, float]:
        """A light sheet on a joint that conducts well, and a heavy one on a bad joint. [s]."""
        bad_W_m2K, good_W_m2K = TOUCH_BAND_W_m2K
        light_s, heavy_s = self.laid.stiff_s(
            _Joint(touch_W_m2K=good_W_m2K, weight=1 - HEAT_WITHIN),
            _Joint(touch_W_m2K=bad_W_m2K, weight=1 + HEAT_WITHIN),
        )
        return light_s, heavy_s


def cool(
    sheet: Sheet,
    mold: PrintedMold,
    *,
    thickness_ratio: float = 1.0,
    from_degC: float | None = None,
    mold_degC: float = ROOM_degC,
    room_degC: float = ROOM_degC,
    fan: bool = False,
) -> Cooling:
    """Return how long a formed sheet cools on a mold.

    Parameters
    ----------
    sheet : Sheet
        What was formed.
    mold : PrintedMold
        What it lies on; its underside is taken to keep all heat.
    thickness_ratio : float, default 1
        Local thickness over gauge. [-]
    from_degC : float, optional
        The sheet's when it touches; the usual forming temperature if left out. [°C]
    mold_degC, room_degC : float
        Mold and air. [°C]
    fan : bool
        Whether a light fan blows on the free face.

    Raises
    ------
    SpecError
        If the mold or the air is too warm for the sheet ever to be stiff.

    Notes
    -----
    Two bodies with a joint of 500 W/(m²·K); for the band 250 to 1000, and the sheet's heat
    15 % more or less. Free convection or a fan
    of 2 m/s, and radiation, off the free face.
    """
    Quantity("", "local thickness over gauge", above=0, at_most=1.5).check(
        "thickness_ratio", thickness_ratio
    )
    thickness_mm = sheet.gauge_mm * thickness_ratio
    plastic = sheet.plastic
    from_degC = plastic.forming_degC if from_degC is None else from_degC
    if max(mold_degC, room_degC) >= plastic.set_degC:
        raise SpecError(
            "mold_degC",
            f"less than {plastic.set_degC:g} °C, at which {plastic.name} is stiff",
            f"{max(mold_degC, room_degC):g} °C",
            "Let the mold cool first.",
        )
    return _cooling(
        _SheetOnMold(
            sheet=sheet,
            thickness_mm=thickness_mm,
            mold=mold,
            sheet_degC=from_degC,
            mold_degC=mold_degC,
            air=free_face(*_PART_mm, hot_up=True, fan=fan, room_degC=room_degC),
        )
    )


@lru_cache(maxsize=64)
def _cooling(laid: _SheetOnMold) -> Cooling:
    (stiff_s,) = laid.stiff_s(_Joint())
    return Cooling(
        stiff_s=stiff_s,
        laid=laid,
        thickness_mm=laid.thickness_mm,
        touch_degC=touch_degC(laid.sheet, laid.mold.filament, laid.sheet_degC, laid.mold_degC),
    )


def touch_degC(
    sheet: Sheet, filament: Filament, sheet_degC: float, mold_degC: float = ROOM_degC
) -> float:
    """Return the temperature of the faces as sheet and mold touch, were the joint perfect.

    The sheet counts with its mean specific heat from there to stiff.
    """
    warm = sheet_matter(sheet, sheet_degC)
    hot = effusivity(warm.conductivity_W_mK, warm.density_kg_m3, warm.heat_J_kgK)
    solid = solid_matter(filament)
    cold = effusivity(solid.conductivity_W_mK, solid.density_kg_m3, solid.heat_J_kgK)
    return contact_degC(sheet_degC, hot, mold_degC, cold)


def sheet_matter(sheet: Sheet, from_degC: float) -> Matter:
    """Return a cooling sheet as a conductor that does not change.

    Its specific heat is the mean from a temperature to where it is stiff, crystals included.
    """
    matter = matter_of(sheet.plastic)
    ends = np.array([sheet.plastic.set_degC, max(from_degC, sheet.plastic.set_degC + 1)])
    content = matter.enthalpy(ends)
    return Matter(
        conductivity_W_mK=matter.conductivity_W_mK,
        density_kg_m3=matter.density_kg_m3,
        heat_J_kgK=float((content[1] - content[0]) / (ends[1] - ends[0])),
    )


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Joint:
    """How well the sheet touches the mold, and how heavy it is over what it is taken for."""

    touch_W_m2K: float = TOUCH_W_m2K
    weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _SheetOnMold:
    """A hot sheet on a mold, with air over it."""

    sheet: Sheet
    thickness_mm: float
    mold: PrintedMold
    sheet_degC: float
    mold_degC: float
    air: SheetFace

    def stiff_s(self, *joints: _Joint) -> tuple[float, ...]:
        """Return when the hottest plane of the sheet is stiff, for each of several joints."""
        bodies = [self._body(joint) for joint in joints]
        _, cells = bodies[0].layers[-1]
        start = np.full(len(bodies[0].widths_m), self.mold_degC)
        start[cells] = self.sheet_degC
        followed_s = _FIRST_s * self.thickness_mm**1.5
        stiff_s: dict[int, float] = {}
        while followed_s < _LONGEST_s:
            soft = [place for place in range(len(joints)) if place not in stiff_s]
            courses = march_all(
                [
                    Exposure(
                        body=bodies[place], start_degC=start, front=INSULATED, back=self.air,
                        duration_s=followed_s,
                    )
                    for place in soft
                ],
                n_steps=_STEPS,
            )  # fmt: skip
            stiff_s |= dict(self._stiff(dict(zip(soft, courses, strict=True)), cells))
            if len(stiff_s) == len(joints):
                return tuple(stiff_s[place] for place in range(len(joints)))
            followed_s *= 3
        raise self._stays_hot()

    def _stiff(
        self, courses: Mapping[int, TemperatureHistory], cells: slice
    ) -> Iterator[tuple[int, float]]:
        """Yield when the hottest plane was stiff, in those courses in which it was."""
        set_degC = self.sheet.plastic.set_degC
        for place, course in courses.items():
            hottest = course.profiles_degC[:, 0, cells].max(axis=-1)
            hottest = np.maximum(hottest, course.backs_degC[:, 0])
            if hottest[-1] <= set_degC:
                yield place, fallen_at(course.times_s[:, 0], hottest, set_degC)

    def _body(self, joint: _Joint) -> Stack:
        matter = matter_of(self.sheet.plastic)
        matter = replace(matter, density_kg_m3=matter.density_kg_m3 * joint.weight)
        return on_mold(self.mold, matter, self.thickness_mm, joint.touch_W_m2K)

    def _stays_hot(self) -> SpecError:
        plastic = self.sheet.plastic
        return SpecError(
            "mold",
            f"able to cool {self.thickness_mm:.2g} mm {plastic.name} to {plastic.set_degC:g} °C",
            f"{self.mold.filament.name}, on which it stays hot",
            "Take a thinner sheet, or let the mold cool first.",
        )
