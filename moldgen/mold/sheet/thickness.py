"""How thick a formed sheet is on a part and its features, and how far to trust that.

Two numbers tell of thin sheet. The *thin* one is the thickness below which a hundredth of the area
lies. It hardly depends on how the sheet was cut into triangles, so that it is what decides. The
*least* one is the thinnest single place, which does: it rests on a few triangles.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import hypot

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.mold.features import FeaturePlan
from moldgen.mold.sheet.clusters import Mask, Place, place_of
from moldgen.mold.sheet.places import middles_of, owner_of
from moldgen.physics.membrane.run import FormingRun
from moldgen.stock.experience import NoteEstimate

THIN_AREA = 0.01
"""Share of the area that is thinner than what is told as thin. [-]."""

PATCH_MM = 1.25
"""Standard deviation of the pieces of flat sheet over which thickness is a mean. [mm]."""

MOST_EVENED = 1.05
"""Most that such pieces may be thicker than single triangles: no narrow band gets lost. [-]."""

CELL_MM = 1.0
"""Cell of the raster on which those means are taken. [mm]."""

PACE_DOUBT = 0.0225
"""Share by which thickness may be off at a pace of 1; it falls with the pace. [-]."""

HOLD_DOUBT, HOLD_LEAST_DOUBT = 0.06, 0.25
"""Shares by which thin places and the least are off where sheet loses all stiffness. [-].

Sheet that goes into the foot thins there, as far as triangles let it. Chosen on a dome and a
recess, cut into triangles in 12 ways.
"""

PACE_SAFETY = 2.0
"""Factor on what two runs tell of the error of the pace. [-]."""

_EVERY = 16
"""Which of the triangles are looked at to tell about how thin the thinnest are."""

_THIN_DOUBT_per_mm, _LEAST_DOUBT_per_mm = 0.15, 0.5
"""What triangles of 1 mm add to the doubt, over how much thinner the thinnest place is. [1/mm].

Chosen on a dome, a box, a frustum, a recess, letters and a tray, each formed on sheets cut into
triangles in 12 ways: against their mean of fine runs the thin number is off by less than its
doubt in all fine runs and 97 % of the previews, the least number in all and 93 %.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaceError:
    """By how much the pace of a run may falsify thickness, measured by a run at half of it.

    What a pace gets wrong grows as its inverse. So half the pace is off by twice as much, and the
    difference of the two runs is what the slower one is off (Richardson's extrapolation). It is
    doubled, because two runs may also agree by chance: on eleven molds as previews that bounds
    what a run at a pace of 6 gives instead for thin places on ten, for the least thickness on nine.

    Attributes
    ----------
    thin_mm, least_mm : float
        For the thin places, and for the least thickness. [mm]
    """

    thin_mm: float
    least_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureThickness:
    """How thick the sheet is on one feature.

    Attributes
    ----------
    name : str
        The feature; empty for the whole part.
    thin_mm : float
        Thickness below which a hundredth of the area lies, taken as the mean of the thinnest
        fiftieth: where thickness rises evenly from its least, that is the same, and it rests on
        more sheet. Thickness is that of pieces of the flat sheet 4 mm across, their flat area over
        their formed area, and never 5 % more than that of single triangles. [mm]
    least_mm : float
        Thickness of the thinnest triangle, each taken as the mean at its points. [mm]
    thin_doubt_mm, least_doubt_mm : float
        By how much those may be off, by the pace of the run and its triangles; what is known of
        the plastic only roughly comes on top. [mm]
    mean_mm : float
        Formed volume over formed area. [mm]
    where_mm : tuple of three floats
        Where it is thinnest. [mm]
    area_mm2 : float
        Formed area. [mm²]
    pace : PaceError, optional
        What the pace of the run does to it, if that was measured; it then is part of the doubts.
    """

    name: str
    thin_mm: float
    least_mm: float
    thin_doubt_mm: float
    least_doubt_mm: float
    mean_mm: float
    where_mm: Place
    area_mm2: float
    pace: PaceError | None = None


