"""Layouts keep what they must, by the outlines themselves, and are as full as they can be."""

from dataclasses import replace
from math import cos, pi, sin

import pytest
from conftest import published
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from support.some import some

from moldgen.lesson.layout import search
from moldgen.lesson.layout.piece import (
    QUARTER_TURNS_DEG,
    LayoutArea,
    LayoutPiece,
    LayoutTask,
    PieceLayout,
    Placing,
    Shot,
    even_gaps,
)
from moldgen.lesson.layout.search import lay_out, lay_out_tighter, least_shots
from moldgen.lesson.layout.verify import faults_of, least_gap_of

sizes = st.floats(4, 40)


@st.composite
def outlines(draw):
    """Draw a rectangle, a star or an angle somewhere in its own coordinates."""
    width, depth = draw(sizes), draw(sizes)
    x, y = draw(st.floats(-50, 50)), draw(st.floats(-50, 50))
    kind = draw(st.integers(0, 2))
    if kind == 0:
        return box(x, y, x + width, y + depth)
    if kind == 1:
        points = draw(st.integers(3, 8))
        radii = [(width, 0.4 * width)[k % 2] / 2 for k in range(2 * points)]
        return Polygon(
            [
                (x + r * cos(pi * k / points), y + r * sin(pi * k / points))
                for k, r in enumerate(radii)
            ]
        )
    thick = 0.3 * min(width, depth)
    return Polygon(
        [
            (x, y), (x + width, y), (x + width, y + thick), (x + thick, y + thick),
            (x + thick, y + depth), (x, y + depth),
        ]
    )  # fmt: skip


@st.composite
def tasks(draw):
    """Draw pieces with distances by pairs, edges of their own, and sometimes a kept-out corner."""
    shapes = draw(st.lists(outlines(), min_size=1, max_size=5))
    alone = draw(st.lists(st.booleans(), min_size=len(shapes), max_size=len(shapes)))
    gaps = draw(st.lists(st.floats(0, 12), min_size=len(shapes), max_size=len(shapes)))
    kept = draw(st.booleans())
    return LayoutTask(
        area=LayoutArea(
            name="opening", width_mm=draw(st.floats(30, 80)), depth_mm=draw(st.floats(30, 60)),
            keep_outs=(box(0, 0, 12, 9),) if kept else (),
        ),
        pieces=tuple(
            LayoutPiece(name=f"piece {k}", outline=shape, alone=alone[k] and k % 3 == 0)
            for k, shape in enumerate(shapes)
        ),
        gaps_mm=tuple(tuple(max(one, other) for other in gaps) for one in gaps),
        edges_mm=tuple(gap / 2 for gap in gaps),
        turns_deg=draw(st.sampled_from([(0.0,), QUARTER_TURNS_DEG, (0.0, 30.0, 90.0)])),
    )  # fmt: skip


@settings(max_examples=200)
@given(tasks())
def test_layouts_are_sound(task):
    """All lie once or are left out, as far apart and inside as asked, on two hundred sets."""
    layout = lay_out(task)

    assert faults_of(layout) == ()
    assert len(layout.shots) >= least_shots(
        replace_pieces(task, [k for shot in layout.shots for k in shot.pieces])
    )


def replace_pieces(task, numbers):
    """Return the same task with some of its pieces alone."""
    return replace(
        task,
        pieces=tuple(task.pieces[k] for k in numbers),
        gaps_mm=tuple(tuple(task.gaps_mm[i][j] for j in numbers) for i in numbers),
        edges_mm=tuple(task.edges_mm[k] for k in numbers),
    )


@settings(max_examples=8)
@given(tasks())
def test_tighter_layouts_are_sound_and_no_worse(task):
    """The search keeps the same, and takes no more areas than the first answer."""
    tighter = lay_out_tighter(task, tries=20)

    assert faults_of(tighter) == ()
    assert len(tighter.left_out) <= len(lay_out(task).left_out) or tighter.left_out == ()
    assert len(tighter.shots) <= len(lay_out(task).shots)


