"""Fonts and lettering, against the fonts' own tables read by another library."""

import os
import subprocess
import sys
from functools import cache
from math import nan
from pathlib import Path

import numpy as np
import pytest
import shapely
from fontTools import subset
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTCollection, TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.errors import FileError, OutlineError, SpecError
from moldgen.execution import run_with
from moldgen.limits import Limits
from moldgen.outline.choices import Align
from moldgen.outline.lettering.direction import direction_runs, embedding_levels
from moldgen.outline.lettering.fonts import default_font_path, find_font, font_folders, list_fonts
from moldgen.outline.lettering.shaping import open_typeface
from moldgen.outline.lettering.text import TextSpec, outline_from_text

FOLDER = default_font_path().parent
FACES = sorted(path.name for path in FOLDER.glob("*.ttf"))
WITHOUT_OVERLAPS = [
    "DejaVuSans.ttf",
    "DejaVuSans-Bold.ttf",
    "Bungee-Regular.ttf",
]
"""Only of these does the sum of the curves equal the area; others draw strokes over each other."""


@cache
def tables(name: str) -> TTFont:
    return TTFont(FOLDER / name)


def own_area(font: TTFont, glyph: str) -> float:
    """Return the area a font's curves enclose, exactly, by the other library's pen."""
    glyphs = font.getGlyphSet()
    pen = AreaPen(glyphs)
    glyphs[glyph].draw(pen)
    return abs(pen.value)


def spec(text: str, **more) -> TextSpec:
    return TextSpec(text=text, **{"height_mm": 50.0, **more})


def bounds_of(lettering):
    return [letter.region.bounds for letter in lettering.letters]


# --- against the font's own tables -------------------------------------------------------------


@pytest.mark.parametrize("name", WITHOUT_OVERLAPS)
def test_area_of_letters_equals_the_fonts_own(name):
    """Filled area = area under the font's curves, to what flattening may cost."""
    font = tables(name)
    lettering = outline_from_text(spec("HAMBRO8gs", font=str(FOLDER / name)))
    glyphs = {letter: font.getBestCmap()[ord(letter)] for letter in "HAMBRO8gs"}
    cap = font["glyf"][glyphs["H"]].yMax
    for letter in some(lettering.letters):
        exact = own_area(font, glyphs[letter.name]) * (50 / cap) ** 2
        assert abs(letter.region.area - exact) <= 0.01 * letter.region.length, letter.name


def test_area_test_would_see_a_filled_counter():
    """The partner: an O without its counter misses the font's area by far more."""
    lettering = outline_from_text(spec("O", font=str(FOLDER / "DejaVuSans.ttf")))
    solid = shapely.Polygon(lettering.region.geoms[0].exterior)
    font = tables("DejaVuSans.ttf")
    exact = own_area(font, "O") * (50 / font["glyf"]["H"].yMax) ** 2
    assert abs(solid.area - exact) > 0.01 * solid.length


@pytest.mark.parametrize("name", FACES)
def test_cap_height_is_that_of_the_letter_h(name):
    """H stands on the baseline and is exactly as tall as asked."""
    lettering = outline_from_text(spec("H", font=str(FOLDER / name), height_mm=37))
    assert lettering.region.bounds[3] == pytest.approx(37, abs=1e-9)
    assert lettering.cap_height_mm == 37


@pytest.mark.parametrize("name", ["DejaVuSans-Bold.ttf", "Bungee-Regular.ttf", "Lexend-Bold.ttf"])
def test_letters_stand_an_advance_apart(name):
    """From one n to the next it is the advance width of the horizontal metrics table."""
    font = tables(name)
    first, second, third = bounds_of(outline_from_text(spec("nnn", font=str(FOLDER / name))))
    advance = font["hmtx"][font.getBestCmap()[ord("n")]][0] * 50 / font["glyf"]["H"].yMax
    assert second[0] - first[0] == pytest.approx(advance, abs=1e-9)
    assert third[0] - second[0] == pytest.approx(advance, abs=1e-9)