def as_measured(told: FeatureThickness, factor: NoteEstimate | None) -> FeatureThickness:
    """Return how thin a feature is as measured parts have it; as it is without measurements.

    Parameters
    ----------
    told : FeatureThickness
        As computed.
    factor : NoteEstimate or None
        Measured over computed thickness where parts are thin, of its table. [-]

    Notes
    -----
    Both thicknesses go by the factor. What is not known of the factor makes them as doubtful as
    half its range is wide; that and the doubt of the run are put together as independent.
    """
    if factor is None:
        return told
    open_share = (factor.high - factor.low) / 2
    return replace(
        told,
        thin_mm=factor.value * told.thin_mm,
        least_mm=factor.value * told.least_mm,
        thin_doubt_mm=hypot(factor.value * told.thin_doubt_mm, open_share * told.thin_mm),
        least_doubt_mm=hypot(factor.value * told.least_doubt_mm, open_share * told.least_mm),
    )


def smooth_thickness(run: FormingRun) -> Floats:
    """Return every triangle's thickness over the gauge, as the mean at its three points. [-].

    Triangles of constant stretch scatter about the truth from one to the next; what is conserved
    round a point does not.
    """
    return middles_of(run.thickness_at_points, run.mesh.triangles)


def thickness_of(
    run: FormingRun,
    part: Mask,
    middles_mm: Floats,
    plans: Sequence[FeaturePlan],
    *,
    gauge_mm: float,
    hasty: FormingRun | None = None,
) -> Iterator[FeatureThickness]:
    """Yield how thick a part is: the whole of it first, then every feature that has any.

    Parameters
    ----------
    part : ndarray of bool, shape (m,)
        The triangles that belong to the part.
    middles_mm : ndarray, shape (m, 3)
        Middles of the formed triangles. [mm]
    plans : sequence of FeaturePlan
        Features; each gets the triangles that lie in it and in none of its children.
    hasty : FormingRun, optional
        The same run at half its pace, by which the error of the pace is measured.
    """
    whole = np.flatnonzero(part)
    owner = owner_of(middles_mm[whole], plans)
    groups = [("", whole), *((plan.name, whole[owner == n]) for n, plan in enumerate(plans))]
    if not whole.size:
        return
    field, other = _Field.of(run, part), _Field.of(hasty, part) if hasty else None
    for name, own in groups:
        if own.size:
            yield _thickness(field, own, middles_mm, name, gauge_mm=gauge_mm, hasty=other)


def thinnest_mean(thickness: Floats, areas_mm2: Floats, *, share: float) -> float:
    """Return the mean thickness of the thinnest share of an area, the last triangle in part. [-].

    Parameters
    ----------
    thickness, areas_mm2 : ndarray, shape (k,)
        Thickness over the gauge, and area, of each triangle. [-] [mm²]
    share : float
        How much of the area. [-]
    """
    wanted_mm2, sample = share * areas_mm2.sum(), np.sort(thickness[::_EVERY])
    place = len(sample) // 32
    # Few of many are wanted: those below a limit are picked out, and only they put in order.
    while place < len(sample):
        thin = np.flatnonzero(thickness <= sample[place])
        if areas_mm2[thin].sum() > wanted_mm2:
            break
        place = 2 * place + 1
    else:
        thin = np.arange(len(thickness))
    thin = thin[np.argsort(thickness[thin], kind="stable")]
    areas_mm2 = areas_mm2[thin]
    before_mm2 = np.cumsum(areas_mm2) - areas_mm2
    taken_mm2 = np.clip(wanted_mm2 - before_mm2, 0.0, areas_mm2)
    return float((taken_mm2 * thickness[thin]).sum() / taken_mm2.sum())


def thickness_over_patches(run: FormingRun, part: Mask) -> Floats:
    """Return the thickness of pieces of the flat sheet about every triangle, shape (m,). [-].

    What is farther from the triangle's middle counts less, by a bell curve. The thickness of such a
    piece over the gauge is its flat area over its formed area, so that no plastic is lost or won.
    All this holds for a part; far from it the numbers mean nothing.
    """
    flat_mm = middles_of(run.mesh.points_mm, run.mesh.triangles)
    n = int(np.ceil(3 * PATCH_MM / CELL_MM))
    low, high = flat_mm[part].min(axis=0), flat_mm[part].max(axis=0)
    # Far off the part all is heaped up at the rim, from where no piece of the part has anything.
    rows, columns = ((high - low) / CELL_MM).astype(np.int64) + 4 * n + 3
    x, y = ((flat_mm - low) / CELL_MM + 2 * n + 1).T
    cells = _clipped(x, n, rows - n - 1) * columns + _clipped(y, n, columns - n - 1)

    def spread(areas_mm2: Floats) -> Floats:
        sums: Floats = np.bincount(cells, areas_mm2, minlength=rows * columns).astype(np.float64)
        laid = sums.reshape(rows, columns)
        held: Floats = _blurred(_blurred(laid, n).T, n).T.ravel()[cells]
        return held

    patches: Floats = spread(run.mesh.areas_mm2) / spread(run.areas_mm2)
    return patches


