"""Values that nobody asked for, chosen so that nothing is left to complain of.

What a job leaves open is solved for here, before anything is built: how large letters can be on
this table and printer, on how many lines, how far they may stand out for the sheet to go down
between them, and which sheet and filament of the stock will do. What the job says stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import ceil, floor, inf, isfinite, radians, tan
from pathlib import Path
from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon

from moldgen.job import Job
from moldgen.job.outline import JobAround, JobInset, JobOutline, JobText
from moldgen.job.spec import JobBody, JobFeature
from moldgen.mold.build import flat_region
from moldgen.mold.checks.deep import shallow_mm
from moldgen.mold.checks.stroke import narrow_gaps
from moldgen.mold.features import Direction, Feature
from moldgen.mold.rules import draft_rule
from moldgen.mold.spacing_rule import BETWEEN_LOW
from moldgen.mold.width_rule import least_gap_mm
from moldgen.outline.choices import Along
from moldgen.outline.lettering.font_choice import font_for
from moldgen.outline.lettering.fonts import default_font_path, find_font
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.pipeline.mold.choose_stock import FilamentChooser, GaugeChooser
from moldgen.pipeline.mold.features import mold_scale, resolve_features
from moldgen.pipeline.mold.fitted import is_fitted, largest_mm, nowhere
from moldgen.pipeline.mold.ground import Ground
from moldgen.pipeline.mold.line_breaks import broken
from moldgen.pipeline.mold.outlines import is_drawn, lay_outline, laying
from moldgen.pipeline.setting import Setting
from moldgen.printing.bed_fit import usable_bed_mm
from moldgen.stock import Filament
from moldgen.typeface.face import font_folder

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing

USUAL_LETTER_MM = 30.0
"""Height of a capital where nobody says, if there is room. [mm]."""

ROOMY_LETTER_MM = 25.0
"""From here on words stay on one line. [mm]."""

MOST_LARGER = 2.0
"""So many times the usual height letters become at the most for their gaps to form. [-]."""

LARGER = 1.25
"""Lines are broken if letters get so many times larger. [-]."""

CLAMP_MM = 15.0
"""Sheet between mold and clamp at the least (common practice, no source). [mm]."""

USUAL_RELIEF_MM = 4.0
"""How far a feature stands out of its parent's flat where nobody says. [mm]."""

USUAL_HEIGHT_MM = 12.0
"""How tall a body stands on the table where nobody says. [mm]."""

LEAST_RELIEF_MM = 1.5
"""Less is hardly seen under a sheet (common practice, no source). [mm]."""

MEASURED_AT_MM = 10.0
"""Height of a capital at which words are measured; they grow alike. [mm]."""


_MEASURED_ANEW = 8
"""How often words with a spacing in millimeters are measured to find how large they can be."""

_Spare = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenJob:
    """A job in which nothing is left open, and what was chosen for it.

    Attributes
    ----------
    job : Job
        With every value.
    setting : Setting
        What of the shop it is made with.
    choices : tuple of ChosenValue
        What nobody asked for.
    """

    job: Job
    setting: Setting
    choices: tuple[ChosenValue, ...]