@pytest.mark.parametrize("pair", ["AV", "LT", "To", "HH"])
def test_pairs_are_kerned_as_the_font_says(pair):
    """Two letters stand an advance plus the font's own kerning apart; HH has none."""
    font = tables("DejaVuSans-Bold.ttf")
    scale = 50 / font["glyf"]["H"].yMax
    left, right = (font.getBestCmap()[ord(letter)] for letter in pair)
    kern = font["kern"].kernTables[0].kernTable.get((left, right), 0)
    assert (kern == 0) is (pair == "HH")
    one, two = bounds_of(outline_from_text(spec(pair)))
    bearings = font["glyf"][right].xMin - font["glyf"][left].xMin
    expected = (font["hmtx"][left][0] + kern + bearings) * scale
    assert two[0] - one[0] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "holes"), [("A", 1), ("B", 2), ("D", 1), ("O", 1), ("8", 2), ("I", 0), ("%", 2)]
)
def test_counters_are_holes(text, holes):
    """Each letter has the counters it has, neither more nor fewer."""
    region = outline_from_text(spec(text)).region
    assert sum(len(part.interiors) for part in region.geoms) == holes


@settings(max_examples=20, deadline=None)
@given(st.floats(0.001, 0.5), st.sampled_from("OSgB&"))
def test_no_chord_strays_farther_than_asked(chord_mm, letter):
    """Coarse chords stay within the tolerance of very fine ones, both ways."""
    coarse = outline_from_text(spec(letter, chord_mm=chord_mm)).region.boundary
    fine = outline_from_text(spec(letter, chord_mm=0.0005)).region.boundary
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(coarse, 0.2)))
    assert shapely.distance(points, fine).max() <= chord_mm + 0.0005
    back = shapely.points(shapely.get_coordinates(fine))
    assert shapely.distance(back, coarse).max() <= chord_mm + 1e-9


def test_cubic_outlines_are_read_too(tmp_path):
    """A font with cubic curves gives the area its own pen computes."""
    path = tmp_path / "cubic.otf"
    build_cubic(path)
    font = TTFont(path)
    lettering = outline_from_text(spec("HO", font=str(path)))
    exact = own_area(font, "O") * (50 / 700) ** 2
    ring = lettering.letters[1].region
    assert abs(ring.area - exact) <= 0.01 * ring.length
    assert ring.area == pytest.approx(exact, rel=1e-3)


def test_overlapping_contours_of_a_letter_are_united(tmp_path):
    """A cross drawn as two overlapping bars is one piece without holes."""
    path = tmp_path / "bars.ttf"
    build_bars(path)
    region = outline_from_text(spec("H", font=str(path), height_mm=7)).region
    assert len(region.geoms) == 1
    assert not region.geoms[0].interiors
    assert region.area == pytest.approx((700 * 100 + 500 * 100 - 100 * 100) * 1e-4)


# --- setting -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("align", "side"), [("left", 0), ("right", 2)])
def test_lines_are_flush_on_the_ink(align, side):
    """Every line begins, or ends, exactly at x = 0 whatever its letters' bearings."""
    lettering = outline_from_text(spec("TIDE\nJo\nA", align=Align(align)))
    for line in some(lines_of(lettering)):
        edges = [bounds[side] for bounds in line]
        assert (min if side == 0 else max)(edges) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("word", ["center", "centre"])
def test_centered_lines_have_their_middle_at_zero(word):
    """The ink of each line reaches equally far to either side, in either spelling."""
    lettering = outline_from_text(spec("TIDE\nJo\nA", align=word))
    for line in some(lines_of(lettering)):
        left, right = min(box[0] for box in line), max(box[2] for box in line)
        assert left == pytest.approx(-right, abs=1e-9)


def lines_of(lettering):
    """Return the boxes of the letters, line by line."""
    boxes = bounds_of(lettering)
    return [boxes[:4], boxes[4:6], boxes[6:]]


def test_lines_stand_a_pitch_apart_and_blank_lines_count():
    """Baselines go down by line spacing times cap height; a blank line keeps its place."""
    lettering = outline_from_text(spec("H\n\nH", height_mm=20, line_spacing=1.5))
    assert lettering.baselines_mm == (0, -30, -60)
    assert [box[1] for box in bounds_of(lettering)] == pytest.approx([0, -60])


def test_letter_spacing_is_added_between_letters():
    """Each further letter is moved on by the spacing once more."""
    tight = bounds_of(outline_from_text(spec("TIDE")))
    wide = bounds_of(outline_from_text(spec("TIDE", letter_spacing_mm=3)))
    gaps = [b[0] - a[0] for a, b in zip(tight, wide, strict=True)]
    assert gaps == pytest.approx([0, 3, 6, 9], abs=1e-9)


