"""Every sentence of the source stands in every catalog; nothing of the page or findings is left."""

import re
from functools import cache

import pytest
from catalogs.catalog_file import told_now
from catalogs.sentences import JOINS, sentences

from moldgen.api.readers import outline_from_dxf, outline_from_picture, outline_from_svg
from moldgen.errors import MoldgenError
from moldgen.finding import sentence
from moldgen.language import Language, in_words, speak
from moldgen.language.catalog import catalog_path, made_catalog
from moldgen.stock import load_shop
from moldgen.units_text import as_read
from moldgen.web.wish import Beginning, DesignWish

OTHERS = [one for one in Language if one is not Language.EN]
FUNCTION_WORDS = frozenset(
    "the of is are and or to from with without for at by it its this that than so as be must not "
    "no too more less here there where which what does do will would can may if it's".split()
)
"""Words that an English sentence hardly does without, and no other of the languages has."""
SHARED = frozenset({"no", "a", "or", "on", "as", "does", "more", "so"})
"""Those of them that are words of another language as well, or letters of a name."""
STAYS_ENGLISH = (
    "sources of stock values, as their entries cite them",
    "names of fields in job and stock files, of options and of their choices on the command line",
    "errors of meshes, fonts, job and stock files, and of what only a broken program draws",
    "what moldgen fixture, shapes, fonts and stock list",
)
"""What is not told in other languages yet; the README says so."""


@cache
def said():
    """Every template of the source."""
    return sentences()


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_stands_in_the_catalog(language):
    """Nothing of the source is missing or empty, and nothing stands there that nobody says."""
    told = told_now(language)

    assert len(told) > 2000
    assert sorted(words for words in said() if not told.get(words)) == []
    assert sorted(set(told) - set(said())) == []


@pytest.mark.parametrize("language", OTHERS)
def test_values_are_the_same_in_every_language(language):
    """A sentence has the same values in each language, none lost and none made up."""
    told = told_now(language)

    assert [w for w, t in told.items() if sorted(names_in(w)) != sorted(names_in(t))] == []


def names_in(template):
    """The names of the values in a template."""
    return [name for one in made_catalog({template: "x"}).templates for name in one.names]


@pytest.mark.parametrize("language", OTHERS)
def test_nothing_is_marked_as_doubtful(language):
    """No entry is marked as fuzzy."""
    assert "fuzzy" not in catalog_path(language).read_text(encoding="utf-8")


@pytest.mark.parametrize("language", OTHERS)
def test_no_english_is_left_in_the_catalog(language):
    """No translation holds three words that only English has; the title of a source has two."""
    told = told_now(language)

    copies = [w for w, t in told.items() if w == t and len(english(w, language)) > 2]
    assert copies == []
    assert [t for t in told.values() if len(english(t, language)) > 2] == []


def english(text, language):
    """English function words in a text that are none of the language."""
    known = FUNCTION_WORDS - SHARED
    bare = re.sub(r"\{\w+\}|--[\w-]+|`[^`]*`|\"[^\"]*\"", " ", text)
    return [word for word in re.findall(r"[^\W\d_]+", bare) if word in known]


@pytest.mark.parametrize("language", OTHERS)
def test_findings_of_a_sign_are_told(language, sign_with_cautions):
    """A sign with cautions says all of them without a word of English."""
    with speak(language):
        told = [sentence(one, words=as_read, names=in_words) for one in sign_with_cautions]

    assert len(told) >= 2
    assert [text for text in told if english(text, language)] == []
    assert all(str(one) not in told for one in sign_with_cautions)


@pytest.fixture(scope="module")
def sign_with_cautions():
    """What is found on a sign whose letters are too high for their gaps."""
    from moldgen.api.design import design

    values = {"words": ["PIER 4"], "as": "word", "letter_height": "16", "relief": "14"}
    wish = DesignWish(beginning=Beginning.WORD, values=values | {"forming": "off"})
    return design(wish.mold_job(), load_shop(), quality="preview").findings


PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
BROUGHT = (
    (outline_from_svg, f"{PAGE}</svg>".encode()),
    (outline_from_svg, f'{PAGE}<text x="1" y="9">AHOY</text></svg>'.encode()),
    (outline_from_svg, f'{PAGE}<path d="M0 0H9V9" fill="none" stroke="black"/></svg>'.encode()),
    (outline_from_svg, f'{PAGE}<rect width="900000" height="9"/></svg>'.encode()),
    (outline_from_svg, b"<html></html>"),
    (outline_from_dxf, b"none"),
    (outline_from_picture, b"none"),
)
"""What a student may bring by mistake."""


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize(("read", "data"), BROUGHT)
def test_why_a_drawing_cannot_be_used_is_told(read, data, language):
    """Each reason without a word of English."""
    with pytest.raises(MoldgenError) as told:
        read(data)
    with speak(language):
        says = in_words(str(told.value))

    assert says != str(told.value)
    assert english(says, language) == []


def test_joins_are_in_every_catalog():
    """Clauses that are joined can be told one by one."""
    assert all(set(told_now(language)) >= JOINS for language in OTHERS)