def choose(
    job: Job,
    *,
    setting: Setting,
    folder: Path,
    filaments: Sequence[Filament] = (),
    drawings: Mapping[str, Drawing] | None = None,
) -> ChosenJob:
    """Choose what a job leaves open.

    Parameters
    ----------
    job : Job
        What is wanted; every feature has a name.
    setting : Setting
        Table and printer that must be enough for it; sheet and filament as asked, or the usual.
    folder : Path
        Where paths in the job start.
    filaments : sequence of Filament
        What else it could be printed from.
    drawings : mapping, optional
        Drawings in hand, by the name of the SVG file that the job gives for them.

    Raises
    ------
    MoldgenError
        If an outline cannot be read.
    """
    ground = Ground(None, (0.0, 0.0), folder, drawings=drawings or {})
    of_stock: list[ChosenValue | None] = []
    by_gauge_mm: dict[float, ChosenJob] = {}

    def settled_for(one: Setting) -> ChosenJob:
        gauge_mm = one.sheet.gauge_mm
        if gauge_mm not in by_gauge_mm:
            by_gauge_mm[gauge_mm] = _settled(job, one, ground)
        return by_gauge_mm[gauge_mm]

    if job.sheet.gauge_mm is None:
        by_gauge = GaugeChooser(lambda one: settled_for(one).job, folder, ground.drawings)
        setting, told = by_gauge.choose(setting)
        of_stock.append(told)
    settled = settled_for(setting)
    if not job.filament and setting.is_printed:
        by_filament = FilamentChooser(settled.job, folder, ground.drawings)
        setting, told = by_filament.choose(setting, filaments)
        of_stock.append(told)
    choices = (*(one for one in of_stock if one is not None), *settled.choices)
    return ChosenJob(job=_stocked(settled.job, setting), setting=setting, choices=choices)


def _settled(job: Job, setting: Setting, ground: Ground) -> ChosenJob:
    """Choose sizes for a sheet, a table and a printer."""
    chooser = _Chooser(job, setting, ground)
    bodies = tuple(chooser.body(body) for body in job.body)
    return ChosenJob(job=replace(job, body=bodies), setting=setting, choices=tuple(chooser.choices))


def _stocked(job: Job, setting: Setting) -> Job:
    sheet = replace(job.sheet, gauge_mm=setting.sheet.gauge_mm)
    filament = setting.filament.name if setting.is_printed else job.filament
    return replace(job, sheet=sheet, filament=filament)


