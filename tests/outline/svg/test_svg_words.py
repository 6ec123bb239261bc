"""Styles, colors and numbers of a drawing: read as the standards say, at once."""

import time
from contextlib import suppress
from xml.etree.ElementTree import Element

import pytest

from moldgen.errors import OutlineError
from moldgen.outline.svg.path import path_traces
from moldgen.outline.svg.style import (
    INITIAL,
    Declaration,
    declarations,
    is_filled,
    is_white,
    style_of,
    style_sheet,
)
from moldgen.outline.svg.value import Ruler, Viewport, numbers, transform

PATIENCE_S = 1.5
"""Processor time. What is read in one pass takes a tenth of it, what is not several times it."""

RULER = Ruler(96.0)
PAGE = Viewport(100.0, 100.0)


def length(text):
    return RULER.length(text, what="width", along="x", viewport=PAGE)


def sheet(text):
    return style_sheet([text])


HOSTILE = {
    "a list with one slip": (lambda text: numbers(text, what="points"), "1.5 " * 40 + "x"),
    "a list of one long number": (lambda text: numbers(text, what="points"), "1" * 60_000 + "x"),
    "a list with a long gap": (lambda text: numbers(text, what="points"), f"1{' ' * 60_000}x"),
    "a length of many digits": (length, "1" * 60_000 + "!"),
    "a length with a long gap": (length, f"1{' ' * 60_000}!"),
    "a transform after a long gap": (
        lambda text: transform(text, what="transform"), f"scale(2){' ' * 60_000}!"
    ),
    "a transform of one long word": (lambda text: transform(text, what="transform"), "a" * 60_000),
    "a style with a long gap": (declarations, f"fill:red{' ' * 60_000}x"),
    "a style of open comments": (declarations, "/*" * 60_000),
    "a style sheet of open comments": (sheet, "/*" * 60_000),
    "a style sheet of open blocks": (sheet, "a{" * 30_000),
    "a path with a long gap": (
        lambda text: path_traces(text, chord=0.1, what="path"), f"M0 0{',' * 60_000}!"
    ),
}  # fmt: skip


@pytest.mark.parametrize(("read", "text"), HOSTILE.values(), ids=HOSTILE.keys())
def test_broken_words_cost_no_time(read, text):
    """Whatever stands in an attribute, it is read or refused in one pass over it."""
    began = time.process_time()
    with suppress(OutlineError):
        read(text)

    assert time.process_time() - began < PATIENCE_S


@pytest.mark.parametrize("number", ["5.", ".5", "-.5", "+5", "5e2", "5.e-2", "05", "5E+1"])
def test_every_spelling_of_a_number_is_read(number):
    """Numbers are what SVG 1.1, section 4.2, lets them be."""
    assert numbers(f" {number} , {number}-1", what="points") == [float(number), float(number), -1]
    assert length(f" {number} mm ") == pytest.approx(float(number) * 96 / 25.4)


@pytest.mark.parametrize(
    "text", ["1 2 x", "1,,2", "1e", "1e+ 2", "--1", "1 2;", "1. .", "+", "1mm"]
)
def test_what_is_no_list_of_numbers_is_refused(text):
    """A slip anywhere in a list refuses the list, rather than leaving numbers out."""
    with pytest.raises(OutlineError, match=r"points has .* where numbers belong"):
        numbers(text, what="points")


BROKEN = {
    "M0 0L10 x 5": "'x 5' (character 8 ",
    "M0 0L10 10 !! L5 5": "'!! L5 5' (character 11 ",
    "M0 0h5v5B6 7": "'B6 7' (character 9 ",
    "M0 0L5 5 #": "'#' (character 9 ",
    "M0 0L5 5;L6 6": "';L6 6' (character 9 ",
    "M0 0L--5 5": "'--5 5' (character 6 ",
    "M0 0L1e 5": "'e 5' (character 7 ",
    "M0 0A5 5 0 0 1 10": "at its end (character 18 ",
}


