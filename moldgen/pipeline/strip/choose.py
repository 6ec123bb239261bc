"""What the job of a bent strip leaves open, chosen so that nothing is left to complain of.

Inside radii are those that the heater's soft line makes, and jigs that the hot strip would soften
get a facing of wood. What the job says stays, and is judged.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from moldgen.bend.heat.dwell import Dwell, dwell
from moldgen.bend.jig.facing import MARGIN_K, face_degC
from moldgen.bend.strip.layout_rules import largest_radius_mm
from moldgen.job.strip_spec import JigKind, StripJob
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.pipeline.strip.part import (
    StripPart,
    StripSetting,
    bench_of,
    build_part,
    timed_bench,
)
from moldgen.stock import Shop

FACING_MM = 3.0
"""Plywood or fiberboard that is glued on the hot faces where nobody says; common practice. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenStrip:
    """The job of a strip in which nothing is left open.

    Attributes
    ----------
    job : StripJob
        As asked for, with what was chosen.
    part : StripPart
        Its strip.
    bench : StripSetting
        What the shop has for it.
    dwells : tuple of Dwell
        How each bend is heated, turned over as often as its faces bear.
    choices : tuple of ChosenValue
        What was chosen.
    """

    job: StripJob
    part: StripPart
    bench: StripSetting
    dwells: tuple[Dwell, ...]
    choices: tuple[ChosenValue, ...]


def choose_strip(job: StripJob, *, folder: Path, shop: Shop) -> ChosenStrip:
    """Choose what the job of a strip leaves open.

    Parameters
    ----------
    folder : Path
        Where paths in the job start.
    shop : Shop
        Heater, plastic and filament that must be enough for it.

    Raises
    ------
    MoldgenError
        If a name is not in stock, or the strip cannot be described or heated.
    """
    bench = bench_of(job, shop)
    asked = build_part(job, folder, bench.plastic)
    rounded, radii = _with_radii(job, asked, bench)
    part = build_part(rounded, folder, bench.plastic)
    bench = timed_bench(rounded, part, bench)
    dwells = tuple(
        dwell(part.strip, bend, bench.heater, bench.plastic, timed=bench.timed)
        for bend in part.strip.bends
    )
    faced, facing = _with_facing(rounded, bench, dwells)
    return ChosenStrip(job=faced, part=part, bench=bench, dwells=dwells, choices=(*radii, *facing))


def _with_radii(
    job: StripJob, part: StripPart, bench: StripSetting
) -> tuple[StripJob, tuple[ChosenValue, ...]]:
    """Return the job with open radii no larger than the heater makes them."""
    bends, chosen = [], []
    for asked, bend, usual_mm in zip(
        job.strip.bend, part.strip.bends, part.strip.radii_mm, strict=True
    ):
        radius_mm = None
        if asked.radius_mm is None:
            radius_mm = largest_radius_mm(part.strip, bend, bench.heater)
        if radius_mm is None or radius_mm >= usual_mm:
            bends.append(asked)
            continue
        bends.append(replace(asked, radius_mm=radius_mm))
        chosen.append(f"{radius_mm:g} mm at bend {len(bends)}")
    because = f"the heater softens {bench.heater.soft_mm:.0f} mm"
    choices = [ChosenValue(what="inside radius", value=", ".join(chosen), because=because)]
    strip = replace(job.strip, bend=tuple(bends))
    return replace(job, strip=strip), tuple(choices if chosen else ())


def _with_facing(
    job: StripJob, bench: StripSetting, dwells: tuple[Dwell, ...]
) -> tuple[StripJob, tuple[ChosenValue, ...]]:
    """Return the job with a facing on its jigs, if their filament would soften without."""
    if job.jigs.facing_mm is not None:
        return job, ()
    warm_degC = MARGIN_K + face_degC(
        bench.plastic, bench.filament, bend_degC=max(one.mean_degC for one in dwells)
    )
    limit_degC = bench.filament.stands_degC
    needed = warm_degC > limit_degC and any(_pressed(job))
    faced = replace(job, jigs=replace(job.jigs, facing_mm=FACING_MM if needed else 0.0))
    if not needed:
        return faced, ()
    because = (
        f"{bench.filament.name} would get {warm_degC:.0f} °C, and stands {limit_degC:.0f} °C; the "
        "jigs are made smaller by it"
    )
    value = f"{FACING_MM:g} mm plywood or MDF on the hot faces"
    return faced, (ChosenValue(what="jigs", value=value, because=because),)


def _pressed(job: StripJob) -> Iterator[bool]:
    """Yield for every bend whether a jig is asked for in which it is pressed."""
    for bend in job.strip.bend:
        yield (JigKind.PRESS if bend.angle_deg == 180 else JigKind.BLOCK) in job.jigs.make
