"""Rows, figures and tables of a forming run."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from moldgen.export.report.table import Table
from moldgen.finding import counted
from moldgen.pipeline.types import Rows
from moldgen.stock import Gauge
from moldgen.table.hold import hold
from moldgen.table.sheet_choice import choices

if TYPE_CHECKING:
    from moldgen.mold.sheet.formed import FormedSheet
    from moldgen.mold.sheet.reach import CornerRadius


def forming_rows(
    formed: FormedSheet | None, foreseen: FormedSheet | None = None, *, because: str = ""
) -> Rows:
    """Return the lines of the summary.

    Parameters
    ----------
    formed, foreseen : FormedSheet or None
        From a run that was asked for; from a quick one of a deep mold.
    because : str
        Why the mold is deep.
    """
    if formed is None and foreseen is not None:
        thin = _thin_text(foreseen)
        return (("Formed sheet", f"{thin} (a quick run, made by itself since {because})"),)
    if formed is None:
        return (("Formed sheet", "not followed; --forming preview tells thickness and webs"),)
    return (
        ("Formed sheet", _thin_text(formed)),
        ("Inside corners", corner_text(formed.corners)),
    )


def _thin_text(formed: FormedSheet) -> str:
    """Return how thick the sheet comes out, and whether it folds."""
    thinnest, mean = formed.thinnest, f"{formed.whole.mean_mm:.2f} mm"
    thin = f"{thinnest.thin_mm:.2f} ± {thinnest.thin_doubt_mm:.2f} mm"
    unsure = "" if formed.run.converged else " (not settled: a first look)"
    n_folds = len(formed.folds)
    webs = {0: "no webs", 1: "one web"}.get(n_folds, f"{n_folds} webs")
    return f"{thin} where it is thin{_measured_text(formed)}, {mean} on the mean, {webs}{unsure}"


def _measured_text(formed: FormedSheet) -> str:
    """Return how measured parts changed the thickness of thin places; empty if nobody measured."""
    factor = formed.measured
    if factor is None:
        return ""
    return (
        f" ({factor.value:.2f} times the computed {formed.computed_thinnest.thin_mm:.2f} mm, by "
        f"{counted(factor.n_notes, 'note')} of this table)"
    )


def corner_text(corners: CornerRadius | None) -> str:
    """Return how round the sheet comes out in sharp corners, in words."""
    if corners is None:
        return "the sheet lies in all of them"
    words = f"radius about {corners.radius_mm:.1f} mm where the mold is sharp"
    return f"{words} ({corners.least_mm:.1f} to {corners.most_mm:.1f} mm)"


def thin_numbers(formed: FormedSheet) -> dict[str, object]:
    """Return how thick the sheet is where it is thin, for programs."""
    told: dict[str, object] = {
        "formed_thin_mm": formed.thinnest.thin_mm,
        "formed_thin_doubt_mm": formed.thinnest.thin_doubt_mm,
    }
    if formed.measured is not None:
        told |= {
            "formed_thin_computed_mm": formed.computed_thinnest.thin_mm,
            "formed_thin_noted_factor": formed.measured.value,
            "formed_thin_notes": formed.measured.n_notes,
        }
    return told


def forming_numbers(formed: FormedSheet) -> dict[str, object]:
    """Return what the forming run measured, for programs."""
    return {
        **thin_numbers(formed),
        "formed_least_mm": formed.whole.least_mm,
        "formed_least_doubt_mm": formed.whole.least_doubt_mm,
        "formed_mean_mm": formed.whole.mean_mm,
        "formed_untouched_mm2": formed.untouched_mm2,
        "formed_webs": len(formed.folds),
        "formed_bridges": len(formed.bridges),
        "formed_corner_radius_mm": formed.corners and formed.corners.radius_mm,
        "formed_corner_least_mm": formed.corners and formed.corners.least_mm,
        "formed_corner_most_mm": formed.corners and formed.corners.most_mm,
        "forming_converged": formed.run.converged,
        "forming_residual": formed.run.residual,
    }


def forming_tables(
    formed: FormedSheet, gauges: Sequence[Gauge], wanted_mm: float | None
) -> Iterator[Table]:
    """Return thickness by feature, and what other gauges would leave."""
    yield _feature_table(formed)
    if gauges:
        yield _gauge_table(formed, gauges, wanted_mm)


def _feature_table(formed: FormedSheet) -> Table:
    rows = tuple(
        (
            thinned.name or "whole part",
            f"{thinned.thin_mm:.2f} ± {thinned.thin_doubt_mm:.2f} mm",
            f"{thinned.least_mm:.2f} ± {thinned.least_doubt_mm:.2f} mm",
            f"{thinned.mean_mm:.2f} mm",
            f"{thinned.area_mm2 / 100:.1f} cm²",
        )
        for thinned in formed.thinned
    )
    plastic = formed.sheet.plastic
    return Table(
        title="Thickness of the formed sheet",
        header=("Feature", "Thin", "Thinnest", "Mean", "Area"),
        rows=rows,
        note="From the forming run: the hot sheet as a rubber membrane that sticks where it lands. "
        "A hundredth of the area is thinner than what is told as thin; that is what decides, "
        "because the thinnest single place rests on a few triangles. What follows ± is the doubt "
        "of the run itself, not of the plastic. "
        f"Its stiffness is {plastic.hot_modulus_kPa:g} kPa "
        f"({plastic.sources.get('hot_modulus_kPa', 'common practice, no source')}). "
        f"{_relaxed_text(formed)}{_measured_note(formed)}",
    )


def _measured_note(formed: FormedSheet) -> str:
    """Return what measured parts say beside what the run has; empty if nobody measured."""
    if formed.measured is None:
        return ""
    factor, thin = formed.measured, formed.thinnest
    return (
        f" Thin places of parts measured {factor.value:.2f} times as much ({factor.low:.2f} to "
        f"{factor.high:.2f}; {counted(factor.n_notes, 'note')} of this table): by that the "
        f"thinnest has {thin.thin_mm:.2f} ± {thin.thin_doubt_mm:.2f} mm, which decides."
    )


def _relaxed_text(formed: FormedSheet) -> str:
    """Return how far the sheet relaxes, in sentences."""
    plastic = formed.sheet.plastic
    if plastic.relaxation_s is None:
        return (
            "Nobody says how fast it relaxes under the vacuum: it is taken not to, and corners may "
            "come out sharper than told here."
        )
    held = hold(formed.sheet)
    return (
        f"Free sheet stays soft for about {held.soft_s:.0f} s; {100 * held.share:.0f} % of the "
        f"stiffness is left then ({100 * held.least_share:.0f} to 100 %), with a mean relaxation "
        f"time of {plastic.relaxation_s:g} s "
        f"({plastic.sources.get('relaxation_s', 'no source')})."
    )


def _gauge_table(formed: FormedSheet, gauges: Sequence[Gauge], wanted_mm: float | None) -> Table:
    wanted = wanted_mm or formed.sheet.gauge_mm * 0.25
    gauge_choices = choices(gauges, thin_share=formed.thin_share, wanted_mm=wanted)
    rows = tuple(
        (choice.gauge.name, f"{choice.thin_mm:.2f} mm", "enough" if choice.enough else "too thin")
        for choice in gauge_choices
    )
    return Table(
        title="Which gauge to take",
        header=("Gauge", "Thin places when formed", f"For {wanted:.2g} mm"),
        rows=rows,
        note=f"The mold leaves {100 * formed.thin_share:.0f} % of any gauge where the sheet is "
        "thin. Thicker sheet follows tight corners less and takes longer to heat.",
    )