@pytest.mark.parametrize(("data", "place"), BROKEN.items())
def test_broken_path_data_are_told_with_their_place(data, place):
    """Data that a lenient reader would pass over are one sentence that says where."""
    with pytest.raises(OutlineError) as refusal:
        path_traces(data, chord=0.1, what="the path")

    assert str(refusal.value).startswith("the path cannot be read at ")
    assert place in str(refusal.value)


# styles ----------------------------------------------------------------------------------------


def style(attributes, text=""):
    return style_of(Element("path", attributes), INITIAL, style_sheet([text]))


def test_a_value_may_hold_what_parts_declarations():
    """Semicolons and braces in quotes or in an address end neither a declaration nor a block."""
    inside = "-x:'; }'; marker-end: url(data:a;b); fill: none"

    assert declarations(inside)[1:] == (
        Declaration("marker-end", "url(data:a;b)"),
        Declaration("fill", "none"),
    )
    assert style({}, f"path {{ {inside} }}")["fill"] == "none"


def test_a_slip_in_a_declaration_loses_only_that():
    """Declarations after one without a colon still count."""
    assert style({"style": "fill; /* ; */ stroke : RED ; opacity:.5"}) == {
        **style({}), "stroke": "RED", "opacity": ".5",
    }  # fmt: skip


def test_what_is_important_wins_over_what_comes_later():
    """Importance goes before place: within a block, and of a sheet before the element's own."""
    once = "fill: none !important; fill: red"

    assert style({"style": once})["fill"] == "none"
    assert style({"style": "fill: blue"}, f"path {{ {once} }}")["fill"] == "none"
    assert style({"style": "fill: blue"}, "path { fill: none }")["fill"] == "blue"


def test_blocks_that_are_not_followed_are_named():
    """Rules for print and selectors of relation are told; an import and comments are nothing."""
    text = "@import 'x'; @media print, tv { .a { fill: red } } g ~ path, .b /* */ { fill: none }"

    assert style_sheet([text]).skipped == ("@media print, tv", "g ~ path")
    assert style({"class": "b"}, text)["fill"] == "none"


def test_brackets_without_end_are_one_sentence():
    """A style that is nested beyond all sense is refused, and does not crash."""
    for text in ("fill:" + "(" * 5000, "fill:" + "[" * 5000):
        with pytest.raises(OutlineError, match="brackets within each other; export it again"):
            declarations(text)


@pytest.mark.parametrize(
    "paint",
    [
        "white", " White ", "#fff", "#FFFFFF", "#ffffffff", "rgb(255, 255, 255)",
        "rgb(100% 100% 100%)", "rgba(255,255,255,1)", "hsl(0, 0%, 100%)", "hwb(0 100% 0%)",
    ],
)  # fmt: skip
def test_white_is_white_in_every_spelling(paint):
    """Every way that CSS Color writes opaque white means paper."""
    assert is_white(paint)


@pytest.mark.parametrize(
    "paint",
    ["#fefefe", "ivory", "rgb(255 255 254)", "#ffffff80", "none", "url(#white)", "", "lab(90 0 0)",
     "rgb(none 255 255)", "currentColor"],
)  # fmt: skip
def test_what_is_not_quite_white_is_not(paint):
    """The partner: a shade off, a half covered or an unknown paint is no paper."""
    assert not is_white(paint)


@pytest.mark.parametrize(
    ("paint", "paints"),
    [
        ("none", False), (" NONE ", False), ("transparent", False), ("rgba(0, 0, 0, 0)", False),
        ("#12345600", False), ("rgb(9 9 9 / 0%)", False), ("#123456", True), ("url(#a)", True),
        ("currentColor", True), ("rgb(0 0 0 / 1%)", True),
    ],
)  # fmt: skip
def test_only_paint_that_shows_fills(paint, paints):
    """Nothing is filled by no paint, or by one that is wholly transparent."""
    assert is_filled(style({"fill": paint})) is paints
