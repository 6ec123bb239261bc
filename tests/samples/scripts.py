"""Signs in fonts of other people: whether each reads as its word, or stops."""

from __future__ import annotations

import csv
import random
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import shapely
from PIL import Image, ImageDraw, ImageFont
from shapely import MultiPolygon, Polygon
from shapely.affinity import translate

import moldgen as mg
from moldgen.errors import FileError, MoldgenError
from moldgen.finding import Severity
from moldgen.job.outline import JobText
from moldgen.mold.features import Feature
from moldgen.outline.lettering.fonts import open_face
from moldgen.outline.lettering.text import Lettering, TextSpec, outline_from_text
from moldgen.solid.polygons import polygons_of
from moldgen.solid.slices import section

_UP = 0.5
"""Share of the letters' height at which their mold is cut."""

_EM_PIXELS = 600
"""Size of the font in the second opinion's picture."""

_CRUMB_MM2 = 0.01
"""Pieces and holes smaller than this are crumbs of the cut. [mm²]."""

_NOZZLE_MM = 0.4
"""Gaps and holes that are narrower than a printed line count as closed. [mm]."""

LEAST_MATCH = 0.95
"""Share of the ink that our setting of a word and another library's have in common."""


class Word(NamedTuple):
    """A word about harbors, with the first and last character of its script's block."""

    script: str
    first: int
    last: int
    word: str


@dataclass(frozen=True, kw_only=True)
class Sign:
    """What became of one word in one font.

    Attributes
    ----------
    name : str
        File of the font.
    script, word : str
        What is written.
    before, after : tuple of int
        Pieces and holes of the word in the font, and on the mold at half the letters' height.
    apart : tuple of str
        Letters whose pieces or holes differ.
    match : float
        Share of the ink that the word has in common with another library's setting of it.
    said : str
        Why it was refused, or the stop; empty if it was made.
    """

    name: str
    script: str
    word: str
    before: tuple[int, int] = (0, 0)
    after: tuple[int, int] = (0, 0)
    apart: tuple[str, ...] = ()
    match: float = float("nan")
    said: str = ""

    @property
    def reads(self) -> bool:
        """Whether the mold has each piece and hole of the word, as another library sets it."""
        whole = not self.apart and self.before == self.after
        return not self.said and whole and self.match >= LEAST_MATCH


@cache
def words() -> tuple[Word, ...]:
    """Return the words of the list."""
    path = Path(__file__).with_name("harbor.csv")
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(
            Word(row["script"], int(row["first"], 16), int(row["last"], 16), row["word"])
            for row in csv.DictReader(file)
        )


def word_for(path: Path, *, seed: int) -> Word | None:
    """Return a word that a font has, of another script than Latin if it can; None if it has none.

    Of several scripts one is taken at random.
    """
    try:
        known = set(open_face(path).unicodes)
    except FileError:
        return None
    had = [one for one in words() if known.issuperset(_letters(one.word))]
    # Fonts of all scripts have Latin letters beside.
    own = [one for one in had if one.first > _LATIN_TO] or had
    return random.Random(f"{seed} {path.name}").choice(own) if own else None


_LATIN_TO = 0x2FF


def sign_in(path: Path, *, seed: int) -> Sign | None:
    """Set a word in a font as a sign; None for a font that has none of them."""
    word = word_for(path, seed=seed)
    return None if word is None else sign_of(path, word)


def _letters(word: str) -> set[int]:
    composed = unicodedata.normalize("NFC", word)
    return {ord(c) for c in composed if not c.isspace()}


def sign_of(path: Path, word: Word) -> Sign:
    """Set a word in a font as a sign, and compare its mold with the font."""
    said: dict[str, Any] = {"name": path.name, "script": word.script, "word": word.word}
    try:
        design = mg.design(mg.sign(word.word, font=str(path)))
        told = [*design.features.findings, *design.checked.findings]
        stops = [one.says for one in told if one.severity is Severity.STOP]
        if stops:
            return Sign(**said, said=f"stop: {stops[0]}")
        (feature,) = _leaves(design.features.bodies)
        setting = _setting(design.request, path)
        cut = _cut(design.raw, feature)
    except MoldgenError as error:
        return Sign(**said, said=f"refused: {error}")
    before, letters = _placed(setting, feature.region)
    if _rings(before) != _rings(cut):
        before, cut = _printed(before), _printed(cut)
    return Sign(
        **said,
        before=_rings(before),
        after=_rings(cut),
        apart=tuple(_apart(letters, before, cut)),
        match=_match(setting.region, word.word, path),
    )


