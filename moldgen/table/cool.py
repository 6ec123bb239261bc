"""Cool: a formed sheet on a printed mold, in still air or a fan's, until it is stiff."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np

from moldgen.errors import SpecError
from moldgen.physics.falling import fallen_at
from moldgen.physics.heat.conduction import contact_degC, effusivity
from moldgen.physics.heat.heating import INSULATED, Matter, SheetFace, Stack
from moldgen.physics.heat.march import Exposure, TemperatureHistory, march_all
from moldgen.quantity import Quantity
from moldgen.stock.filament import Filament
from moldgen.stock.plastic import Sheet
from moldgen.table.doubt import HEAT_FIELDS, Doubt, band_s, varied
from moldgen.table.matter import matter_of
from moldgen.table.noted import NotedFactor
from moldgen.table.printed_mold import PrintedMold, TOUCH_W_m2K, on_mold, solid_matter
from moldgen.table.surroundings import ROOM_degC, free_face

TOUCH_BAND_W_m2K = (250.0, 1000.0)
"""How uncertain the joint is; generic, from memory."""
_PART_mm = (150.0, 150.0)
"""Size of part that the film of air is worked out for; it hardly matters."""
_STEPS = 60
_FEW_STEPS = 24
_FIRST_s = 16.0
"""Usual sheet of 1 mm is stiff within this; longer if it is not."""
_LONGEST_s = 7200.0


@dataclass(frozen=True, kw_only=True)
class Cooling:
    """How long a formed sheet stays on the mold.

    Attributes
    ----------
    stiff_s : float
        Until its hottest plane is where the plastic is stiff; as notes of the table correct it,
        if they do. [s]
    thickness_mm : float
        The sheet's there. [mm]
    touch_degC : float
        The mold's face in the moment of touch, were the joint perfect. [°C]
    laid : _SheetOnMold
        The sheet on the mold, for what is asked later.
    noted : NotedFactor or None
        What notes of the table made of it.
    """

    stiff_s: float
    thickness_mm: float
    touch_degC: float
    laid: _SheetOnMold = field(repr=False, compare=False)
    noted: NotedFactor | None = None

    @cached_property
    def doubts(self) -> tuple[Doubt, ...]:
        """What makes that uncertain: the joint, and what values of the stock lie between.

        With notes of the table, these.
        """
        if self.noted is not None:
            return (self.noted.doubt,)
        others = dict(_others(self.laid))
        flat = [one for pair in others.values() for one in pair]
        # Ratios of times need fewer steps than times, as long as both are found with as many.
        middle_s, *ends_s = _stiff_s([self.laid, *flat], n_steps=_FEW_STEPS)
        times_s = iter(ends_s)
        return tuple(
            Doubt.between(words, middle_s, [next(times_s) for _ in pair])
            for words, pair in others.items()
        )

    @cached_property
    def band_s(self) -> tuple[float, float]:
        """Between what it lies, uncertain as it is. [s]."""
        return band_s(self.stiff_s, self.doubts)


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
    Two bodies with a joint of 500 W/(m²·K); for the band 250 to 1000, and the bands of sheet
    and filament. Free convection or a fan of 2 m/s, and radiation, off the free face.
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
            mold=_as_cooling_sees(mold),
            sheet_degC=from_degC,
            mold_degC=mold_degC,
            air=free_face(*_PART_mm, hot_up=True, fan=fan, room_degC=room_degC),
        )
    )


def _as_cooling_sees(mold: PrintedMold) -> PrintedMold:
    """Return a mold by what matters to cooling alone, so that two such are one in memory."""
    return PrintedMold(
        filament=mold.filament, height_mm=mold.height_mm, skin_mm=mold.skin_mm, infill=mold.infill
    )


@lru_cache(maxsize=64)
def _cooling(laid: _SheetOnMold) -> Cooling:
    (stiff_s,) = _stiff_s([laid])
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _SheetOnMold:
    """A hot sheet on a mold, with air over it."""

    sheet: Sheet
    thickness_mm: float
    mold: PrintedMold
    sheet_degC: float
    mold_degC: float
    air: SheetFace
    touch_W_m2K: float = TOUCH_W_m2K

    @property
    def body(self) -> Stack:
        """Mold and sheet as layers."""
        matter = matter_of(self.sheet.plastic)
        return on_mold(self.mold, matter, self.thickness_mm, self.touch_W_m2K)

    def exposure(self, duration_s: float) -> Exposure:
        """Return what mold and sheet are exposed to for a time."""
        body = self.body
        start = np.full(len(body.widths_m), self.mold_degC)
        start[body.layers[-1][1]] = self.sheet_degC
        return Exposure(
            body=body, start_degC=start, front=INSULATED, back=self.air, duration_s=duration_s
        )

    def stays_hot(self) -> SpecError:
        """Return what to say of a sheet that is never stiff."""
        plastic = self.sheet.plastic
        return SpecError(
            "mold",
            f"able to cool {self.thickness_mm:.2g} mm {plastic.name} to {plastic.set_degC:g} °C",
            f"{self.mold.filament.name}, on which it stays hot",
            "Take a thinner sheet, or let the mold cool first.",
        )


def _others(laid: _SheetOnMold) -> Iterator[tuple[str, tuple[_SheetOnMold, _SheetOnMold]]]:
    """Yield what is not known exactly, in words, and the sheet on the mold at both ends of it."""
    bad, good = (replace(laid, touch_W_m2K=touch) for touch in TOUCH_BAND_W_m2K)
    yield "joint of sheet and mold {:g} to {:g} W/(m²·K)".format(*TOUCH_BAND_W_m2K), (bad, good)
    for words, plastics in varied(laid.sheet.plastic, HEAT_FIELDS):
        one, other = (
            replace(laid, sheet=replace(laid.sheet, plastic=plastic)) for plastic in plastics
        )
        yield f"sheet: {words}", (one, other)
    for words, filaments in varied(laid.mold.filament, HEAT_FIELDS):
        one, other = (
            replace(laid, mold=replace(laid.mold, filament=filament)) for filament in filaments
        )
        yield f"mold: {words}", (one, other)


def _stiff_s(laids: Sequence[_SheetOnMold], *, n_steps: int = _STEPS) -> tuple[float, ...]:
    """Return when the hottest plane of each sheet is stiff; they have equally many cells. [s]."""
    followed_s = max(_FIRST_s * laid.thickness_mm**1.5 for laid in laids)
    stiff_s: dict[int, float] = {}
    while followed_s < _LONGEST_s:
        soft = [place for place in range(len(laids)) if place not in stiff_s]
        courses = march_all([laids[place].exposure(followed_s) for place in soft], n_steps=n_steps)
        stiff_s |= dict(_stiff(laids, dict(zip(soft, courses, strict=True))))
        if len(stiff_s) == len(laids):
            return tuple(stiff_s[place] for place in range(len(laids)))
        followed_s *= 3
    raise laids[0].stays_hot()


def _stiff(
    laids: Sequence[_SheetOnMold], courses: Mapping[int, TemperatureHistory]
) -> Iterator[tuple[int, float]]:
    """Yield when the hottest plane was stiff, in those courses in which it was."""
    for place, course in courses.items():
        laid = laids[place]
        _, cells = laid.body.layers[-1]
        hottest = course.profiles_degC[:, 0, cells].max(axis=-1)
        hottest = np.maximum(hottest, course.backs_degC[:, 0])
        set_degC = laid.sheet.plastic.set_degC
        if hottest[-1] <= set_degC:
            yield place, fallen_at(course.times_s[:, 0], hottest, set_degC)
