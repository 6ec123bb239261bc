"""Layouts that stay as they were when little changes."""

import random

import pytest
from shapely import box
from support.some import some

from moldgen.lesson.layout.keep import EarlierShots, Stay, places_of, stayed
from moldgen.lesson.layout.piece import LayoutArea, LayoutPiece, LayoutTask, even_gaps
from moldgen.lesson.layout.search import lay_out
from moldgen.lesson.layout.verify import faults_of

TAG = (86.37, 42.11)


def task_of(sizes, alone=()):
    """Return the task of laying out rectangles of these sizes."""
    pieces = tuple(
        LayoutPiece(name=str(k), outline=box(0, 0, *size), alone=k in alone)
        for k, size in enumerate(sizes)
    )
    return LayoutTask(
        area=LayoutArea(name="opening", width_mm=420, depth_mm=270),
        pieces=pieces, gaps_mm=even_gaps(len(pieces), 18.0), edges_mm=(15.0,) * len(pieces),
    )  # fmt: skip


def laid(sizes, marks, before=(), alone=()):
    """Return the layout of rectangles, and what became of an earlier one."""
    return stayed(lay_out(task_of(sizes, alone)), marks, before)


def spots(layout, marks):
    """Return where each mark lies."""
    return {
        marks[one.piece]: (number, one.x_mm, one.y_mm, one.turn_deg)
        for number, shot in enumerate(layout.shots)
        for one in shot.placings
    }


def test_what_does_not_change_stays():
    """The same things lie where they lay, in whatever order they are named."""
    marks = [f"tag {k}" for k in range(7)]
    first, stay = laid([TAG] * 7, marks)
    again, same = laid([TAG] * 7, marks, places_of(first, marks))
    turned = marks[::-1]
    mixed, kept = laid([TAG] * 7, turned, places_of(first, marks))

    assert (stay, same, kept) == (Stay.FIRST, Stay.SAME, Stay.KEPT)
    assert again.shots == first.shots
    assert spots(mixed, turned) == spots(first, marks)


def test_what_is_new_takes_the_place_that_is_free_and_back_again():
    """Others stay; of one size the new one lies exactly there; what is smaller, in the middle."""
    marks = ["A", "B", "C", "D"]
    first, _ = laid([TAG] * 4, marks)
    new = ["A", "X", "C", "D"]
    changed, _ = laid([TAG] * 4, new, places_of(first, marks))
    back, _ = laid([TAG] * 4, marks, places_of(changed, new))
    small, _ = laid([TAG, (50.0, 30.0), TAG, TAG], new, places_of(first, marks))
    foot = next(one for shot in small.shots for one in shot.placings if one.piece == 1)
    region = foot.region(small.task.pieces[1])
    former = next(one for shot in first.shots for one in shot.placings if one.piece == 1)

    assert spots(changed, new)["X"] == spots(first, marks)["B"]
    assert back.shots == first.shots
    assert region.centroid.distance(former.region(first.task.pieces[1]).centroid) < 1e-6


def test_what_has_no_free_place_lies_beside_the_others_or_all_is_laid_out_anew():
    """A piece more goes where there is room; one too large for the room moves all of them."""
    marks = ["A", "B", "C", "D", "E"]
    first, _ = laid([TAG] * 4, marks[:4])
    more, stay = laid([TAG] * 5, marks, places_of(first, marks[:4]))
    wide, anew = laid([TAG] * 4 + [(380.0, 80.0)], marks, places_of(first, marks[:4]))

    assert stay in (Stay.KEPT, Stay.SAME)
    assert {name: spots(more, marks)[name] for name in "ABCD"} == spots(first, marks[:4])
    assert anew is Stay.ANEW
    assert wide.shots == lay_out(wide.task).shots


def test_sheets_that_are_not_needed_are_given_up():
    """Where half of a class leaves, one sheet is enough, and two are not kept."""
    marks = [f"tag {k}" for k in range(16)]
    first, _ = laid([TAG] * 16, marks)
    left = [marks[one.piece] for shot in first.shots for one in shot.placings[::3]]
    few, stay = laid([TAG] * len(left), left, places_of(first, marks))

    assert len(first.shots) == 2
    assert len(few.shots) == 1
    assert stay is Stay.ANEW


@pytest.mark.parametrize("seed", range(4))
def test_kept_layouts_are_sound(seed):
    """Whatever goes and comes, nothing overlaps, and what stays has not moved."""
    chance = random.Random(seed)
    known = {f"{seed}-{k}": (chance.uniform(20, 150), chance.uniform(20, 90)) for k in range(20)}
    marks = sorted(known)[: chance.randint(3, 7)]
    before: EarlierShots = ()
    where: dict[str, tuple[float, ...]] = {}
    for _ in range(3):
        alone = {k for k in range(len(marks)) if known[marks[k]][0] > 140}
        layout, stay = laid([known[one] for one in marks], marks, before, alone)
        now = spots(layout, marks)
        assert faults_of(layout) == ()
        assert len(some(now)) == len(marks)
        if stay in (Stay.KEPT, Stay.SAME):
            # Sheets may have moved up, where one was given up.
            moved = [one for one in now if one in where and now[one][1:] != where[one][1:]]
            assert moved == []
        before, where = places_of(layout, marks), now
        marks = [one for one in marks if chance.random() < 0.8]
        marks += [one for one in sorted(known) if one not in marks and chance.random() < 0.2]