def _clipped(places: Floats, low: int, high: int) -> NDArray[np.int64]:
    return np.clip(places, low, high).astype(np.int64)


def _blurred(field: Floats, n: int) -> Floats:
    """Return a field weighed with a bell curve along its first axis; its outer ``n`` rows are 0."""
    blurred = np.zeros_like(field)
    inner = slice(n, len(field) - n)
    for step in range(-n, n + 1):
        weight = np.exp(-0.5 * (step * CELL_MM / PATCH_MM) ** 2)
        blurred[inner] += weight * field[n + step : len(field) - n + step]
    return blurred


@dataclass(frozen=True, slots=True)
class _Thinnest:
    """Thin and least thickness over the gauge, and the triangle that has the least."""

    thin: float
    least: float
    triangle: int


@dataclass(frozen=True, slots=True)
class _Field:
    """A run with the thickness of its triangles over the gauge, shape (m,) each."""

    run: FormingRun
    smooth: Floats
    patches: Floats

    @classmethod
    def of(cls, run: FormingRun, part: Mask) -> _Field:
        return cls(run, smooth_thickness(run), thickness_over_patches(run, part))

    def thinnest(self, own: NDArray[np.int64]) -> _Thinnest:
        """Return what some of the triangles come to."""
        triangle = int(own[np.argmin(self.smooth[own])])
        least = float(self.smooth[triangle])
        areas_mm2 = self.run.areas_mm2[own]
        single, pieces = (
            thinnest_mean(each[own], areas_mm2, share=2 * THIN_AREA)
            for each in (self.smooth, self.patches)
        )
        # Pieces at the edge of a feature reach beyond it, where it may be thinner.
        return _Thinnest(max(min(pieces, MOST_EVENED * single), least), least, triangle)


def _thickness(
    field: _Field,
    own: NDArray[np.int64],
    middles_mm: Floats,
    name: str,
    *,
    gauge_mm: float,
    hasty: _Field | None,
) -> FeatureThickness:
    """Return the thickness of a feature's own triangles."""
    run, found = field.run, field.thinnest(own)
    areas_mm2, flat_mm2 = run.areas_mm2[own], run.mesh.areas_mm2[own]
    pace = None if hasty is None else _pace_error(found, hasty.thinnest(own), gauge_mm)
    usual = PACE_DOUBT / run.spec.pace
    lost = 1.0 - run.spec.relaxed_share
    # The steeper thickness rises from its least, the more it matters where triangles end.
    side_mm = float(np.sqrt(2 * run.mesh.areas_mm2[found.triangle]))
    steep_mm = side_mm * (found.thin / found.least - 1)
    thin_mm, least_mm = gauge_mm * found.thin, gauge_mm * found.least
    return FeatureThickness(
        name=name,
        thin_mm=thin_mm,
        least_mm=least_mm,
        thin_doubt_mm=thin_mm * (_THIN_DOUBT_per_mm * steep_mm + HOLD_DOUBT * lost)
        + (usual * thin_mm if pace is None else pace.thin_mm),
        least_doubt_mm=least_mm * (_LEAST_DOUBT_per_mm * steep_mm + HOLD_LEAST_DOUBT * lost)
        + (usual * least_mm if pace is None else pace.least_mm),
        mean_mm=float(gauge_mm * flat_mm2.sum() / areas_mm2.sum()),
        where_mm=place_of(middles_mm[found.triangle]),
        area_mm2=float(areas_mm2.sum()),
        pace=pace,
    )


def _pace_error(found: _Thinnest, hasty: _Thinnest, gauge_mm: float) -> PaceError:
    return PaceError(
        thin_mm=PACE_SAFETY * gauge_mm * abs(hasty.thin - found.thin),
        least_mm=PACE_SAFETY * gauge_mm * abs(hasty.least - found.least),
    )
