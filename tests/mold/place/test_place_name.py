"""Places of a mold in words."""

from dataclasses import dataclass

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon, Point
from shapely.affinity import rotate

from moldgen.finding import Finding, Severity
from moldgen.job.outline import JobText
from moldgen.mold.place.letter import PlacedLetter, place_in_letters
from moldgen.mold.place.name import PlaceNames, with_places
from moldgen.mold.place.position import ordinal
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.pipeline.mold.letters import placed_letters


@dataclass(frozen=True)
class Plain:
    """A feature with a plumb wall."""

    name: str
    region: MultiPolygon
    parent: str = ""

    @property
    def outer(self):
        """The same outline."""
        return self.region


def box(x0, y0, x1, y1):
    """Return a rectangle."""
    return MultiPolygon([shapely.box(x0, y0, x1, y1)])


def letter(name, *boxes, word=""):
    """Return a letter made of bars."""
    whole = shapely.union_all([shapely.box(*one) for one in boxes])
    return PlacedLetter(
        name=f"the {name}", word=word, region=MultiPolygon(shapely.get_parts(whole))
    )


E = letter("E", (0, 0, 2, 20), (2, 0, 12, 2), (2, 9, 12, 11), (2, 18, 12, 20), word="EH")
H = letter("H", (16, 0, 18, 20), (26, 0, 28, 20), (18, 9, 26, 11), word="EH")
B = letter("B", (40, 0, 42, 20), (50, 0, 52, 20), (42, 0, 50, 2), (42, 9, 50, 11), (42, 18, 50, 20))
DIAGONAL = shapely.LineString([(1, 19), (11, 1)]).buffer(1.0, cap_style="flat")
SLANT = shapely.union_all([shapely.box(0, 0, 2, 20), DIAGONAL, shapely.box(10, 0, 12, 20)])
N = PlacedLetter(name="the N", word="ON", region=MultiPolygon([SLANT]))
WORD = (E, H, B)


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        (1, 5, "the upright of the E in EH"),
        (8, 19, "the upper bar of the E in EH"),
        (8, 10, "the middle bar of the E in EH"),
        (8, 1, "the lower bar of the E in EH"),
        (8, 14, "the upper gap between the strokes of the E in EH"),
        (8, 5, "the lower gap between the strokes of the E in EH"),
        (14, 19, "the gap between the E and the H in EH"),
        (17, 5, "the left upright of the H in EH"),
        (27, 15, "the right upright of the H in EH"),
        (22, 10, "the crossbar of the H in EH"),
        (22, 15, "the gap between the strokes of the H in EH"),
        (34, 10, "the gap between the H in EH and the B"),
        (46, 14, "the upper counter of the B"),
        (46, 5, "the lower counter of the B"),
        (46, 60, ""),
    ],
)
def test_parts_of_letters_have_their_names(x, y, words):
    """Strokes by their direction and order, counters and gaps by what is around them."""
    assert place_in_letters(Point(x, y), WORD) == words


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [
        (6, 10, "the slanted stroke of the N in ON"),
        (1, 10, "the left upright of the N in ON"),
        (11, 10, "the right upright of the N in ON"),
        (5, 5, "the lower inner corner of the N in ON"),
        (7, 15, "the upper inner corner of the N in ON"),
        (2, 10, "the left upright of the N in ON"),
    ],
)
def test_a_slanted_stroke_and_the_corners_beside_it(x, y, words):
    """What leans more than 10° is slanted; between strokes that meet is an inner corner."""
    assert place_in_letters(Point(x, y), (N,)) == words


def test_a_ring_is_a_curve_with_a_counter():
    """A stroke whose borders turn all along is no bar, whatever its direction there."""
    ring = MultiPolygon(
        [Point(0, 0).buffer(10, quad_segs=64).difference(Point(0, 0).buffer(7, quad_segs=64))]
    )
    o = PlacedLetter(name="the O", word="", region=ring)

    assert place_in_letters(Point(0, 8.5), (o,)) == "the upper curve of the O"
    assert place_in_letters(Point(-8.5, 0), (o,)) == "the left curve of the O"
    assert place_in_letters(Point(0, 0), (o,)) == "the counter of the O"


def test_the_dot_of_an_i():
    """A small piece apart is a dot."""
    i = letter("i", (0, 0, 3, 14), (0, 17, 3, 20))

    assert place_in_letters(Point(1.5, 18), (i,)) == "the dot of the i"
    assert place_in_letters(Point(1.5, 8), (i,)) == "the upright of the i"


