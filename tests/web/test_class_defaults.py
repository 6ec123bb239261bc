"""What a class has: read and checked, offered to students, and no mold larger than it makes."""

import pytest

from moldgen.errors import SpecError
from moldgen.outline.library.shapes import list_shapes
from moldgen.web import work
from moldgen.web.defaults import checked_usual, class_command, largest_mm, offered, start_within
from moldgen.web.wish import STARTS, Beginning

ASPECTS = {shape.name: shape.aspect for shape in list_shapes()}


def silent(words):
    """Hear nothing."""


def picture(beginning, values, most_mm):
    """Return the sides of a mold seen from above, where the class makes none longer. [mm]."""
    words = {"wish": {"beginning": beginning, "values": values}, "largest_mm": most_mm}
    return work.picture(words, [], silent).words["size_mm"][:2]


def test_what_is_empty_is_left_out():
    """And all beginnings are as good as none named."""
    usual = {"plastic": "PETG", "gauge": "", "largest": "6 in", "lesson_min": "60"}

    kept = checked_usual({**usual, "offered": [one.value for one in Beginning]})

    assert kept == {"plastic": "PETG", "largest": "6 in", "lesson_min": "60"}
    assert largest_mm(kept) == pytest.approx(152.4)
    assert offered(kept) == tuple(Beginning)
    assert class_command(kept).lesson_min == 60


@pytest.mark.parametrize(("usual", "field"), [
    ({"largest": "tiny"}, "largest"),
    ({"largest": "79"}, "largest"),
    ({"largest": "701"}, "largest"),
    ({"largest": ["1", "2"]}, "largest"),
    ({"offered": ["kraken"]}, "offered"),
    ({"offered": []}, "offered"),
    ({"gauge": "99"}, "gauge"),
    ({"lesson_min": "1"}, "lesson_min"),
    ({"trim_places": "0"}, "trim_places"),
    ({"workstations": "painting 2"}, "workstations"),
    ({"stock_sheet": "wide"}, "stock_sheet"),
    ({"paper": "bark"}, "paper"),
    ({"no_log": "perhaps"}, "no_log"),
    ({"stock": "/etc/passwd"}, "stock"),
    ({"words": ["AHOY"]}, "words"),
])  # fmt: skip
def test_what_is_wrong_is_told_by_its_name(usual, field):
    """Whatever a form, or a file that is brought back, has for it."""
    with pytest.raises(SpecError) as told:
        checked_usual(usual)

    assert told.value.field == field


@pytest.mark.parametrize(("beginning", "values", "field"), [
    ("word", {"words": ["PIER 4"]}, "letter_height"),
    ("shape", {"shape": "fish", "width": "103"}, "width"),
    ("shape", {"shape": "lighthouse", "width": "80"}, "width"),
    ("tray", {"length": "120", "width": "60", "depth": "15"}, "length"),
    ("tray", {"length": "60", "width": "120", "depth": "15"}, "width"),
])  # fmt: skip
def test_a_mold_that_is_too_large_is_told_at_its_control(beginning, values, field):
    """The control that makes it smaller, by one sentence; without a largest size it is made."""
    with pytest.raises(SpecError, match="at most 100 mm long and wide") as told:
        picture(beginning, values, 100.0)

    assert told.value.field == field
    assert max(picture(beginning, values, None)) > 100


def test_a_strip_may_be_of_any_length():
    """What a class says is of molds."""
    assert max(picture("strip", {"make": "book-end", "width": "90"}, 80.0)) > 80


@pytest.mark.parametrize("most_mm", [80.0, 110.0])
@pytest.mark.parametrize(
    ("beginning", "asked"),
    [("word", {}), ("shape", {"shape": "fish"}), ("shape", {"shape": "paddle"}), ("tray", {})],
)
def test_what_is_begun_is_never_too_large(beginning, asked, most_mm):
    """Nobody begins with a refusal; nor much smaller than there is room for."""
    start = {**STARTS[Beginning(beginning)], **asked}
    aspect = ASPECTS.get(asked.get("shape", ""), 1.0)

    values = start_within(Beginning(beginning), start, most_mm, aspect=aspect)

    assert 0.75 * most_mm < max(picture(beginning, values, None)) <= most_mm


def test_without_a_largest_size_it_begins_as_always():
    """Nor is a start changed that is small enough."""
    tray = STARTS[Beginning.TRAY]

    assert start_within(Beginning.TRAY, tray, None) == tray
    assert start_within(Beginning.TRAY, tray, 700.0) == tray
    assert start_within(Beginning.WORD, {"words": ["A"]}, 700.0) == {"words": ["A"]}
