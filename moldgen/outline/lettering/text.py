"""Words as outlines: lettering for signs, whole or one letter at a time."""

from __future__ import annotations

import unicodedata
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Annotated, NamedTuple

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.errors import SpecError
from moldgen.execution import limits_now
from moldgen.outline.choices import Align
from moldgen.outline.lettering.font_choice import font_for
from moldgen.outline.lettering.shaping import Glyph, Typeface, described, open_typeface
from moldgen.outline.region import as_region
from moldgen.quantity import Meaning, Quantity, Spec

_TEXTS_KEPT = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class TextSpec(Spec):
    """What to write, how tall, and in which font.

    Kerning is always on; ligatures are off, so that letters stay apart, but in scripts whose fonts
    place marks by them.
    """

    text: Annotated[str, Meaning("words of the sign; a line break starts a new line")]
    height_mm: Annotated[float, Quantity("mm", "height of the capital H", at_least=1, at_most=2000)]
    font: Annotated[str | None, Meaning("font by name or file; a bold sans serif if left out")] = (
        None
    )
    align: Annotated[Align | str, Meaning("left, center or right: where the lines meet")] = (
        Align.LEFT
    )
    letter_spacing_mm: Annotated[
        float, Quantity("mm", "added between letters", at_least=-100, at_most=1000)
    ] = 0.0
    line_spacing: Annotated[
        float, Quantity("", "from line to line, in cap heights", at_least=0.5, at_most=10)
    ] = 1.6
    chord_mm: Annotated[
        float, Quantity("mm", "how far chords may stray from curves", at_least=0.0005, at_most=1)
    ] = 0.01

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        _check_text(self.text)
        if str(self.align) not in {*Align, "centre"}:
            raise SpecError("align", "left, center or right", repr(self.align))

    @property
    def lines(self) -> tuple[str, ...]:
        """The text line by line, accents composed where Unicode can."""
        return tuple(unicodedata.normalize("NFC", self.text).splitlines())


class Letter(NamedTuple):
    """One letter with its marks, where it stands in the word.

    Attributes
    ----------
    name : str
        The letter, or for a sign its Unicode name with hyphens; a second one is ``A-2``.
        Names differ in more than capitals, so that they can be file names.
    region : MultiPolygon
        Its outline. [mm]
    """

    name: str
    region: MultiPolygon


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lettering:
    """A text set in a font.

    The first baseline is y = 0. The ink begins at x = 0 if aligned left, ends there if
    right, and has its middle there if centered.

    Attributes
    ----------
    spec : TextSpec
        What was asked for.
    region : MultiPolygon
        All letters, overlaps united. [mm]
    letters : tuple of Letter
        Each letter that has ink, in reading order.
    cap_height_mm : float
        Height of the capital H. [mm]
    baselines_mm : tuple of float
        y of the baseline of each line, the first at 0. [mm]
    font_name : str
        Full name of the font used.
    """

    spec: TextSpec
    region: MultiPolygon
    letters: tuple[Letter, ...]
    cap_height_mm: float
    baselines_mm: tuple[float, ...]
    font_name: str


def outline_from_text(spec: TextSpec) -> Lettering:
    """Return the outline of a text.

    Raises
    ------
    SpecError
        If the font is unknown, lacks a character, or has no outline for it.
    FileError
        If the font file cannot be used.
    OutlineError
        If the text is longer or taller than any table.
    """
    return _lettering(spec, open_typeface(font_for(spec.text, spec.font)))


@lru_cache(maxsize=_TEXTS_KEPT)
def _lettering(spec: TextSpec, face: Typeface) -> Lettering:
    # Kept, because a plaque asks for the size of its words before it asks for the words.
    scale = spec.height_mm / face.cap_height()
    pitch_mm = spec.height_mm * spec.line_spacing
    baselines_mm = tuple(-row * pitch_mm + 0.0 for row in range(len(spec.lines)))
    inked = [
        ink
        for line, y_mm in zip(spec.lines, baselines_mm, strict=True)
        for ink in _set_line(face, line, spec, scale=scale, baseline_mm=y_mm)
    ]
    if not inked:
        raise SpecError("text", "at least one letter that has ink", repr(spec.text))
    whole = MultiPolygon([part for _, region in inked for part in region.geoms])
    return Lettering(
        spec=spec,
        region=as_region(whole, what="the text"),
        letters=_named(inked),
        cap_height_mm=spec.height_mm,
        baselines_mm=baselines_mm,
        font_name=face.info.full_name,
    )


def _set_line(
    face: Typeface, line: str, spec: TextSpec, *, scale: float, baseline_mm: float
) -> list[tuple[str, MultiPolygon]]:
    """Return characters and outline of each letter of a line, in reading order."""
    glyphs = face.shaped(line, spacing=spec.letter_spacing_mm / scale)
    letters = [
        (cluster, _letter(face, list(members), line[slice(*cluster)], spec.chord_mm / scale))
        for cluster, members in groupby(glyphs, key=lambda glyph: (glyph.start, glyph.end))
    ]
    inked = [(cluster, region) for cluster, region in letters if not region.is_empty]
    if not inked:
        return []
    left = min(region.bounds[0] for _, region in inked)
    right = max(region.bounds[2] for _, region in inked)
    shift = {Align.LEFT: left, Align.CENTER: (left + right) / 2, Align.RIGHT: right}
    origin = shift[Align(spec.align)], -baseline_mm / scale
    return [
        (line[slice(*cluster)], shapely.transform(region, lambda xy: (xy - origin) * scale))
        for cluster, region in sorted(inked, key=lambda item: item[0])
    ]


def _letter(face: Typeface, glyphs: list[Glyph], characters: str, chord: float) -> MultiPolygon:
    """Return a letter with its marks, in font units."""
    parts = [
        shapely.transform(region, lambda xy, at=glyph: xy + np.array([at.x, at.y]))
        for glyph in glyphs
        if not (region := face.region(glyph.number, chord=chord)).is_empty
    ]
    blank = all(unicodedata.category(c) in ("Zs", "Cf", "Mn") for c in characters)
    if not parts and not blank:
        raise SpecError(
            "text",
            f"written in characters that {face.info.full_name} has an outline for",
            described(characters[0]),
            "Choose another font.",
        )
    whole = parts[0] if len(parts) == 1 else shapely.union_all(parts)
    return whole if isinstance(whole, MultiPolygon) else MultiPolygon(shapely.get_parts(whole))


def _named(inked: list[tuple[str, MultiPolygon]]) -> tuple[Letter, ...]:
    seen: Counter[str] = Counter()
    letters = []
    for characters, region in inked:
        name = _name(characters)
        seen[name.casefold()] += 1
        count = seen[name.casefold()]
        letters.append(Letter(name if count == 1 else f"{name}-{count}", region))
    return tuple(letters)


def _name(characters: str) -> str:
    if all(c.isalnum() or unicodedata.category(c) == "Mn" for c in characters):
        return characters
    spoken = unicodedata.name(characters[0], f"U+{ord(characters[0]):04X}")
    return spoken.lower().replace(" ", "-")


def _check_text(text: str) -> None:
    if not text.strip():
        raise SpecError("text", "at least one visible character", repr(text))
    most = limits_now().letters
    if len(text) > most:
        raise SpecError(
            "text", f"at most {most:g} characters", f"{len(text)}", "Make several signs."
        )
    for character in text:
        if unicodedata.category(character) in ("Cc", "Cs") and character not in "\n\r":
            raise SpecError(
                "text",
                "free of control characters",
                described(character),
                "Use blanks and line breaks only.",
            )
