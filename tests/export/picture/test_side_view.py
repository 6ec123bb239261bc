"""The side view of a bent strip, and words that keep clear of it and of each other."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.diagrams import opened, plotted, sizes_pt, words_of

from moldgen.export.picture.free_place import Label, free_place, is_free
from moldgen.export.picture.side_view import (
    Balance,
    SideView,
    placed_labels,
    plot_side,
    side_view_png,
)

STRIP = shapely.Polygon([(0, 0), (120, 0), (120, 60), (117, 60), (117, 3), (0, 3)])
LABELS = (
    Label(spot_mm=(120, 0), out=(0.8, -0.6), words="bend 1: 90°, R 6 mm", is_bend=True),
    Label(spot_mm=(60, 3), out=(0.0, 1.0), words="leg 1: 120 mm"),
    Label(spot_mm=(117, 30), out=(-1.0, 0.0), words="leg 2: 60 mm"),
)
VIEW = SideView(
    title="hook", strip=STRIP, start_mm=(6.0, 3.0), things=(), labels=LABELS,
    balance=Balance(middle_mm=(80.0, 12.0), contact_mm=(0.0, 119.0), words="tips at 80°"),
)  # fmt: skip
BOOK = shapely.box(40, 3, 60, 40)
ROOM = (-100.0, -100.0, 100.0, 100.0)


def test_strip_and_things_are_drawn_where_they_are():
    """Outlines are those that were given, with the name of what leans on the strip above it."""
    ax = plotted(plot_side, replace(VIEW, things=(("book", BOOK),)))

    book, strip = (patch.get_xy() for patch in ax.patches)
    assert shapely.Polygon(book).equals(BOOK)
    assert shapely.Polygon(strip).equals(STRIP)
    (name,) = [text for text in ax.texts if text.get_text() == "book"]
    assert name.get_position()[1] > 40
    assert min(sizes_pt(ax)) >= 9


def test_the_strip_is_measured():
    """Width and height of the strip alone, with their unit, beside lines as long as they."""
    ax = plotted(plot_side, replace(VIEW, things=(("book", shapely.box(40, 3, 60, 90)),)))

    level, upright = [text for text in ax.texts if not text.get_text()]
    assert level.xyann[0] - level.xy[0] == 120
    assert upright.xyann[1] - upright.xy[1] == 60
    assert {"120.0 mm", "60.0 mm"} <= set(words_of(ax))


def test_one_scale_for_both_ways_and_everything_in_the_window():
    """The window has the shape of the picture, and holds strip and things."""
    x0, y0, x1, y1 = VIEW.window_mm
    shown = opened(side_view_png(VIEW))

    assert (x1 - x0) * VIEW.px_per_mm == pytest.approx(1400)
    assert shown.shape[0] == pytest.approx(84 + (y1 - y0) * VIEW.px_per_mm, abs=1)
    assert shapely.box(x0, y0, x1, y1).contains(VIEW.drawn)


def test_the_balance_is_drawn():
    """Center of mass and edges lie where they are; a strip that does not stand has none."""
    ax = plotted(plot_side, VIEW)
    free = plotted(plot_side, replace(VIEW, balance=None))

    tips = [line.get_xydata().tolist() for line in ax.lines]
    assert [[80.0, 12.0], [0.0, 0.0]] in tips
    assert [[80.0, 12.0], [119.0, 0.0]] in tips
    assert [[80.0, 12.0]] in tips
    assert [[80.0, 12.0]] not in [line.get_xydata().tolist() for line in free.lines]


def test_labels_are_written_clear_of_everything():
    """No label covers strip, thing, red line or another label, and each is written in its box."""
    view = replace(VIEW, things=(("book", BOOK),))
    placed = list(placed_labels(view))
    drawn = view.drawn.union(view.balance.lines)

    boxes = [shapely.box(*box) for _, box in placed]
    assert len(boxes) == 3
    assert not any(box.intersects(drawn) for box in boxes)
    assert not any(one.intersects(other) for one, other in combinations(boxes, 2))
    ax = plotted(plot_side, view)
    for label, box in placed:
        (text,) = [one for one in ax.texts if one.get_text() == label.words]
        middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
        assert text.get_position() == pytest.approx(middle)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-60, 60), st.floats(-60, 60)), min_size=1, max_size=5),
    st.floats(0, 2 * np.pi),
)
def test_a_free_place_covers_nothing(spots, turn):
    """Whatever is drawn, a label beside it covers nothing, or stands on its own spot."""
    ink = shapely.union_all([shapely.box(x, y, x + 30, y + 4) for x, y in spots])
    label = Label(spot_mm=spots[0], out=(np.cos(turn), np.sin(turn)), words="leg 1: 60 mm")
    taken = [(-10.0, -10.0, 10.0, 10.0)]

    box = free_place(label, ink, taken, room=ROOM, line_mm=4.0)

    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    assert is_free(box, ink, taken, room=ROOM) or middle == pytest.approx(spots[0])


def test_the_way_to_a_label_does_not_cross_another():
    """Where something is written straight out, a label goes past it on a way of its own."""
    ink = shapely.box(-30, -1, 30, 1)
    label = Label(spot_mm=(0.0, 1.0), out=(0.0, 1.0), words="leg 1")
    other = (-1.0, 4.0, 1.0, 5.0)

    box = free_place(label, ink, [other], room=(-100, -1, 100, 100), line_mm=4.0)

    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    assert is_free(box, ink, [other], room=ROOM)
    assert not shapely.LineString([label.spot_mm, middle]).intersects(shapely.box(*other))


def test_words_keep_to_their_room():
    """With no room above, a label goes below."""
    ink = shapely.box(-30, -1, 30, 1)
    label = Label(spot_mm=(0.0, 1.0), out=(0.0, 1.0), words="leg 1")

    box = free_place(label, ink, [], room=(-100, -100, 100, 3), line_mm=4.0)

    assert box[3] < -1