@settings(max_examples=20)
@given(tasks())
def test_a_piece_that_is_left_out_fits_nowhere(task):
    """What is left out does not even fit into an empty area at the turns that are tried."""
    left_out = [one.piece for one in lay_out(task).left_out]
    alone = [lay_out(replace_pieces(task, [piece])) for piece in left_out]

    assert [len(one.left_out) for one in alone] == [1] * len(left_out)


def squares(count, *, side=20.0, gap=0.0, edge=0.0, area=(100.0, 100.0)):
    """Return a task of equal squares."""
    return LayoutTask(
        area=LayoutArea(name="opening", width_mm=area[0], depth_mm=area[1]),
        pieces=tuple(LayoutPiece(name=f"{k}", outline=box(0, 0, side, side)) for k in range(count)),
        gaps_mm=even_gaps(count, gap),
        edges_mm=(edge,) * count,
    )


def test_squares_fill_an_area_that_they_fit_exactly():
    """Twenty-five squares of 20 mm fill 100 x 100 mm; the next needs another area."""
    assert [len(shot.placings) for shot in lay_out(squares(25)).shots] == [25]
    assert [len(shot.placings) for shot in lay_out(squares(26)).shots] == [25, 1]


def test_gap_and_edge_are_kept_and_no_more():
    """Three squares of 20 mm, 10 mm apart and 10 mm from the edge, need just 100 mm."""
    layout = lay_out(squares(9, gap=10.0, edge=10.0))

    assert [len(shot.placings) for shot in layout.shots] == [9]
    assert least_gap_of(layout, layout.shots[0]) == pytest.approx(10.0)
    assert [len(s.placings) for s in lay_out(squares(9, gap=10.2, edge=10.0)).shots] != [9]


def test_a_lone_piece_stands_in_the_middle():
    """A shot is moved as a whole to the middle of the opening, where the heat is even."""
    layout = lay_out(squares(1))

    assert layout.regions(layout.shots[0])[0].bounds == pytest.approx((40, 40, 60, 60))


def test_deep_pieces_get_a_sheet_each():
    """A piece that must be alone shares with none, though there is room."""
    task = squares(3)
    task = replace(task, pieces=(replace(task.pieces[0], alone=True), *task.pieces[1:]))

    assert sorted(shot.pieces for shot in lay_out(task).shots) == [(0,), (1, 2)]


def test_what_fits_only_askew_is_laid_so():
    """A bar longer than the bed goes across the corners if that turn is among those allowed."""
    bar = LayoutPiece(name="bar", outline=box(0, 0, 120, 6))
    task = LayoutTask(
        area=LayoutArea(name="bed", width_mm=100, depth_mm=100), pieces=(bar,),
        gaps_mm=((0.0,),), edges_mm=(0.0,), turns_deg=(0.0, 90.0, 45.0),
    )  # fmt: skip

    assert lay_out(task).shots[0].placings[0].turn_deg == 45.0
    assert lay_out(replace(task, turns_deg=(0.0, 90.0))).shots == ()


def test_the_same_seed_gives_the_same_layout():
    """Place by place, to the last digit; nothing depends on how fast the machine is."""
    one, again, other = (lay_out_tighter(tight_box(), seed=seed).shots for seed in (3, 3, 4))

    assert one == again
    assert one != other


def test_the_search_saves_a_sheet():
    """Rectangles that need two boxes as they come go into one once they are shuffled."""
    first, tighter = lay_out(tight_box()), lay_out_tighter(tight_box())

    assert faults_of(tighter) == ()
    assert len(first.shots) == 2
    assert len(tighter.shots) == 1


def test_no_search_begins_where_nothing_can_be_saved():
    """Where the areas alone ask for as many sheets, the answer is the first, at once."""
    told = []

    layout = lay_out_tighter(squares(26), tell=told.append)

    assert least_shots(squares(26)) == 2
    assert layout.shots == lay_out(squares(26)).shots
    assert told == []


def tight_box():
    """Return rectangles that fill a square of 20, and a box 21 wide and 20 deep."""
    task = strip(sides_of("C1P1"))
    return replace(task, area=LayoutArea(name="box", width_mm=21, depth_mm=20))