@settings(max_examples=15, deadline=None)
@given(st.floats(5, 500))
def test_lettering_scales_with_its_height(height_mm):
    """Area grows with the square of the height; only flattening differs."""
    unit = outline_from_text(spec("Rope", height_mm=100, chord_mm=0.01)).region
    other = outline_from_text(spec("Rope", height_mm=height_mm, chord_mm=height_mm * 1e-4))
    assert other.region.area == pytest.approx(unit.area * (height_mm / 100) ** 2, rel=1e-9)


def test_letters_are_the_parts_of_the_region():
    """The letters, each where it stands, make up the whole; their names are unique."""
    lettering = outline_from_text(spec("Aa! ropes & A?"))
    names = [letter.name for letter in lettering.letters]
    assert names == [
        "A", "a-2", "exclamation-mark", "r", "o", "p", "e", "s", "ampersand", "A-3",
        "question-mark",
    ]  # fmt: skip
    assert len({name.casefold() for name in names}) == len(names)
    together = shapely.union_all([letter.region for letter in lettering.letters])
    assert together.equals(lettering.region)


def test_letters_stay_apart_where_a_font_has_ligatures():
    """The letters of office are six: nothing is joined into one glyph."""
    lettering = outline_from_text(spec("office", font=str(FOLDER / "DejaVuSans.ttf")))
    assert [letter.name for letter in lettering.letters] == ["o", "f", "f-2", "i", "c", "e"]


THO, MAI_EK = "\u0e17", "\u0e48"


def build_thai(path: Path) -> None:
    """Write a font whose ligatures make the tone mark of a letter flat, and join A and B."""
    from fontTools.feaLib.builder import addOpenTypeFeaturesFromString

    def block(low: int, high: int):
        pen = TTGlyphPen(None)
        pen.moveTo((50, low))
        for corner in ((50, high), (500, high), (500, low)):
            pen.lineTo(corner)
        pen.closePath()
        return pen.glyph()

    glyphs = {
        ".notdef": block(0, 1), "H": block(0, 700), "A": block(0, 600), "B": block(0, 500),
        "A_B": block(0, 100), "tho": block(0, 400), "mai": block(800, 900), "low": block(500, 550),
    }  # fmt: skip
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(list(glyphs))
    named = {"H": "H", "A": "A", "B": "B", THO: "tho", MAI_EK: "mai"}
    builder.setupCharacterMap({ord(character): name for character, name in named.items()})
    builder.setupGlyf(glyphs)
    addOpenTypeFeaturesFromString(
        builder.font, "feature liga { sub tho mai' by low; sub A B by A_B; } liga;"
    )
    finish_font(builder, glyphs, path)


def test_fonts_of_other_scripts_set_their_marks_as_they_mean_to(tmp_path):
    """A Thai tone mark is the one of the font's ligatures, while Latin letters stay apart."""
    path = tmp_path / "thai.ttf"
    build_thai(path)

    mixed = outline_from_text(spec(f"AB{THO}{MAI_EK}", font=str(path), height_mm=70))

    areas_mm2 = [region.area for _, region in mixed.letters]
    assert areas_mm2 == pytest.approx([45 * 60, 45 * 50, 45 * 40 + 45 * 5])
    assert [name for name, _ in mixed.letters] == ["A", "B", THO + MAI_EK]


def test_marks_go_with_their_letter():
    """A letter and its accent are one mold, written in one character or in two."""
    composed, apart = outline_from_text(spec("\u00e9")), outline_from_text(spec("e\u0301"))
    assert [letter.name for letter in apart.letters] == ["\u00e9"]
    assert apart.region.equals(composed.region)
    stacked = outline_from_text(spec("x\u0323"))
    assert len(stacked.letters) == 1
    assert len(stacked.region.geoms) == 2


def test_right_to_left_words_run_right_to_left():
    """The first letter of a Hebrew word stands rightmost, digits in it keep their order."""
    boxes = bounds_of(outline_from_text(spec("\u05e9\u05dc\u05d5\u05dd 12")))
    assert boxes[0][0] > boxes[1][0] > boxes[2][0] > boxes[3][0] > boxes[5][0] > boxes[4][0]


