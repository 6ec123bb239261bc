"""What a person should know about a formed sheet before the mold is printed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import ceil, log
from types import MappingProxyType
from typing import TYPE_CHECKING

from moldgen.finding import Cure, Finding, Remedy, Severity, Way, counted

if TYPE_CHECKING:
    from moldgen.mold.sheet.formed import FormedSheet

LEAST_SHARE = 0.25
"""Share of the gauge under which a wall is called thin, where nobody says what is wanted. [-]."""

FAR_SHARE = 3.0
"""Gap over the gauge from which sheet does not merely round a corner but spans it. [-]."""

_UNKNOWN: Mapping[str, float] = MappingProxyType({})
"""Heights of features where nobody says them."""

_MUCH_THICKER = 1.6
"""A sheet thicker by this factor is no way out: it takes far longer to heat. [-]."""

_RUN = "forming run: the sheet as a rubber membrane that sticks where it lands"
_THIN = f"{_RUN}; a quarter of the gauge is common practice, no source"
_PACE = f"{_RUN}, again at half its pace; the error grows as the inverse of the pace"
_BRIDGE = (
    f"{_RUN} and relaxes under the vacuum; half a gauge beyond its corner radius is common "
    "practice, no source"
)

_UNRELAXED = (
    f"{_RUN} and keeps all of its stiffness, since nobody says how fast the plastic relaxes: the "
    "most that may stay away; half a gauge beyond its corner radius is common practice, no source"
)


def check_formed(
    formed: FormedSheet,
    *,
    wanted_mm: float | None = None,
    heights_mm: Mapping[str, float] = _UNKNOWN,
) -> tuple[Finding, ...]:
    """Ask a formed sheet whether it is thick enough, lies on the mold and folds nowhere.

    Parameters
    ----------
    formed : FormedSheet
        What was read off the run.
    wanted_mm : float, optional
        Thickness that is wanted everywhere; a quarter of the gauge without it. It is held against
        the thin places, which move less with the sheet's triangles than the least thickness. [mm]
    heights_mm : mapping of str to float
        Height or depth of every feature. [mm]
    """
    return (
        *_unsettled(formed),
        *_paced(formed),
        *_thin(formed, wanted_mm, heights_mm),
        *_bridged(formed),
        *_webbed(formed),
    )


def check_depth(
    formed: FormedSheet, *, wanted_mm: float | None, heights_mm: Mapping[str, float] = _UNKNOWN
) -> tuple[Finding, ...]:
    """Ask a quickly formed sheet only what depth does: whether it is thin, and whether it folds.

    Parameters are those of `check_formed`.
    """
    return (*_thin(formed, wanted_mm, heights_mm), *_webbed(formed))


def _unsettled(formed: FormedSheet) -> Iterator[Finding]:
    run = formed.run
    if not run.converged:
        folds = bool(formed.folds)
        yield Finding(
            code="forming-unsettled",
            severity=Severity.NOTE if folds else Severity.CAUTION,
            says="the forming run ended before the sheet had come to rest (folds tremble on); "
            "out-of-balance force",
            measured=run.residual,
            limit=run.spec.tolerance,
            basis=_RUN,
            advice="Cure the webs: what is told beside them holds."
            if folds
            else "Take thickness and bridges for a first look only; follow the sheet more finely.",
        )


def _paced(formed: FormedSheet) -> Iterator[Finding]:
    thinnest = formed.thinnest
    if thinnest.pace is None:
        return
    yield Finding(
        code="forming-pace",
        severity=Severity.NOTE,
        says="by a second run at half the pace, the pace may falsify the least thickness by "
        f"{thinnest.pace.least_mm:.2g} mm and that of thin places by",
        measured=thinnest.pace.thin_mm,
        unit="mm",
        where_mm=thinnest.where_mm,
        subject=_thinnest_feature(formed),
        basis=_PACE,
        advice="It is part of the doubt that is told with each thickness.",
    )


def _thin(
    formed: FormedSheet, wanted_mm: float | None, heights_mm: Mapping[str, float]
) -> Iterator[Finding]:
    thinnest, gauge_mm = formed.thinnest, formed.sheet.gauge_mm
    limit = wanted_mm if wanted_mm is not None else LEAST_SHARE * gauge_mm
    # A rule of thumb is told of where the run is sure; what is wanted, where it may be missed.
    surely_mm = thinnest.thin_mm + (0.0 if wanted_mm is not None else thinnest.thin_doubt_mm)
    if surely_mm < limit:
        name = _thinnest_feature(formed)
        # The next gauge up is told by the choice of sheet; here is what it must be at least.
        needed = limit / formed.thin_share
        shallower = _shallower(formed.thin_share, limit / gauge_mm)
        yield Finding(
            code="formed-thin",
            severity=Severity.CAUTION,
            says=f"the formed sheet is thin here (± {thinnest.thin_doubt_mm:.2g} mm; "
            f"{thinnest.least_mm:.2f} mm at its thinnest{_measured_text(formed)})",
            measured=thinnest.thin_mm,
            limit=limit,
            unit="mm",
            where_mm=thinnest.where_mm,
            subject=name,
            basis=_THIN if wanted_mm is None else _RUN,
            advice=_thin_advice(
                needed, limit, shallower, gauge_mm=None if wanted_mm is not None else gauge_mm
            ),
            cures=(
                *_lower(heights_mm.get(name), shallower),
                *_thicker(needed, wanted=wanted_mm is not None),
            ),
        )


def _measured_text(formed: FormedSheet) -> str:
    """Return by how many notes of the table that is so; empty if by none."""
    if formed.measured is None:
        return ""
    return f"; by {counted(formed.measured.n_notes, 'note')} of this table"


def _shallower(share: float, wanted_share: float) -> float:
    """Return what share of its depth leaves the wanted share of the gauge in the corners. [-].

    On each bit of the way down the sheet thins by about the same share, so that thickness falls
    as the exponential of the depth. Its square keeps to the safe side of runs over trays of 90
    to 200 mm, whose corners are as round however deep they are.
    """
    if wanted_share >= 1.0:
        return 0.0
    depth: float = log(wanted_share) / log(min(share, wanted_share))
    return depth**2


def _thin_advice(
    needed_mm: float, limit_mm: float, shallower: float, *, gauge_mm: float | None
) -> str:
    """Return what to do; the gauge is told where a share of it is asked for, which others share."""
    percent = 5 * ceil(20 * (1 - shallower))
    lower = f"make it about {percent} % shallower" if shallower > 0.1 else "make it much shallower"
    ways = f"{lower}, wider, or with more draft or larger corners"
    if gauge_mm is None:
        return f"Take a sheet of {needed_mm:.2g} mm, or {ways}."
    thicker = f", or take a thicker sheet: {needed_mm:.2g} mm leaves {limit_mm:.2g} mm here"
    more = thicker if needed_mm < _MUCH_THICKER * gauge_mm else ""
    return f"{ways[0].upper()}{ways[1:]}{more}. Say with --least how much is enough."


def _lower(height_mm: float | None, shallower: float) -> tuple[Cure, ...]:
    if height_mm is None or shallower <= 0:
        return ()
    return (Cure(field=Remedy.HEIGHT, way=Way.LOWER, least=shallower * height_mm),)


def _thicker(needed_mm: float, *, wanted: bool) -> tuple[Cure, ...]:
    """Return the gauge that leaves what is wanted; against a share of the gauge none helps."""
    return (Cure(field=Remedy.GAUGE, way=Way.HIGHER, least=needed_mm),) if wanted else ()


def _thinnest_feature(formed: FormedSheet) -> str:
    """Return the feature in which the thinnest place lies, or nothing if it lies beside all."""
    own = [t for t in formed.thinned if t.name and t.where_mm == formed.thinnest.where_mm]
    return own[-1].name if own else ""


def _bridged(formed: FormedSheet) -> Iterator[Finding]:
    if not formed.bridges:
        return
    gauge_mm, worst = formed.sheet.gauge_mm, formed.bridges[0]
    places = f"{len(formed.bridges)} places" if len(formed.bridges) > 1 else "one place"
    far = worst.gap_mm > FAR_SHARE * gauge_mm
    verb = "webs across" if far else "bridges"
    yield Finding(
        code="formed-bridges",
        severity=Severity.CAUTION if far else Severity.NOTE,
        says=f"the sheet {verb} {places} and does not reach the mold there; farthest",
        measured=worst.gap_mm,
        limit=worst.limit_mm,
        unit="mm",
        where_mm=worst.where_mm,
        basis=_BRIDGE if formed.sheet.plastic.relaxation_s else _UNRELAXED,
        advice="Widen the gap, lower what stands beside it, round its foot, or take a thinner "
        "or hotter sheet.",
    )


def _webbed(formed: FormedSheet) -> Iterator[Finding]:
    for web in formed.folds:
        yield Finding(
            code="formed-web",
            severity=Severity.CAUTION,
            says=f"the sheet is pressed together and folds up into a web {web.length_mm:.0f} mm "
            "long; how tall",
            measured=web.height_mm,
            unit="mm",
            where_mm=web.where_mm,
            basis=_RUN,
            advice="Move what stands there apart, lower it, give it more draft or rounder corners "
            "seen from above, or block the corner.",
        )
