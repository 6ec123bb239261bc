"""Words beside vents and rings of a plan."""

from itertools import combinations

import pytest
import shapely
from shapely import Point

from moldgen.export.plan.items import DrawnSlit, Hole
from moldgen.export.plan.labels import labeled
from moldgen.export.plan.layers import Layer

AROUND = (0.0, 0.0, 200.0, 60.0)
SLITS = [
    DrawnSlit(start_mm=(20 + 9 * k, 26), end_mm=(23 + 9 * k, 33), note=f"V{k + 1}")
    for k in range(18)
]
HOLES = [Hole(x_mm=24 + 9 * k, y_mm=20, diameter_mm=0.8, note=f"V{k + 19}") for k in range(12)]
RINGS = {str(k + 1): (30.0 + 25 * k, 24.0) for k in range(5)}


def boxes(notes):
    """Return the room of every note."""
    return [shapely.box(*note.bounds_mm) for note in notes]


def test_words_cover_neither_one_another_nor_what_they_are_about():
    """Thirty vents and five rings in a crowd: every number can be read."""
    circles, notes = labeled(HOLES, SLITS, RINGS, around=AROUND)
    rings = [shapely.Polygon(circle.rings[0]) for circle in circles]

    assert [note.text for note in notes[:5]] == list(RINGS)
    assert len(notes) == 35
    rooms = boxes(notes)
    assert not [(a, b) for a, b in combinations(rooms, 2) if a.intersects(b)]
    lines = [shapely.LineString([slit.start_mm, slit.end_mm]) for slit in SLITS]
    assert not [room for room in rooms for thing in (*lines, *rings) if room.intersects(thing)]


def test_rings_are_round_their_places():
    """Each ring has its place in the middle, on the layer of findings, as its number is."""
    circles, notes = labeled([], [], RINGS, around=AROUND)

    for circle, place in zip(circles, RINGS.values(), strict=True):
        assert circle.layer is Layer.FINDING
        middle = shapely.Polygon(circle.rings[0]).centroid
        assert (middle.x, middle.y) == pytest.approx(place)
    assert {note.layer for note in notes} == {Layer.FINDING}


def test_words_stand_near_and_in_the_same_place_each_time():
    """A label alone stands within two lines of its spot; the same drawing gives the same words."""
    (note,) = labeled([], SLITS[:1], {}, around=AROUND)[1]

    assert Point(note.x_mm, note.y_mm).distance(Point(SLITS[0].end_mm)) < 6
    assert (
        labeled(HOLES, SLITS, RINGS, around=AROUND)[1]
        == (labeled(HOLES, SLITS, RINGS, around=AROUND)[1])
    )