def test_same_text_gives_the_same_bytes():
    """Setting a text twice gives identical coordinates."""
    once, twice = (outline_from_text(spec("Harbor\nDay")).region.wkb for _ in range(2))
    assert once == twice


def test_thousand_characters_are_still_set():
    """The longest text allowed is set in many lines; repeated letters cost no flattening."""
    text = "\n".join(["tide and time ropes"[:19]] * 50)
    lettering = outline_from_text(spec(text, height_mm=10))
    assert len(lettering.baselines_mm) == 50
    assert len(lettering.letters) == 50 * 16


# --- direction of lines ------------------------------------------------------------------------


def visual(line: str) -> str:
    return "".join(
        line[start:end][::-1] if right_to_left else line[start:end]
        for start, end, right_to_left in direction_runs(line)
    )


def in_hebrew(line: str) -> str:
    """Write capitals as Hebrew letters, as the annex's examples mean them."""
    return "".join(chr(0x05D0 + ord(c) - ord("A")) if c.isupper() else c for c in line)


@pytest.mark.parametrize(
    ("memory", "display"),
    [
        # The first line is the example of UAX 9 itself, from memory; the others follow from
        # its rules by hand.
        ("car means CAR.", "car means RAC."),
        ("he said CAR MEANS CAR", "he said RAC SNAEM RAC"),
        ("CAR means CAR", "RAC means RAC"),
        ("CAR 12 means", "means 12 RAC"),
        ("abc CAR 12 def", "abc 12 RAC def"),
    ],
)
def test_mixed_lines_are_reordered_by_the_rules(memory, display):
    """Lines in two directions stand on the sign as the Unicode annex orders them."""
    assert visual(in_hebrew(memory)) == in_hebrew(display)


def test_levels_of_plain_text_are_zero():
    """English has one run, an empty line none."""
    assert embedding_levels("tide 12:30!") == [0] * 11
    assert direction_runs("tide 12:30!") == [(0, 11, False)]
    assert direction_runs("") == []


def test_numbers_with_signs_keep_their_order_in_hebrew():
    """A time and a price stay readable inside a line that runs right to left."""
    assert visual(in_hebrew("AB 12:30 C")) == in_hebrew("C 12:30 BA")
    assert visual(in_hebrew("AB $5 C")) == in_hebrew("C $5 BA")
    assert visual(in_hebrew("AB 5% C")) == in_hebrew("C 5% BA")


# --- finding fonts -----------------------------------------------------------------------------


