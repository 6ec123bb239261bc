"""Names of files and folders: safe, readable, and one for each title."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.pipeline.file_name import file_name, names_apart

SAFE = re.compile(r"[a-z0-9](-?[a-z0-9])*")
DEVICE = re.compile(r"con|prn|aux|nul|com\d|lpt\d")
titles = st.text(max_size=120)


@given(titles)
def test_any_title_gives_a_name_that_every_system_stores(title):
    """Plain letters, no blank or dot at an end, no device, not too long, and again the same."""
    name = file_name(title)

    assert SAFE.fullmatch(name)
    assert not DEVICE.fullmatch(name)
    assert len(name) <= 60
    assert file_name(title) == name


@given(st.text(st.characters(categories=["Lu", "Ll", "Lo", "Nd"]), min_size=1, max_size=80))
def test_a_title_in_letters_shares_its_name_with_capitals_only(title):
    """One letter more is another name, unless it is the same title in plain letters."""
    assert file_name(title) == file_name(f"  {title}! ")
    assert file_name(title) != file_name(f"{title}x")
    assert file_name(title) != file_name(f"{title}é")


@given(st.text("abcdefgh XYZ0123456789-_.,!", min_size=1, max_size=60))
def test_a_plain_title_is_its_own_name(title):
    """Nothing is added to a title in plain letters and figures."""
    words = re.findall(r"[a-z0-9]+", title.lower())
    if words:
        assert file_name(title) == "-".join(words)
    else:
        assert re.fullmatch(r"mold-[0-9a-f]{6}", file_name(title))


@pytest.mark.parametrize(
    ("title", "beginning"),
    [
        ("Søren", "soren-"), ("Łukasz", "lukasz-"), ("Straße", "strasse-"), ("ЖЩ", "zhshch-"),
        ("Ελλάδα", "ellada-"), ("李明", "liming-"), ("ひらがな", "hiragana-"), ("⚓", "anchor-"),
    ],
)  # fmt: skip
def test_other_scripts_stay_readable(title, beginning):
    """A person finds the files again."""
    assert re.fullmatch(f"{beginning}[0-9a-f]{{6}}", file_name(title))


@pytest.mark.parametrize("device", ["con", "PRN", "aux", "nul", "Com1", "lpt9", "con.", " con "])
def test_devices_of_windows_are_no_names(device):
    """What Windows keeps for itself gets a word more."""
    assert file_name(device) == f"{device.strip(' .').lower()}-mold"


@pytest.mark.parametrize(
    ("title", "name"),
    [("90° corner", "90-corner"), ("Pier 4 – east", "pier-4-east"), ("A/B\\C:D", "a-b-c-d")],
)
def test_signs_between_words_are_hyphens(title, name):
    """Dashes, degrees and slashes need no mark: the words tell the titles apart."""
    assert file_name(title) == name


def test_long_titles_that_differ_at_their_end_stay_apart():
    """Cutting a title does not make two of them one."""
    assert file_name("x" * 60) == "x" * 60
    assert file_name("x" * 61) != file_name("x" * 62)


@given(st.lists(st.text(max_size=12), max_size=12))
def test_pieces_of_one_set_have_a_name_each(pieces):
    """However alike pieces are called, no two share a file."""
    names = names_apart(pieces)

    assert len(set(names)) == len(names) == len(pieces)
    assert all(SAFE.fullmatch(name) for name in names)


def test_a_piece_that_is_called_like_a_second_one_gets_its_own_name():
    """The number of a repeated name does not fall on a name that is there."""
    assert names_apart(["a", "a-2", "A", "á"]) == ("a", "a-2", "a-3", "a-4")
