"""From a line of text to glyphs with places: direction, kerning, marks, outlines."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
from shapely import MultiPolygon

from moldgen.errors import SpecError
from moldgen.outline.curves import bezier_points
from moldgen.outline.lettering.direction import direction_runs
from moldgen.outline.lettering.fonts import FontInfo, open_face
from moldgen.outline.region import FillRule, Ring, filled

if TYPE_CHECKING:
    import uharfbuzz as hb

# Letters are separate molds and must come apart, so nothing is joined that need not be.
# Required forms (such as those of Arabic) and composed accents stay on.
_JOINING = ("liga", "clig", "calt")
_APART = ("LATIN", "GREEK", "CYRILLIC", "ARMENIAN")
"""Scripts whose letters read as well without these; of others, fonts place marks by them."""
_FONTS_KEPT, _GLYPHS_KEPT = 8, 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Glyph:
    """One glyph of a shaped line, in font units from the line's start on the baseline.

    ``start`` and ``end`` are the characters it stands for: a letter with its marks.
    """

    number: int
    x: float
    y: float
    start: int
    end: int


@dataclass(frozen=True, slots=True, eq=False)
class Typeface:
    """An open font: shapes lines and gives outlines, in font units.

    Attributes
    ----------
    info : FontInfo
        Where the font came from.
    font : uharfbuzz.Font
        The open font, scaled to its own units.
    """

    info: FontInfo
    font: hb.Font

    def cap_height(self) -> float:
        """Return the height of the letter H, or what the font states if it has no H."""
        import uharfbuzz as hb

        number = self.font.get_nominal_glyph(ord("H"))
        extents = self.font.get_glyph_extents(number) if number else None
        if extents is not None and extents.y_bearing > 0:
            return float(extents.y_bearing)
        stated = self.font.get_metric_position_with_fallback(hb.OTMetricsTag.CAP_HEIGHT)
        if stated <= 0:
            raise SpecError(
                "font", "one that has a cap height", self.info.full_name, "Choose another font."
            )
        return float(stated)

    def region(self, number: int, *, chord: float) -> MultiPolygon:
        """Return the area of a glyph, perhaps empty, overlaps united, in font units."""
        return _region(self, number, chord)

    def rings(self, number: int, *, chord: float) -> list[Ring]:
        """Return the closed curves of a glyph, cut into chords, in font units."""
        pen = _GlyphPen(chord)
        self.font.draw_glyph(number, _draw_funcs(), pen)
        return [np.concatenate(pieces)[:-1] for pieces in pen.curves if len(pieces) > 1]

    def shaped(self, line: str, *, spacing: float = 0.0) -> list[Glyph]:
        """Return the glyphs of a line, left to right.

        Parameters
        ----------
        line : str
            Text without line breaks.
        spacing : float
            Added after every letter. [font units]

        Raises
        ------
        SpecError
            If the font lacks a character; the sentence names it.
        """
        glyphs: list[Glyph] = []
        pen = 0.0
        for start, end, right_to_left in direction_runs(line):
            run = self._shaped_run(line, start, end, right_to_left=right_to_left)
            for (cluster, stop), members in groupby(run, key=lambda item: item[:2]):
                began = pen
                for *_, number, advance, x, y in members:
                    glyphs.append(Glyph(number=number, x=pen + x, y=y, start=cluster, end=stop))
                    pen += advance
                pen += spacing if pen != began else 0.0
        return glyphs

    def _shaped_run(
        self, line: str, start: int, end: int, *, right_to_left: bool
    ) -> Iterator[tuple[int, int, int, float, float, float]]:
        import uharfbuzz as hb

        buffer = hb.Buffer()
        buffer.add_str(line[start:end])
        buffer.guess_segment_properties()
        buffer.direction = "rtl" if right_to_left else "ltr"
        hb.shape(self.font, buffer, _features(line[start:end]))
        infos, positions = buffer.glyph_infos, buffer.glyph_positions
        firsts = sorted({info.cluster for info in infos})
        ends = dict(zip(firsts, [*firsts[1:], end - start], strict=True))
        for info, at in zip(infos, positions, strict=True):
            cluster, stop = start + info.cluster, start + ends[info.cluster]
            if info.codepoint == 0:
                raise self._missing(line[cluster:stop])
            yield cluster, stop, info.codepoint, at.x_advance, at.x_offset, at.y_offset

    def _missing(self, cluster: str) -> SpecError:
        absent = [c for c in cluster if not self.font.get_nominal_glyph(ord(c))]
        return SpecError(
            "text",
            f"written in characters that {self.info.full_name} has",
            described((absent or list(cluster))[0]),
            "Choose another font or leave the character out.",
        )


def _features(run: str) -> dict[str, bool | list[tuple[int, int, bool]]]:
    """Return what of a font is on for a run: joining forms only where a script needs them."""
    joined = [(k, k + 1, _may_join(character)) for k, character in enumerate(run)]
    return {"kern": True, "dlig": False, **dict.fromkeys(_JOINING, joined)}


def _may_join(character: str) -> bool:
    is_letter = unicodedata.category(character)[0] in {"L", "M"}
    return is_letter and not unicodedata.name(character, "").startswith(_APART)


@lru_cache(maxsize=_GLYPHS_KEPT)
def _region(face: Typeface, number: int, chord: float) -> MultiPolygon:
    rings = face.rings(number, chord=chord)
    return filled(rings, rule=FillRule.NONZERO, what=f"a letter of {face.info.full_name}")


def open_typeface(info: FontInfo) -> Typeface:
    """Return a font ready for shaping, in its own units; the same as long as its file is.

    Raises
    ------
    FileError
        If its file cannot be used.
    """
    try:
        state = info.path.stat()
    except OSError:
        return _opened(info, 0, 0)  # says what is the matter
    return _opened(info, state.st_mtime_ns, state.st_size)


@lru_cache(maxsize=_FONTS_KEPT)
def _opened(info: FontInfo, _changed_ns: int, _size: int) -> Typeface:
    import uharfbuzz as hb

    return Typeface(info, hb.Font(open_face(info.path, info.index)))


def described(character: str) -> str:
    """Return a character as an error names it: itself, its number and its Unicode name."""
    name = unicodedata.name(character, "")
    shown = repr(character) if character.isprintable() else ""
    return " ".join(part for part in (shown, f"U+{ord(character):04X}", name) if part)


class _GlyphPen:
    """Collects what the font draws; each curve is a list of pieces of points."""

    def __init__(self, chord: float) -> None:
        self.chord = chord
        self.curves: list[list[Ring]] = []
        self.at = (0.0, 0.0)

    def start(self, x: float, y: float) -> None:
        self.at = (x, y)
        self.curves.append([np.array([self.at])])

    def bend(self, *controls: float) -> None:
        """Append a line or a Bézier curve from the last point."""
        points = np.array([*self.at, *controls]).reshape(-1, 2)
        piece = points if len(points) == 2 else bezier_points(points, chord=self.chord)
        self.curves[-1].append(piece[1:])
        self.at = (controls[-2], controls[-1])

    def close(self) -> None:
        self.curves[-1].append(self.curves[-1][0])


def _draw_funcs() -> hb.DrawFuncs:
    import uharfbuzz as hb

    funcs = hb.DrawFuncs()
    funcs.set_move_to_func(lambda x, y, pen: pen.start(x, y))
    funcs.set_line_to_func(lambda x, y, pen: pen.bend(x, y))
    funcs.set_quadratic_to_func(lambda a, b, x, y, pen: pen.bend(a, b, x, y))
    funcs.set_cubic_to_func(lambda a, b, c, d, x, y, pen: pen.bend(a, b, c, d, x, y))
    funcs.set_close_path_func(lambda pen: pen.close())
    return funcs