def test_default_font_is_found_without_loading_the_plotting_package():
    """The default is a bold sans; the plotting package stays out of memory."""
    code = (
        "import sys; from moldgen.outline.lettering.fonts import find_font;"
        "print(find_font().full_name, 'matplotlib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["DejaVu", "Sans", "Bold", "False"]


@pytest.mark.parametrize(
    "name", ["DejaVuSans-Bold", "dejavu sans bold", "DEJAVUSANSBOLD", "DejaVu-Sans_Bold"]
)
def test_font_is_found_by_any_spelling_of_its_name(name):
    """Case, blanks and hyphens do not matter."""
    assert find_font(name, [FOLDER]).path.name == "DejaVuSans-Bold.ttf"


def test_family_means_its_upright_regular_font():
    """A family name is not read as its bold or slanted member."""
    font = find_font("dejavu sans", [FOLDER])
    assert (font.family, font.style) == ("DejaVu Sans", "Book")


def test_every_font_listed_can_set_a_word():
    """What the list offers works."""
    fonts = list_fonts([FOLDER])
    assert {font.path for font in fonts} == set(FOLDER.glob("*.ttf"))
    assert list(fonts) == sorted(fonts)
    for font in fonts:
        assert open_typeface(font).cap_height() > 0


def test_a_text_is_set_once():
    """Asked for again, a text is the one that was set before; another height is another text."""
    spec = TextSpec(text="PIER 4", height_mm=30)
    first = outline_from_text(spec)

    assert outline_from_text(TextSpec(text="PIER 4", height_mm=30)) is first
    assert outline_from_text(TextSpec(text="PIER 4", height_mm=20)).cap_height_mm == 20
    assert outline_from_text(TextSpec(text="PIER 5", height_mm=30)).letters[-1].name == "5"


def test_a_font_whose_file_changes_is_read_again(tmp_path):
    """A text is set anew in a font of the same name that has another letter now."""
    path = tmp_path / "own.ttf"
    spec = TextSpec(text="O", height_mm=30, font=str(path))
    font = TTFont(FOLDER / "Rubik-Bold.ttf")
    font.save(path)
    before = outline_from_text(spec)
    font["glyf"]["O"] = font["glyf"]["I"]
    path.unlink()
    font.save(path)
    after = outline_from_text(spec)

    assert before.font_name == after.font_name
    assert len(before.region.geoms[0].interiors) == 1
    assert len(after.region.geoms[0].interiors) == 0


def test_list_passes_over_what_is_no_font(tmp_path):
    """Damaged files and missing folders do not spoil the list."""
    (tmp_path / "broken.ttf").write_bytes(b"\x00\x01\x00\x00broken")
    (tmp_path / "notes.otf").write_text("not a font")
    (tmp_path / "good.TTF").write_bytes((FOLDER / "Lexend-Bold.ttf").read_bytes())
    fonts = list_fonts([tmp_path, tmp_path / "nowhere"])
    assert [font.path.name for font in fonts] == ["good.TTF"]


def test_each_font_of_a_collection_is_found(tmp_path):
    """Both fonts of a collection are listed with their place in it, and either can be used."""
    pack = TTCollection()
    pack.fonts = [TTFont(FOLDER / "Rubik-Bold.ttf"), TTFont(FOLDER / "Lexend-Bold.ttf")]
    pack.save(tmp_path / "pack.ttc")
    assert [font.index for font in list_fonts([tmp_path])] == [1, 0]
    second = find_font("lexend bold", [tmp_path])
    assert second.index == 1
    heavy = open_typeface(second).region(1, chord=1)
    assert heavy.equals(open_typeface(find_font("lexend bold", [FOLDER])).region(1, chord=1))


@pytest.mark.parametrize("platform", ["linux", "darwin", "win32"])
def test_font_folders_of_each_system(platform):
    """Each system has its own folders first and the ones brought along last."""
    where = {"LOCALAPPDATA": "/local", "WINDIR": "/win", "XDG_DATA_HOME": "/data"}
    folders = font_folders(platform, where, Path("/me"))
    expected = {
        "linux": Path("/data/fonts"),
        "darwin": Path("/me/Library/Fonts"),
        "win32": Path("/local/Microsoft/Windows/Fonts"),
    }
    assert folders[0] == expected[platform]
    assert folders[-1] == FOLDER


# --- bad input ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"text": ""}, r"text must be at least one visible character \(got ''\)"),
        ({"text": " \n "}, "text must be at least one visible character"),
        ({"text": "A\tB"}, r"free of control characters \(got U\+0009\)"),
        ({"text": "A\x00"}, r"free of control characters \(got U\+0000\)"),
        ({"text": "\ud800"}, r"free of control characters \(got U\+D800\)"),
        ({"text": "A" * 10_000}, r"at most 1000 characters \(got 10000\)"),
        ({"height_mm": 0}, "height_mm must be at least 1 mm"),
        ({"height_mm": nan}, "height_mm must be at least 1 mm"),
        ({"height_mm": 9999}, "height_mm must be .* at most 2000 mm"),
        ({"align": "middle"}, "align must be left, center or right"),
        ({"letter_spacing_mm": -500}, "letter_spacing_mm must be at least -100 mm"),
        ({"line_spacing": 0}, "line_spacing must be at least 0.5"),
        ({"chord_mm": 0}, "chord_mm must be at least 0.0005 mm"),
    ],
)
def test_bad_text_specs_are_refused(fields, words):
    """A text that cannot be set is refused when it is asked for, field by field."""
    with pytest.raises(SpecError, match=words):
        spec(**{"text": "TIDE", **fields})


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("tide \u6f6e", r"text .* DejaVu Sans Bold has \(got '\u6f6e' U\+6F6E CJK UNIFIED"),
        ("A\ue123", r"got U\+E123\)"),
        ("\u200b", "text must be at least one letter that has ink"),
    ],
)
def test_characters_without_ink_are_named(text, words):
    """A missing glyph is an error that names character and font, never an empty box."""
    with pytest.raises(SpecError, match=words):
        outline_from_text(spec(text, font="DejaVu Sans Bold"))


