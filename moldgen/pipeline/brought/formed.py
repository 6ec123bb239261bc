"""A part that somebody brings under the hot sheet: where that arrives last, how thick it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import shapely
from shapely import MultiPolygon

from moldgen.export.report.report import Picture
from moldgen.export.report.table import Table
from moldgen.finding import Finding
from moldgen.job import CheckCommand, JobForming
from moldgen.mold.checks import Case
from moldgen.mold.checks.draw import Draw
from moldgen.mold.sheet.findings import check_depth, check_formed
from moldgen.mold.sheet.formed import FormedSheet, read_run
from moldgen.mold.trim_rule import flange_mm
from moldgen.mold.vents.by_run import arrival_on, low_places_of_run
from moldgen.mold.vents.existing import existing_openings, spanned
from moldgen.mold.vents.low_places import low_places
from moldgen.mold.vents.vent import LowPlace, VentSpec
from moldgen.pipeline.mold.forming import HASTE, foresee, run_forming
from moldgen.pipeline.mold.forming_pictures import forming_pictures
from moldgen.pipeline.mold.forming_tables import forming_numbers, forming_tables, thin_numbers
from moldgen.pipeline.stage import Progress, quiet
from moldgen.solid.height.ball import gap_under_ball
from moldgen.solid.height.relief import relief_for_ball
from moldgen.solid.polygons import polygons_of
from moldgen.stock import Gauge
from moldgen.stock.experience import NoteEstimate

ABOVE_TABLE_MM = 0.5
"""A low place lower than this lies on the table beside the part, where no vent is wanted. [mm]."""

_VENT = VentSpec(diameter_mm=1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormedMesh:
    """What the sheet does over a part.

    Attributes
    ----------
    places : tuple of LowPlace
        Where it arrives last, above the table.
    formed : FormedSheet or None
        The formed sheet, if it was asked for.
    foreseen : FormedSheet or None
        What a quick run tells of a deep part that was not asked to be followed.
    foot, trim : MultiPolygon
        Its outline on the table, and what would be cut out of the sheet. [mm]
    wanted_mm : float or None
        Thickness that is wanted everywhere. [mm]
    """

    places: tuple[LowPlace, ...]
    formed: FormedSheet | None
    foreseen: FormedSheet | None
    foot: MultiPolygon
    trim: MultiPolygon
    wanted_mm: float | None

    def measured_by(self, factor: NoteEstimate | None) -> FormedMesh:
        """Return the same with what notes of the table say of its thinnest places."""
        formed, foreseen = (
            None if one is None else replace(one, measured=factor)
            for one in (self.formed, self.foreseen)
        )
        return replace(self, formed=formed, foreseen=foreseen)

    @property
    def followed(self) -> FormedSheet | None:
        """The formed sheet, whether its run was asked for or not."""
        return self.formed or self.foreseen

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What to know about the formed sheet."""
        if self.formed is not None:
            return check_formed(self.formed, wanted_mm=self.wanted_mm)
        if self.foreseen is not None:
            return check_depth(self.foreseen, wanted_mm=self.wanted_mm)
        return ()

    @property
    def numbers(self) -> dict[str, Any]:
        """The measures for programs."""
        formed = forming_numbers(self.formed) if self.formed else {}
        if self.foreseen is not None:
            formed = thin_numbers(self.foreseen)
        return {"low_places": len(self.places), **formed}

    def pictures(
        self, title: str, rings: Mapping[str, tuple[float, float]] | None = None
    ) -> tuple[Picture, ...]:
        """Return the maps of thickness and arrival, with the numbers of findings. [mm]."""
        if self.formed is None:
            return ()
        return forming_pictures(self.formed, self.trim, title, outlines=(self.foot,), rings=rings)

    def tables(self, gauges: Sequence[Gauge]) -> tuple[Table, ...]:
        """Return the tables of thickness."""
        if self.followed is None:
            return ()
        return tuple(forming_tables(self.followed, gauges, self.wanted_mm))


def form_brought(
    case: Case, draws: Sequence[Draw], command: CheckCommand, progress: Progress
) -> FormedMesh:
    """Lay the sheet over a part as closely as was asked for, or roll the ball over it.

    Parameters
    ----------
    case : Case
        The part and what it is formed with.
    draws : sequence of Draw
        How far the sheet is drawn over it: whether it is deep.
    command : CheckCommand
        How closely the sheet is followed.
    progress : callable
        Told of the run's stages.

    Raises
    ------
    SpecError
        If the part does not fit into the clamp's opening.
    """
    low = float(case.mesh.points_mm[:, 2].min())
    standing = replace(case.mesh, points_mm=case.mesh.points_mm - [0.0, 0.0, low])
    openings = existing_openings(standing, above_mm=ABOVE_TABLE_MM)
    relief = spanned(relief_for_ball(standing, _VENT.ball_mm), openings)
    vents = [place for opening in openings for place in opening.places]
    foot = shapely.union_all(case.footprints)
    trim = polygons_of(shapely.buffer(foot, flange_mm(case.height_mm), quad_segs=24))
    how: dict[str, Any] = {
        "look": command.forming, "sag_mm": JobForming().sag_mm,
        "sheet": case.sheet, "machine": case.machine,
    }  # fmt: skip
    form = partial(run_forming, standing, **how)
    read = partial(read_run, sheet=case.sheet, relief=relief, trim=trim)
    quick = foresee(standing, draws, progress=progress, **how)
    run = form(progress=progress)
    if run is None:
        gap = gap_under_ball(relief.on_table_mm, ball_mm=_VENT.ball_mm, cell_mm=relief.cell_mm)
        places, formed = low_places(gap, relief, _VENT, vents), None
    else:
        arrival = arrival_on(relief, run, ball_mm=_VENT.ball_mm)
        places = low_places_of_run(arrival, relief, _VENT, vents)
        hasty = form(progress=quiet, pace_share=HASTE) if command.check_pace else None
        formed = read(run, hasty=hasty)
    return FormedMesh(
        places=tuple(place for place in places if place.z_mm > ABOVE_TABLE_MM),
        formed=formed,
        foreseen=None if quick is None else read(quick),
        foot=polygons_of(foot),
        trim=trim,
        wanted_mm=command.least_mm,
    )