@pytest.mark.parametrize("instance", ["C1P1", "C1P2", "C1P3"])
def test_strips_come_near_the_known_optimum(instance, monkeypatch):
    """Rectangles cut from a square of 20 fill a strip of that width to 21 of 20, or 95 %."""
    monkeypatch.setattr(search, "least_shots", lambda task: 0)
    layout = lay_out_tighter(strip(sides_of(instance)))

    length = length_mm(layout)
    assert 20.0 - 1e-9 <= length <= 21.0 + 1e-9
    assert 400.0 / (20.0 * length) >= 0.952


@pytest.mark.parametrize("instance", ["C1P1", "C1P2", "C1P3"])
def test_the_published_rectangles_fill_their_square(instance):
    """In the order listed, each at the lowest free place, they leave nothing of it open."""
    sky = [0] * 20
    for width, height in some(sides_of(instance)):
        low = min(sky)
        left = sky.index(low)
        assert sky[left : left + width] == [low] * width
        sky[left : left + width] = [low + height] * width

    assert sky == [20] * 20


def sides_of(instance):
    """Return width and height of each rectangle of an instance."""
    rows = [row for row in published("strip_rectangles") if row["instance"] == instance]
    return [(int(row["width"]), int(row["height"])) for row in rows]


def strip(sides):
    """Return a strip 20 wide and long enough, with rectangles that may be turned."""
    return LayoutTask(
        area=LayoutArea(name="strip", width_mm=60, depth_mm=20),
        pieces=tuple(LayoutPiece(name=f"{k}", outline=box(0, 0, *s)) for k, s in enumerate(sides)),
        gaps_mm=even_gaps(len(sides), 0.0),
        edges_mm=(0.0,) * len(sides),
        turns_deg=(0.0, 90.0),
    )


def length_mm(layout):
    """Return how much of a strip is used."""
    assert len(layout.shots) == 1
    bounds = [region.bounds for region in layout.regions(layout.shots[0])]
    return max(one[2] for one in bounds) - min(one[0] for one in bounds)


def moved(layout, number, x_mm):
    """Return a layout of one shot with one of its pieces moved to the right."""
    placings = list(layout.shots[0].placings)
    placings[number] = replace(placings[number], x_mm=placings[number].x_mm + x_mm)
    return PieceLayout(task=layout.task, shots=(Shot(placings=tuple(placings)),))


def with_task(layout, **changes):
    """Return the same places with another task."""
    return replace(layout, task=replace(layout.task, **changes))


def all_kept_out(layout):
    """Return the same places with everything kept out."""
    area = replace(layout.task.area, keep_outs=(box(0, 0, 99, 99),))
    return with_task(layout, area=area)


def all_alone(layout):
    """Return the same places for pieces that must be alone."""
    pieces = tuple(replace(piece, alone=True) for piece in layout.task.pieces)
    return with_task(layout, pieces=pieces)


FAULTS = {
    "apart": lambda one: moved(one, 0, 1.0),
    "edge": lambda one: moved(one, 1, 900.0),
    "lies 0 times": lambda one: replace(one, shots=()),
    "lies 2 times": lambda one: replace(one, shots=one.shots * 2),
    "kept out": all_kept_out,
    "not alone": all_alone,
}
"""What the check must say, and what makes a sound layout so."""


@pytest.mark.parametrize("says", FAULTS)
def test_the_check_finds_each_fault(says):
    """Too near, outside, missing, twice, on what is kept out, not alone: each is told."""
    task = squares(2, gap=10.0, edge=5.0, area=(60.0, 40.0))
    sound = PieceLayout(
        task=task,
        shots=(
            Shot(
                placings=(
                    Placing(piece=0, x_mm=5, y_mm=5, turn_deg=0),
                    Placing(piece=1, x_mm=35, y_mm=5, turn_deg=0),
                )
            ),
        ),
    )

    assert faults_of(sound) == ()
    assert any(says in fault for fault in faults_of(FAULTS[says](sound)))