class _Chooser:
    """Walks down the tree of features; what is chosen gathers in ``choices``."""

    def __init__(self, job: Job, setting: Setting, ground: Ground) -> None:
        self.job, self.setting, self.ground = job, setting, ground
        self.choices: list[ChosenValue] = []

    def body(self, body: JobBody) -> JobBody:
        sized = self._sized(body, _spare_mm(body.outline), body.each)
        settled = self._relieved(sized, on_table=True)
        if any(map(_bears_open, _tree(settled))):
            flats = self._flats(settled)
            settled = self._fitted(settled, flats)
        assert isinstance(settled, JobBody)
        return settled

    def _flats(self, body: JobFeature) -> dict[str, Ground]:
        """Return what each feature of a body is for what finds its own place on it, by name."""
        bare = _with_stand_ins(body)
        assert isinstance(bare, JobBody)
        resolved = resolve_features(
            replace(self.job, body=(bare,)),
            folder=self.ground.folder, setting=self.setting, drawings=self.ground.drawings,
        )  # fmt: skip
        scale = mold_scale(self.job, self.setting)
        return {
            feature.name: replace(self.ground, flat=flat_region(feature), scale=scale)
            for one in resolved.bodies
            for feature in _walk(one)
        }

    def _fitted(self, feature: JobFeature, flats: Mapping[str, Ground]) -> JobFeature:
        """Give what finds its own place on a feature, and is left open, a size and a height."""

        def settled(child: JobFeature, *, sunk: bool) -> JobFeature:
            if not is_fitted(child.outline):
                return self._fitted(child, flats)
            ground = flats[feature.name]
            sized = replace(child, outline=self._fitted_words(child, ground))
            if sized.height_mm is not None:
                return sized
            height_mm = self._relief_mm(sized, ground, on_table=False, sunk=sunk)
            return replace(sized, height_mm=height_mm)

        return replace(
            feature,
            raised=tuple(settled(child, sunk=False) for child in feature.raised),
            sunk=tuple(settled(child, sunk=True) for child in feature.sunk),
        )

    def _fitted_words(self, feature: JobFeature, ground: Ground) -> JobOutline:
        """Return words as large as the flat they stand on has room for, on the best lines."""
        text, lay = feature.outline, laying(ground, feature.name)
        if not isinstance(text, JobText) or not text.is_open:
            return text
        ways = [text, *(broken(text) if text.along is Along.LINE else ())]
        tries = [(largest_mm(one, ground, lay, name=feature.name), one) for one in ways]
        fitting = [(height_mm, one) for height_mm, one in tries if height_mm is not None]
        if not fitting:
            raise nowhere(text, feature.name)
        first = fitting[0]
        best = max(fitting, key=lambda found: (found[0], -found[1].text.count("\n")))
        height_mm, chosen = best if best[0] >= LARGER * first[0] else first
        settled: JobText = replace(chosen, height_mm=height_mm)
        self._tell_words(settled, text, height_mm, room="the largest that fit its flat")
        return settled

    def _sized(self, feature: JobFeature, spare: _Spare, each: bool) -> JobFeature:
        """Give open words in a feature and in what stands on it a font and a size."""
        outline = self._in_font(feature.outline)
        if isinstance(outline, JobText) and outline.is_open and not is_fitted(outline):
            outline = self._words(outline, feature, spare, each)
        return replace(
            feature,
            outline=outline,
            raised=tuple(self._sized(child, spare, False) for child in feature.raised),
            sunk=tuple(self._sized(child, spare, False) for child in feature.sunk),
        )

    def _usual_mm(self, text: JobText, at_mm: float) -> float:
        """Return the usual letter height, or one at which finer letters of a found font form."""
        if font_for(text.text, text.font or None).path.parent == font_folder():
            return USUAL_LETTER_MM
        laid = lay_outline(replace(text, height_mm=at_mm), self.ground, name="words")
        least_mm = least_gap_mm(self.setting.sheet.gauge_mm, 0.0)
        narrow = narrow_gaps(laid.region, least_mm, inward=False).widths_mm
        larger = least_mm / float(narrow.min()) if len(narrow) else 1.0
        return float(ceil(USUAL_LETTER_MM * min(MOST_LARGER, larger)))

    def _in_font(self, outline: JobOutline) -> JobOutline:
        """Return words whose font is open, and that the usual one lacks letters for, in another."""
        if not isinstance(outline, JobText) or outline.font:
            return outline
        font = font_for(outline.text)
        if font.path == default_font_path():
            return outline
        choice = ChosenValue(
            what="font", value=font.full_name, because="it has all letters of the words"
        )
        if choice not in self.choices:
            self.choices.append(choice)
        named = find_font(font.full_name) == font
        return replace(outline, font=font.full_name) if named else outline

    def _words(self, text: JobText, feature: JobFeature, spare: _Spare, each: bool) -> JobText:
        """Return words as large as usual, or as the opening and the bed allow."""
        lean_mm = 2 * self._lean_mm(feature)
        room = spare[0] + lean_mm, spare[1] + lean_mm
        height, chosen = self._most_mm(text, room, each), text
        if height < ROOMY_LETTER_MM:
            tries = [(self._most_mm(one, room, each), one) for one in broken(text)]
            best = max(tries, key=lambda found: _rank(*found), default=(height, text))
            if best[0] >= LARGER * height:
                height, chosen = best
        usual_mm = self._usual_mm(chosen, min(USUAL_LETTER_MM, height))
        height_mm = min(usual_mm, _rounded_down(height))
        why = f"to fit {self.setting.machine.title} and {self.setting.printer.title}"
        if height_mm >= USUAL_LETTER_MM:
            why = "so that the gaps in them form" if height_mm > USUAL_LETTER_MM else ""
        self._tell_words(chosen, text, height_mm, room=why)
        return replace(chosen, height_mm=height_mm)

    def _tell_words(self, chosen: JobText, text: JobText, height_mm: float, *, room: str) -> None:
        lines = chosen.text.count("\n") + 1
        if lines != text.text.count("\n") + 1:
            self.choices.append(
                ChosenValue(
                    what="words", value=f"on {lines} lines", because="so they can be larger"
                )
            )
        self.choices.append(ChosenValue(what="letters", value=f"{height_mm:g} mm", because=room))

    def _most_mm(self, text: JobText, spare: _Spare, each: bool) -> float:
        """Return the greatest height of a capital at which words fit table and printer. [mm]."""
        most_mm = self._scaled_mm(text, MEASURED_AT_MM, spare, each)
        # A spacing in millimeters does not grow with the letters: measure where it matters.
        for _ in range(_MEASURED_ANEW if text.letter_spacing_mm else 0):
            most_mm = self._scaled_mm(text, min(2000.0, max(1.0, most_mm)), spare, each)
        return most_mm

    def _scaled_mm(self, text: JobText, at_mm: float, spare: _Spare, each: bool) -> float:
        """Return to what height words of a height are scaled to fit table and printer. [mm]."""
        laid = lay_outline(replace(text, height_mm=at_mm), self.ground, name="words")
        regions = [part for _, part in laid.parts] if each else [laid.region]
        return at_mm * min(self._fit(region, spare) for region in regions)

    def _fit(self, region: MultiPolygon, spare: _Spare) -> float:
        """Return the greatest scale of a region that fits table and printer either way. [-]."""
        x0, y0, x1, y1 = region.bounds
        sides = x1 - x0, y1 - y0
        return min(
            max(
                min(
                    max(0.1, room - more) / float(side)
                    for side, more, room in zip(sides, spare, way, strict=True)
                )
                for way in (place, place[::-1])
            )
            for place in self._rooms()
        )

    def _rooms(self) -> Iterator[tuple[float, float]]:
        machine = self.setting.machine
        yield (
            machine.opening_width_mm - 2 * CLAMP_MM,
            machine.opening_depth_mm - 2 * CLAMP_MM,
        )
        yield usable_bed_mm(self.setting.printer)[:2]

    def _lean_mm(self, feature: JobFeature) -> float:
        """Return how far the walls lean out under words, at the most. [mm]."""
        draft = self._draft_deg(feature)
        return 2 * (feature.height_mm or USUAL_HEIGHT_MM) * tan(radians(draft))

    def _draft_deg(self, feature: JobFeature) -> float:
        if feature.draft_deg is not None:
            return feature.draft_deg
        return draft_rule(
            Direction.RAISED, feature.height_mm or USUAL_HEIGHT_MM,
            plastic=self.setting.sheet.plastic, layer_mm=self.setting.printer.layer_mm,
        ).value  # fmt: skip

    def _relieved(self, feature: JobFeature, *, on_table: bool) -> JobFeature:
        """Give a feature and what stands on it a height, where they have none."""
        height_mm = feature.height_mm
        if height_mm is None and is_fitted(feature.outline):
            return feature
        if height_mm is None:
            height_mm = self._relief_mm(feature, self.ground, on_table=on_table)
        relieved = partial(self._relieved, on_table=False)
        return replace(
            feature,
            height_mm=height_mm,
            raised=tuple(map(relieved, feature.raised)),
            sunk=tuple(map(relieved, feature.sunk)),
        )

    def _relief_mm(
        self, feature: JobFeature, ground: Ground, *, on_table: bool, sunk: bool = False
    ) -> float:
        usual_mm = USUAL_HEIGHT_MM if on_table else USUAL_RELIEF_MM
        least_mm = max(LEAST_RELIEF_MM, self.setting.sheet.gauge_mm)
        height_mm = usual_mm
        if is_drawn(feature.outline) and all(is_fitted(one.outline) for one in feature.raised):
            region = lay_outline(feature.outline, ground, name=feature.name).region
            room_mm = self._gap_mm(region, usual_mm, sunk=sunk)
            if on_table:
                room_mm = min(room_mm, self._between_mm(region, feature))
            height_mm = max(least_mm, min(usual_mm, room_mm))
        lower = height_mm < usual_mm
        because = "as deep as its narrowest gap is wide" if lower else ""
        if on_table and is_drawn(feature.outline) and not feature.raised and not feature.sunk:
            shallow = max(least_mm, shallow_mm(region, height_mm))
            if shallow < height_mm:
                height_mm, because = shallow, "so that the sheet thins little on its walls"
        self.choices.append(
            ChosenValue(
                what=f"height of {feature.name}", value=f"{height_mm:g} mm", because=because
            )
        )
        return height_mm

    def _between_mm(self, region: MultiPolygon, feature: JobFeature) -> float:
        """Return how tall molds may be that stand side by side as pieces of one outline. [mm]."""
        pieces = list(region.geoms)
        tree = shapely.STRtree(pieces)
        lean = tan(radians(self._draft_deg(feature)))
        nearest = [
            float(pieces[k].distance(pieces[j]))
            for k, j in tree.query(pieces, predicate="dwithin", distance=3 * USUAL_HEIGHT_MM).T
            if k < j
        ]
        # Their feet come nearer by the lean of both walls.
        tallest = min(nearest, default=inf) / (BETWEEN_LOW + 2 * lean)
        return _rounded_down(tallest) if isfinite(tallest) else tallest

    def _gap_mm(self, region: MultiPolygon, usual_mm: float, *, sunk: bool) -> float:
        """Return the width of the narrowest gap that the sheet goes down into at all. [mm]."""
        narrow = narrow_gaps(region, usual_mm, inward=sunk).widths_mm
        reached = narrow[narrow >= 2 * 0.95 * self.setting.sheet.gauge_mm]
        return _rounded_down(float(reached.min())) if len(reached) else usual_mm