def test_text_wider_than_any_table_is_refused():
    """A sentence a kilometer long is an outline error, not a crash."""
    with pytest.raises(OutlineError, match=r"the text is .* more than 5000 mm"):
        outline_from_text(spec("W" * 500, height_mm=200))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (None, "No such file or directory; correct the path"),
        (b"", "is not a TrueType or OpenType font"),
        (b"hello", "is not a TrueType or OpenType font"),
        (b"wOF2" + bytes(60), "second kind .* is not read; give the same font as .ttf"),
        (b"\x00\x01\x00\x00" + bytes(60), "is damaged or has no letters"),
        (b"wOFF" + bytes(20), "is damaged or has no letters"),
        ("half", "is damaged or has no letters"),
    ],
)
def test_bad_font_files_are_refused(tmp_path, content, words):
    """A missing, empty, foreign or truncated font file is one sentence with its name."""
    path = tmp_path / "sign.ttf"
    whole = default_font_path().read_bytes()
    if content is not None:
        path.write_bytes(whole[:3000] if content == "half" else content)
    with pytest.raises(FileError, match=words) as refusal:
        outline_from_text(spec("A", font=str(path)))
    assert "sign.ttf" in str(refusal.value)


def web_font(path):
    """The usual font as another library packs it for web pages."""
    font = TTFont(default_font_path(), recalcTimestamp=False)
    font.flavor = "woff"
    font.save(path)
    return path


def test_a_web_font_sets_the_same_letters_as_the_font_in_it(tmp_path):
    """Outlines, kerning and names are those of the font before it was packed."""
    path = web_font(tmp_path / "sign.woff")
    packed, plain = (
        outline_from_text(spec("AVE 8", font=str(path))),
        outline_from_text(spec("AVE 8", font=str(default_font_path()))),
    )

    assert packed.region.equals(plain.region)
    assert packed.font_name == plain.font_name == "DejaVu Sans Bold"


@pytest.mark.parametrize("at", [13, 49, 57, -4000])
def test_a_damaged_web_font_is_refused(tmp_path, at):
    """Whatever byte is wrong in head, directory or tables, one sentence names the file."""
    path = web_font(tmp_path / "sign.woff")
    content = bytearray(path.read_bytes())
    content[at] ^= 0xFF
    path.write_bytes(content)

    with pytest.raises(FileError, match=r"sign\.woff is damaged or has no letters"):
        outline_from_text(spec("A", font=str(path)))


def test_a_web_font_of_the_second_kind_is_told_by_its_name(tmp_path):
    """It is sound, but packed in a way that is not read: the sentence says what to give."""
    path = tmp_path / "sign.woff2"
    path.write_bytes(b"wOF2" + bytes(60))

    with pytest.raises(
        FileError, match=r"WOFF2\), which is not read; give .* \.ttf, \.otf or \.woff"
    ):
        outline_from_text(spec("A", font=str(path)))


def test_a_web_font_unpacks_to_no_more_than_a_font_may_have(tmp_path):
    """The limit of fonts holds for what is in them as well."""
    path = web_font(tmp_path / "sign.woff")
    most = (path.stat().st_size + default_font_path().stat().st_size) / 2

    with run_with(limits=Limits(font_bytes=most)), pytest.raises(FileError, match="is damaged"):
        outline_from_text(spec("A", font=str(path)))


def test_font_of_pictures_is_refused(tmp_path):
    """A font that has bitmaps instead of outlines is refused for that reason."""
    font = TTFont(FOLDER / "Lexend-Bold.ttf")
    for table in {"glyf", "loca", "cvt ", "fpgm", "prep"} & set(font.keys()):
        del font[table]
    font["CBDT"] = font_table("CBDT")
    font.save(tmp_path / "pictures.ttf")
    with pytest.raises(FileError, match="pictures of its letters but no outlines"):
        find_font(str(tmp_path / "pictures.ttf"))


def test_letter_without_outline_is_refused(tmp_path):
    """A glyph that is there but empty is an error that names the letter."""
    path = tmp_path / "bars.ttf"
    build_bars(path)
    with pytest.raises(SpecError, match=r"an outline for \(got 'X' U\+0058 LATIN CAPITAL LETTER X"):
        outline_from_text(spec("X", font=str(path)))


