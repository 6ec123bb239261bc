"""Bent strips on the page: what is seen and found of one; the ready-made ones from the side."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from moldgen.errors import GeometryError
from moldgen.finding import Finding
from moldgen.job.strip_spec import StripJob
from moldgen.web.order import WishOrder

if TYPE_CHECKING:
    from shapely import Geometry

    from moldgen.pipeline.chosen_value import ChosenValue
    from moldgen.pipeline.strip.work import BentStrip
    from moldgen.solid.mesh import Mesh
    from moldgen.stock import Shop


def strip_seen(order: WishOrder) -> tuple[Mesh, Sequence[ChosenValue]]:
    """Return the bent strip, and what was chosen for it.

    Raises
    ------
    MoldgenError
        If it cannot be laid out, or would cross itself.
    """
    work = _worked_out(order)
    if work.body is None:
        raise GeometryError("The bent strip would cross itself. Change legs or angles.")
    return work.body.mesh, work.choices


def strip_findings(order: WishOrder) -> tuple[Finding, ...]:
    """Return what is found on a strip, gravest first."""
    return _worked_out(order).findings


def strip_sheet(order: WishOrder) -> str:
    """Return what a strip is bent from, such as ``acrylic 3 mm``."""
    strip = _worked_out(order).job.strip
    return order.told(f"{strip.plastic} {strip.thickness_mm:g} mm")


def strip_sides() -> dict[str, Geometry]:
    """Return every ready-made strip of the page as it is seen from the side, by its kind. [mm]."""
    from moldgen.api.jobs import strip
    from moldgen.bend.preset.choices import StripKind
    from moldgen.pipeline.strip.work import bent_shape
    from moldgen.stock import shop_from_texts

    shop = shop_from_texts({})
    return {
        kind.value: bent_shape(strip(make=kind.value), folder=Path(), shop=shop).outline
        for kind in StripKind
    }


def _worked_out(order: WishOrder) -> BentStrip:
    job = order.wish.job()
    assert isinstance(job, StripJob)
    return _built(job, order.shop)


@lru_cache(maxsize=4)
def _built(job: StripJob, shop: Shop) -> BentStrip:
    from moldgen.pipeline.strip.work import build_work

    return build_work(job, folder=Path(), shop=shop)