def _leaves(features: Iterable[Feature]) -> list[Feature]:
    return [leaf for one in features for leaf in (_leaves(one.children) if one.children else [one])]


def _setting(sign: Any, path: Path) -> Lettering:
    """Return the word of a sign as the font draws it, at the size that was chosen."""
    outlines = [one.outline for body in sign.body for one in (body, *body.raised)]
    (text,) = [outline for outline in outlines if isinstance(outline, JobText)]
    spec = TextSpec(
        text=text.text, height_mm=text.height_mm, font=str(path), align=text.align,
        letter_spacing_mm=text.letter_spacing_mm + text.tracking * text.height_mm,
        line_spacing=text.line_spacing,
    )  # fmt: skip
    return outline_from_text(spec)


def _cut(raw: Any, feature: Feature) -> MultiPolygon:
    """Return the letters of a mold cut level, halfway up."""
    z_mm = raw.height_mm - (1 - _UP) * feature.wall.height_mm
    return section(raw.mesh, z_mm)


def _printed(region: MultiPolygon) -> MultiPolygon:
    """Return a region without gaps that no printer leaves open."""
    half_mm = _NOZZLE_MM / 2
    return polygons_of(shapely.buffer(shapely.buffer(region, half_mm), -half_mm))


def _placed(setting: Lettering, like: MultiPolygon) -> tuple[MultiPolygon, dict[str, MultiPolygon]]:
    """Return a word and its letters where they stand on the mold."""
    (x0, y0, x1, y1), (u0, v0, u1, v1) = setting.region.bounds, like.bounds
    shift = (u0 + u1 - x0 - x1) / 2, (v0 + v1 - y0 - y1) / 2
    letters = {one.name: translate(one.region, *shift) for one in setting.letters}
    return translate(setting.region, *shift), letters


def _rings(region: MultiPolygon) -> tuple[int, int]:
    """Return pieces and holes, without crumbs."""
    pieces = [piece for piece in region.geoms if piece.area > _CRUMB_MM2]
    holes = [ring for piece in pieces for ring in piece.interiors]
    return len(pieces), sum(Polygon(ring).area > _CRUMB_MM2 for ring in holes)


def _apart(
    letters: dict[str, MultiPolygon], before: MultiPolygon, after: MultiPolygon
) -> Iterable[str]:
    """Yield the letters with a piece that is not one piece with as many holes on the mold."""
    for piece in before.geoms:
        there = [one for one in after.geoms if one.intersection(piece).area > _CRUMB_MM2]
        same = _rings(MultiPolygon(there)) == _rings(MultiPolygon([piece]))
        if piece.area > _CRUMB_MM2 and not same:
            yield from (name for name, one in letters.items() if one.intersects(piece))


def _match(region: MultiPolygon, word: str, path: Path) -> float:
    """Return how much of a word another library sets alike, both brought to the same box."""
    drawn = _drawn(word, path)
    up, across = drawn.shape
    left, bottom, right, top = region.bounds
    x = left + (np.arange(across) + 0.5) * (right - left) / across
    y = top - (np.arange(up) + 0.5) * (top - bottom) / up
    shapely.prepare(region)
    own = shapely.contains_xy(region, *(axis.ravel() for axis in np.meshgrid(x, y)))
    own = own.reshape(drawn.shape)
    return float((own & drawn).sum() / (own | drawn).sum())


def _drawn(word: str, path: Path) -> np.ndarray:
    font = ImageFont.truetype(str(path), _EM_PIXELS, layout_engine=ImageFont.Layout.RAQM)
    left, top, right, bottom = (round(v) for v in font.getbbox(word))
    picture = Image.new("L", (right - left + 40, bottom - top + 40))
    ImageDraw.Draw(picture).text((20 - left, 20 - top), word, font=font, fill=255)
    ink = np.asarray(picture) > 127
    rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
    return ink[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