def test_folder_is_no_font(tmp_path):
    """A folder given as a font is refused."""
    with pytest.raises(FileError, match=r"cannot read the font .*correct the path"):
        find_font(f"{tmp_path}{os.sep}")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("DejaVu Sens", r"Did you mean DejaVu Sans"),
        ("qqqqqqqq", "Give the font's file instead"),
    ],
)
def test_unknown_font_gets_the_nearest_names(name, words):
    """A typing error in a font name is answered with names that exist."""
    with pytest.raises(
        SpecError, match=f"font must be an installed font .*{words}.* moldgen fonts lists"
    ):
        find_font(name, [FOLDER])


# --- fonts made for a test ---------------------------------------------------------------------


def font_table(tag: str):
    from fontTools.ttLib.tables.DefaultTable import DefaultTable

    table = DefaultTable(tag)
    table.data = bytes(8)
    return table


def build_bars(path: Path) -> None:
    """Write a font whose H is two overlapping bars and whose X is empty."""
    pen = TTGlyphPen(None)
    for left, bottom, right, top in ((200, 0, 300, 700), (0, 300, 500, 400)):
        pen.moveTo((left, bottom))
        for corner in ((left, top), (right, top), (right, bottom)):
            pen.lineTo(corner)
        pen.closePath()
    glyphs = {".notdef": TTGlyphPen(None).glyph(), "H": pen.glyph(), "X": TTGlyphPen(None).glyph()}
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(list(glyphs))
    builder.setupCharacterMap({ord("H"): "H", ord("X"): "X"})
    builder.setupGlyf(glyphs)
    finish_font(builder, glyphs, path)


def build_cubic(path: Path) -> None:
    """Write a font with cubic curves: a box for H and a superellipse for O."""
    from fontTools.pens.t2CharStringPen import T2CharStringPen

    square, round_one = T2CharStringPen(600, None), T2CharStringPen(600, None)
    square.moveTo((50, 0))
    for corner in ((500, 0), (500, 700), (50, 700)):
        square.lineTo(corner)
    square.closePath()
    round_one.moveTo((300, 0))
    round_one.curveTo((550, 0), (600, 100), (600, 350))
    round_one.curveTo((600, 600), (500, 700), (300, 700))
    round_one.curveTo((100, 700), (0, 600), (0, 350))
    round_one.curveTo((0, 100), (50, 0), (300, 0))
    round_one.closePath()
    empty = T2CharStringPen(600, None)
    strings = {
        ".notdef": empty.getCharString(),
        "H": square.getCharString(),
        "O": round_one.getCharString(),
    }
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder(list(strings))
    builder.setupCharacterMap({ord("H"): "H", ord("O"): "O"})
    builder.setupCFF("Cubic", {}, strings, {})
    finish_font(builder, strings, path)


def finish_font(builder: FontBuilder, glyphs, path: Path) -> None:
    builder.setupHorizontalMetrics({name: (600, 0) for name in glyphs})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": path.stem, "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    builder.save(path)


def test_flattened_points_lie_on_the_curve():
    """The corners of a flattened O are points of its curve: none lies outside a finer one."""
    coarse = outline_from_text(spec("O", chord_mm=0.5)).region
    fine = outline_from_text(spec("O", chord_mm=0.0005)).region
    corners = shapely.points(shapely.get_coordinates(coarse))
    assert np.max(shapely.distance(corners, fine.boundary)) <= 0.0005


@pytest.mark.parametrize(("stated", "is_font"), [(0, False), (-1, False), (700, True)])
def test_a_font_without_a_height_of_capitals_is_refused(tmp_path, stated, is_font):
    """Without an H it is what the font states, which must be more than nothing."""
    font = TTFont(FOLDER / "Lexend-Bold.ttf")
    cut = subset.Subsetter(subset.Options(drop_tables=["GSUB", "GPOS", "GDEF"]))
    cut.populate(text="ABCabc")
    cut.subset(font)
    font["OS/2"].sCapHeight = stated
    font.save(path := tmp_path / "own.ttf")
    wanted = TextSpec(text="ABC", height_mm=20, font=str(path))

    if is_font:
        assert outline_from_text(wanted).cap_height_mm == 20
    else:
        with pytest.raises(SpecError, match="font must be one that has a cap height"):
            outline_from_text(wanted)
