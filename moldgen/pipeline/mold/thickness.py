"""How thick the formed part is over one mold, as far as it is known: by a run or by means."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from moldgen.mold.checks.draw import Draw
from moldgen.pipeline.mold.mold import Mold

if TYPE_CHECKING:
    from moldgen.mold.sheet.formed import FormedSheet

_LEAST_RATIO, _MOST_RATIO = 0.02, 1.5


def thickness_ratios(mold: Mold, gauge_mm: float) -> tuple[float, float]:
    """Return how thick the formed part is where it is thin and where thickest, over its gauge. [-].

    Both as computed: it is what vents were placed by. Without a forming run, the least mean of any
    feature, and the gauge itself: broad tops keep it.
    """
    thin = thin_ratio(mold.formed, mold.checked.draws, gauge_mm)
    if mold.formed is None:
        return thin, 1.0
    own = mold.formed.thickness_mm[mold.formed.part]
    return thin, _ratio(float(own.max()) / gauge_mm)


def thin_ratio(formed: FormedSheet | None, draws: Sequence[Draw], gauge_mm: float) -> float:
    """Return the thickness of the thin places of the formed part over its gauge, as computed. [-].

    Parameters
    ----------
    formed : FormedSheet or None
        The formed sheet, if there was a run.
    draws : sequence of Draw
        How far the sheet is drawn over this mold; they count where no sheet was formed.
    """
    if formed is not None:
        return _ratio(formed.computed_thin_share)
    means = [draw.mean_thickness_mm for draw in draws]
    return _ratio(min(means, default=gauge_mm) / gauge_mm)


def thicknesses_mm(mold: Mold) -> dict[str, float]:
    """Return the mean thickness of the formed sheet by feature. [mm]."""
    if mold.formed is not None:
        return {thinned.name: thinned.mean_mm for thinned in mold.formed.thinned}
    return {draw.name: draw.mean_thickness_mm for draw in mold.checked.draws}


def _ratio(ratio: float) -> float:
    return min(max(ratio, _LEAST_RATIO), _MOST_RATIO)