def _spare_mm(outline: JobOutline) -> _Spare:
    """Return how much wider and deeper a body is than what stands on it. [mm]."""
    if not isinstance(outline, JobAround):
        return 0.0, 0.0
    return 2 * outline.around_mm, 2 * outline.around_mm + outline.above_mm


def _tree(feature: JobFeature) -> Iterator[JobFeature]:
    """Yield a feature and all that stands on it."""
    yield feature
    for child in (*feature.raised, *feature.sunk):
        yield from _tree(child)


def _bears_open(feature: JobFeature) -> bool:
    """Tell whether something finds its own place on a feature whose size or height is open."""
    return any(
        is_fitted(child.outline)
        and (
            child.height_mm is None
            or (isinstance(child.outline, JobText) and child.outline.is_open)
        )
        for child in (*feature.raised, *feature.sunk)
    )


def _with_stand_ins(feature: JobFeature) -> JobFeature:
    """Return a feature with its bare flat in place of whatever finds its own place on it."""

    def stands(child: JobFeature) -> JobFeature:
        if not is_fitted(child.outline):
            return _with_stand_ins(child)
        return JobFeature(
            name=child.name, outline=JobInset(inset_mm=0.0), height_mm=USUAL_RELIEF_MM
        )

    raised, sunk = map(stands, feature.raised), map(stands, feature.sunk)
    return replace(feature, raised=tuple(raised), sunk=tuple(sunk))


def _walk(feature: Feature) -> Iterator[Feature]:
    """Yield a feature in place and all that stands on it."""
    yield feature
    for child in feature.children:
        yield from _walk(child)


def _rank(height_mm: float, text: JobText) -> tuple[float, int]:
    """Order ways to break lines: the larger letters first, of equals the fewer lines."""
    return round(min(height_mm, USUAL_LETTER_MM), 3), -text.text.count("\n")


def _rounded_down(height_mm: float) -> float:
    """Return a height in whole millimeters, in halves where it is small. [mm]."""
    step_mm = 1.0 if height_mm >= 10 else 0.5
    return max(step_mm, floor(height_mm / step_mm + 1e-9) * step_mm)
