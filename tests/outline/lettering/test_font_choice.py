"""The font for a text: the usual one where it will do, else one that has the letters, else told."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from support.molds import tide_sign, whole

import moldgen as mg
from moldgen.errors import SpecError
from moldgen.job.feature_names import with_names
from moldgen.job.outline import JobText
from moldgen.outline.lettering import font_choice
from moldgen.outline.lettering import fonts as fonts_of_computer
from moldgen.outline.lettering.font_choice import font_for, in_usual_letters, script_of
from moldgen.outline.lettering.fonts import default_font_path
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.setting import setting_of
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
HARBOR = "海港"


def bars(gap):
    """Return a glyph of two upright bars with a gap between, 700 units tall."""
    pen = TTGlyphPen(None)
    for left in (50, 250 + gap):
        pen.moveTo((left, 0))
        for corner in ((left, 700), (left + 200, 700), (left + 200, 0)):
            pen.lineTo(corner)
        pen.closePath()
    return pen.glyph()


def write_font(folder, family, style, *, letters=HARBOR, gap=300):
    """Write a font of bars that has H and a few letters."""
    known = {ord(letter): f"g{ord(letter):X}" for letter in f"H{letters}"}
    names = [".notdef", *known.values()]
    font = FontBuilder(1000, isTTF=True)
    font.setupGlyphOrder(names)
    font.setupCharacterMap(known)
    font.setupGlyf({name: bars(gap) for name in names})
    font.setupHorizontalMetrics({name: (550 + gap, 50) for name in names})
    font.setupHorizontalHeader(ascent=800, descent=-200)
    full = f"{family} {style}"
    font.setupNameTable({"familyName": family, "styleName": style, "fullName": full})
    font.setupOS2(sCapHeight=700)
    font.setupPost()
    font.save(folder / f"{full.replace(' ', '')}.ttf")


@pytest.fixture
def fonts(tmp_path, monkeypatch):
    """A computer that keeps its fonts in one folder, which is empty."""
    for module in (font_choice, fonts_of_computer):
        monkeypatch.setattr(module, "font_folders", lambda: (tmp_path,))
    font_choice._found.cache_clear()
    yield tmp_path
    font_choice._found.cache_clear()


def choices_of(job):
    """Return what is chosen for a sign, by what it is, and its words."""
    found = choose(with_names(job), setting=setting_of(job, SHOP), folder=Path())
    words = found.job.body[0].raised[0].outline
    assert isinstance(words, JobText)
    return SimpleNamespace(told={one.what: one.value for one in found.choices}, words=words)


@pytest.mark.parametrize(
    "name", ["NGUYỄN", "Łukasz", "Søren", "ΑΘΗΝΑ", "ЖУКОВ", "محمد", "שלום", "Ångström", "Škoda"]
)
def test_the_usual_font_sets_names_of_many_scripts(fonts, name):
    """With all their marks, and nothing is said of a font."""
    letters = outline_from_text(TextSpec(text=name, height_mm=30))

    assert font_for(name).path == default_font_path()
    assert letters.region.area > 100
    assert "font" not in choices_of(mg.sign(name)).told


def test_a_font_that_has_the_letters_is_found_by_itself(fonts):
    """The bold upright one without serifs, however the fonts are called; and it is said."""
    for family, style in (
        ("Shed Sans", "Regular"), ("Shed Serif", "Bold"), ("Zeal Sans", "Bold"),
        ("Shed Sans", "Bold Italic"), ("Shed Mono", "Bold"),
    ):  # fmt: skip
        write_font(fonts, family, style)
    write_font(fonts, "Aft Sans", "Bold", letters="海")
    found = choices_of(mg.sign(HARBOR, letter_height_mm=30))

    assert font_for(HARBOR).full_name == "Zeal Sans Bold"
    assert found.told["font"] == "Zeal Sans Bold"
    assert outline_from_text(TextSpec(text=HARBOR, height_mm=30)).font_name == "Zeal Sans Bold"


def test_a_plain_font_is_taken_before_a_bold_one_with_serifs(fonts):
    """Serifs are too fine to form."""
    write_font(fonts, "Shed Serif", "Bold")
    write_font(fonts, "Shed Sans", "Regular")

    assert font_for(HARBOR).full_name == "Shed Sans Regular"


def test_japanese_words_take_the_forms_of_japan(fonts):
    """Of one family for several countries, the font whose name says so."""
    for country in ("HK", "JP", "KR", "SC"):
        write_font(fonts, f"Shed Sans {country}", "Bold", letters="海さ서")

    assert font_for("さ海").full_name == "Shed Sans JP Bold"
    assert font_for("서").full_name == "Shed Sans KR Bold"
    assert font_for("海").full_name == "Shed Sans SC Bold"


def test_letters_of_a_found_font_are_as_large_as_their_gaps_want(fonts):
    """Bars 40/700 of the height apart want two gauges between them: 30 mm of height leave 1.7."""
    write_font(fonts, "Shed Sans", "Bold", gap=40)
    write_font(fonts, "Wide Sans", "Bold", letters="さ", gap=300)

    assert choices_of(mg.sign("海", gauge_mm=1.0)).words.height_mm == 35
    assert choices_of(mg.sign("さ", gauge_mm=1.0)).words.height_mm == 30


def test_where_no_font_has_the_letters_the_script_is_told(fonts):
    """One sentence: the letter, its script, and how to give a font."""
    with pytest.raises(SpecError) as told:
        mg.design(mg.sign("नमस्ते"))

    assert str(told.value) == (
        "text must be written in letters that one font of this computer has (got 'त' U+0924 "
        "DEVANAGARI LETTER TA). Devanagari needs a font: install one, or give its file "
        "(--font FILE)."
    )


def test_a_private_sign_is_looked_for_in_no_other_font(fonts):
    """What it shows is known to its own font alone."""
    write_font(fonts, "Shed Sans", "Bold", letters="\ue123")
    with pytest.raises(SpecError, match="U\\+E123"):
        font_for("A\ue123")


def test_a_font_that_is_asked_for_is_taken(fonts):
    """A character that it lacks is told with its name; no other font is taken in silence."""
    with pytest.raises(SpecError, match="characters that Montserrat Bold has"):
        mg.design(mg.sign("שלום", font="Montserrat Bold"))


def test_scripts_by_their_names():
    """As a person says them."""
    assert [script_of(c) for c in "さ港서สΩ"] == ["Japanese", "Chinese", "Korean", "Thai", "Greek"]


def test_a_label_is_written_in_letters_that_its_font_has():
    """A title in Thai is sunk in plain letters; one with accents keeps them."""
    assert in_usual_letters("Łódź NGUYỄN Ж 4") == "Łódź NGUYỄN Ж 4"
    assert in_usual_letters("สวัสดี 4").isascii()
    made = whole(tide_sign(), lines=("สวัสดี", "HIPS"))

    assert made.marking.label.area > 20
