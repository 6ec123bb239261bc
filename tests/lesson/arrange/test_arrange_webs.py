"""Webs between neighbors, and webs that a mold has by itself."""

import pytest

import moldgen as mg
from moldgen.lesson.arrange.shots import ShotRules, task_of
from moldgen.lesson.arrange.webs import WebCheck
from moldgen.lesson.layout.piece import PieceLayout, Placing, Shot
from moldgen.mold.choices import FormingLook


@pytest.fixture(scope="module")
def blocks():
    """Two blocks of 14 mm with hardly a flange, walls and all."""
    jobs = [mg.tray(90, 60, 14, side="male", gauge=1, flange=1)] * 2
    return mg.arrange(jobs, forming="off").arrangement


def laid(work, gap_mm):
    """Return a shot of the two blocks so far apart, one on either side of the middle."""
    x0, _, x1, _ = work.molds[0].piece.outline.bounds
    rules = ShotRules(turns_deg=(0.0,))
    task = task_of([mold.piece for mold in work.molds], work.machine, rules, gauge_mm=1.0)
    placings = (
        Placing(piece=0, x_mm=225 - gap_mm / 2 - x1, y_mm=150.0, turn_deg=0.0),
        Placing(piece=1, x_mm=225 + gap_mm / 2 - x0, y_mm=150.0, turn_deg=0.0),
    )
    shot = Shot(placings=placings)
    return PieceLayout(task=task, shots=(shot,)), shot


@pytest.fixture(scope="module")
def check(blocks):
    """The check of webs on their table."""
    return WebCheck(blocks.machine, FormingLook.PREVIEW)


def test_the_run_finds_the_web_between_near_blocks(blocks, check):
    """Five millimeters apart the sheet folds between the two, near the middle of the opening."""
    layout, shot = laid(blocks, 5.0)

    ((pair, web),) = check.crowded(layout, shot, blocks.molds)

    assert pair == (blocks.molds[0].piece.name,) * 2
    assert sorted(web.near) == [0, 1]
    assert abs(web.where_mm[0] - 225) < 10
    assert web.height_mm > 1


def test_far_blocks_have_none(blocks, check):
    """Fifty millimeters apart they do not disturb each other."""
    assert check.crowded(*laid(blocks, 50.0), blocks.molds) == ()


def test_a_web_that_a_mold_has_alone_is_not_its_neighbors(blocks, check, monkeypatch):
    """Were there a fold at the same place over the mold alone, no distance would help."""
    layout, shot = laid(blocks, 5.0)
    webs = check.webs(layout, shot, blocks.molds)
    assert check.crowded(layout, shot, blocks.molds) != ()
    own = tuple(
        (web.where_mm[0] - place.x_mm, web.where_mm[1] - place.y_mm)
        for web in webs
        for place in shot.placings
    )
    monkeypatch.setattr(check, "_own_folds", lambda mold: own)

    assert check.crowded(layout, shot, blocks.molds) == ()
