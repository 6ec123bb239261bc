"""The pictures of a mold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from moldgen.export.report.report import Picture, problem_places
from moldgen.job.spec import MoldRequest
from moldgen.mold.checks import CheckResults
from moldgen.mold.checks.draft import TOLERANCE_DEG
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.trim_region import trim_plan_of
from moldgen.pipeline.setting import Setting
from moldgen.solid.mesh import Body, joined

if TYPE_CHECKING:
    from moldgen.export.plan.plan import Plan


def without_sheet(plan: Plan) -> Plan:
    """Leave out the sheet and the clamp, which would fill many pages with nothing."""
    from moldgen.export.plan.plan import Layer

    return plan.only(*(layer for layer in Layer if layer not in {Layer.SHEET, Layer.CLAMP}))


def mold_pictures(
    job: MoldRequest, mold: Mold, setting: Setting, plan: Plan
) -> tuple[Picture, ...]:
    """Return the pictures of a mold: views, section, plan, draft map."""
    from moldgen.export.plan.png import plan_png_bytes

    rings = problem_places(mold.findings)
    return (
        *body_pictures(
            job.title,
            mold.bodies,
            mold.checked,
            limit_deg=limit_deg(mold),
            sheet_mm=setting.sheet.gauge_mm,
            rings=rings,
        ),
        Picture(
            name="plan",
            caption="Seen from above: holes, channels under the mold, trim line. "
            "Red rings carry the numbers of the findings.",
            png=plan_png_bytes(without_sheet(plan)),
        ),
        *_formed_pictures(job, mold, setting),
    )


def _formed_pictures(job: MoldRequest, mold: Mold, setting: Setting) -> tuple[Picture, ...]:
    if mold.formed is None:
        return ()
    from moldgen.pipeline.mold.forming_pictures import forming_pictures

    return forming_pictures(
        mold.formed,
        trim_plan_of(job, mold, setting.sheet).region,
        job.title,
        outlines=(mold.foot, *(plan.flat for plan in mold.plans if not plan.flat.is_empty)),
        vents_mm=[(vent.x_mm, vent.y_mm) for vent in mold.vents.vents],
        rings=problem_places(mold.findings),
    )


def body_pictures(
    title: str,
    bodies: Sequence[Body],
    checked: CheckResults,
    *,
    limit_deg: float,
    sheet_mm: float,
    rings: Mapping[str, tuple[float, float]],
) -> tuple[Picture, ...]:
    """Return the pictures that any mesh can have.

    Parameters
    ----------
    limit_deg : float
        Draft that is asked of every wall. [°]
    sheet_mm : float
        Thickness of the sheet that is drawn above the mold. [mm]
    rings : mapping of str to (x, y)
        Places of findings by their numbers, which the marks there carry. [mm]
    """
    from moldgen.export.picture.draft_map import draft_map_png
    from moldgen.export.picture.views import lit_views_png

    leans = trusted_leans_deg(checked)
    whole = (Body(title, joined([body.mesh for body in bodies])),)
    return (
        Picture(
            name="views",
            caption="The mold from two sides.",
            png=lit_views_png(whole, title=title),
        ),
        *_section_picture(whole, title=title, sheet_mm=sheet_mm),
        Picture(
            name="draft",
            caption="The draft of every wall, seen from above.",
            png=draft_map_png(whole, leans, limit_deg=limit_deg, title=title, rings=rings),
        ),
    )


def _section_picture(
    whole: tuple[Body, ...], *, title: str, sheet_mm: float
) -> tuple[Picture, ...]:
    """Return the mold cut open; nothing of a surface too open to have a cut face."""
    from moldgen.export.picture.section import cut_place_mm, section_png

    at_mm = cut_place_mm(whole)
    if at_mm is None:
        return ()
    return (
        Picture(
            name="section",
            caption="Cut through the mold, with the sheet above it.",
            png=section_png(whole, sheet_mm=sheet_mm, at_mm=at_mm, title=title),
        ),
    )


def trusted_leans_deg(checked: CheckResults) -> NDArray[np.float64]:
    """Return the lean of every triangle, nan where it is a sliver that proves nothing. [°]."""
    draft = checked.draft
    doubtful = draft.surely_deg - draft.leans_deg > TOLERANCE_DEG
    sliver = doubtful & (draft.leans_deg >= 0) & (draft.leans_deg < draft.least_deg)
    return np.where(sliver, np.nan, draft.leans_deg)


def limit_deg(mold: Mold) -> float:
    """Return the least draft that any wall of a mold was built with. [°]."""
    return min(plan.wall.draft_deg for plan in mold.plans)