@given(st.floats(-180, 180))
def test_names_do_not_depend_on_how_a_text_is_turned(turn_deg):
    """A place of a letter keeps its name when both are turned."""
    turned = tuple(
        PlacedLetter(
            name=one.name, word=one.word, turn_deg=turn_deg,
            region=rotate(one.region, turn_deg, origin=(0, 0)),
        )
        for one in WORD
    )  # fmt: skip

    for x, y in ((1, 5), (8, 14), (22, 10), (46, 5)):
        there = rotate(Point(x, y), turn_deg, origin=(0, 0))
        assert place_in_letters(there, turned) == place_in_letters(Point(x, y), WORD)


@given(st.floats(-10, 60), st.floats(-12, 32))
def test_every_place_near_a_word_has_a_name(x, y):
    """Nothing fails, and what is named names a letter."""
    words = place_in_letters(Point(x, y), WORD)

    assert words == "" or any(one.name in words for one in WORD)


@pytest.mark.parametrize(
    ("text", "x_share", "y_share", "number", "words"),
    [
        ("PIER 4", 0.5, 0.55, 4, "the counter of the 4"),
        ("HARBOR", 0.5, 0.6, 1, "the counter of the A in HARBOR"),
        ("HARBOR", 0.1, 0.2, 2, "the upright of the first R in HARBOR"),
        ("SLIP", 0.5, 0.05, 3, "the gap between the P and"),
    ],
)
def test_letters_of_a_font(text, x_share, y_share, number, words):
    """The usual face gives the names that a person would."""
    lettering = outline_from_text(TextSpec(text=text, height_mm=30.0))
    letters = placed_letters(JobText(text=text), [one.region for one in lettering.letters])
    x0, y0, x1, y1 = letters[number].region.bounds
    at = Point(x0 + x_share * (x1 - x0), y0 + y_share * (y1 - y0))

    told = place_in_letters(at, letters)
    assert told == words or (number == 3 and "of the P in SLIP" in told)


TRAY = PlaceNames(
    raised=[Plain("block", box(0, 0, 100, 60))],
    sunk=[
        Plain("compartment 1", box(5, 5, 45, 55), parent="block"),
        Plain("compartment 2", box(55, 5, 95, 55), parent="block"),
    ],
)


@pytest.mark.parametrize(
    ("where_mm", "words"),
    [
        ((56, 30, 10), "the left wall of compartment 2"),
        ((94, 54, 10), "the upper right corner of compartment 2"),
        ((25, 30, 2), "the floor of compartment 1, middle"),
        ((50, 30, 20), "the rib between compartment 1 and compartment 2"),
        ((100, 30, 20), "the right of the block"),
        ((110, 30, 0), "the right edge of the block"),
        ((50, 2, 20), "the bottom of the block"),
        ((50, 30, 0), "the underside, below the rib between compartment 1 and compartment 2"),
    ],
)
def test_walls_of_compartments(where_mm, words):
    """Compartments by their walls, what stands by its sides, the table side as such."""
    assert TRAY.place(where_mm) == words


def test_bodies_apart_and_shapes():
    """Between two bodies is a gap; a shape is told by its ninths, its bays as hollows."""
    fish = Plain("drawing", MultiPolygon([shapely.box(0, 0, 30, 30) - shapely.box(10, 10, 20, 30)]))
    names = PlaceNames(raised=[fish, Plain("tag", box(34, 0, 60, 30))])

    assert names.place((32, 15, 5)) == "the gap between the drawing and the tag"
    assert names.place((2, 28, 5)) == "the upper left of the drawing"
    assert names.place((15, 25, 5)) == "the hollow at the top of the drawing"


def test_only_findings_with_a_place_get_a_name():
    """What is about the whole job has none."""
    here = Finding(code="x", severity=Severity.NOTE, says="it is so", where_mm=(50, 2, 20))
    named = with_places([here, Finding(code="y", severity=Severity.NOTE, says="so")], TRAY)

    assert [one.place for one in named] == ["the bottom of the block", ""]


@pytest.mark.parametrize(
    ("number", "word"), [(1, "first"), (10, "tenth"), (11, "11th"), (22, "22nd")]
)
def test_ordinals(number, word):
    """Words up to ten, figures beyond."""
    assert ordinal(number) == word
