"""Blanks cut from stock: everything is accounted for, and each cut goes from edge to edge."""

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.errors import SpecError
from moldgen.lesson.layout.guillotine import Blank, CutTask, Rect, StraightCut, cut_blanks

sides = st.floats(20, 300)


@st.composite
def wishes(draw):
    """Draw blanks, a stock sheet that takes each of them, and a kerf."""
    sizes = draw(st.lists(st.tuples(sides, sides), min_size=1, max_size=9))
    task = CutTask(
        width_mm=draw(st.floats(300, 900)), depth_mm=draw(st.floats(300, 700)),
        kerf_mm=draw(st.sampled_from([0.0, 3.0])), may_turn=draw(st.booleans()),
    )  # fmt: skip
    blanks = [Blank(name=f"{k}", width_mm=w, depth_mm=d) for k, (w, d) in enumerate(sizes)]
    return blanks, task


def region(rect):
    """Return a rectangle as a polygon."""
    return shapely.box(rect.x_mm, rect.y_mm, rect.x_mm + rect.width_mm, rect.y_mm + rect.depth_mm)


@settings(max_examples=30)
@given(wishes())
def test_areas_add_up(wish):
    """Blanks, offcuts and what the cuts take away are the stock sheet, and none lies on another."""
    blanks, task = wish
    sheets = cut_blanks(blanks, task)

    assert sorted(one.blank for sheet in sheets for one in sheet.blanks) == [*range(len(blanks))]
    for sheet in some(sheets):
        parts = [one.rect for one in sheet.blanks] + list(sheet.offcuts)
        regions = [region(part) for part in parts] + [region(cut.kerf) for cut in sheet.cuts]
        whole = shapely.box(0, 0, task.width_mm, task.depth_mm)
        assert sum(one.area for one in regions) == pytest.approx(whole.area, rel=1e-9)
        assert shapely.union_all(regions).area == pytest.approx(whole.area, rel=1e-9)
        assert whole.buffer(1e-6).covers(shapely.union_all(regions))


@settings(max_examples=30)
@given(wishes())
def test_every_blank_has_its_size(wish):
    """Each blank is cut as large as it was wanted, turned only where that is allowed."""
    blanks, task = wish
    for one in some(one for sheet in cut_blanks(blanks, task) for one in sheet.blanks):
        wanted = blanks[one.blank]
        size = (one.rect.width_mm, one.rect.depth_mm)
        asked = (wanted.width_mm, wanted.depth_mm)
        assert size == pytest.approx(asked[::-1] if one.turned else asked)
        assert task.may_turn or not one.turned


@settings(max_examples=30)
@given(wishes())
def test_the_list_of_cuts_can_be_followed(wish):
    """Each cut parts a piece that there is at that moment, and in the end all parts are there."""
    blanks, task = wish
    for sheet in some(cut_blanks(blanks, task)):
        pieces = {Rect(x_mm=0.0, y_mm=0.0, width_mm=task.width_mm, depth_mm=task.depth_mm)}
        for cut in sheet.cuts:
            assert cut.of in pieces
            pieces.remove(cut.of)
            pieces |= {part for part in parted(cut) if part.area_mm2 > 1e-6}
        assert pieces == {one.rect for one in sheet.blanks} | set(sheet.offcuts)


def parted(cut: StraightCut):
    """Return the two parts of a cut, as a person would measure them."""
    of, kerf = cut.of, cut.kerf
    if cut.upright:
        far = of.width_mm - cut.at_mm - kerf.width_mm
        return (
            Rect(x_mm=of.x_mm, y_mm=of.y_mm, width_mm=cut.at_mm, depth_mm=of.depth_mm),
            Rect(
                x_mm=of.x_mm + (cut.at_mm + kerf.width_mm), y_mm=of.y_mm, width_mm=far,
                depth_mm=of.depth_mm,
            ),
        )  # fmt: skip
    far = of.depth_mm - cut.at_mm - kerf.depth_mm
    return (
        Rect(x_mm=of.x_mm, y_mm=of.y_mm, width_mm=of.width_mm, depth_mm=cut.at_mm),
        Rect(
            x_mm=of.x_mm, y_mm=of.y_mm + (cut.at_mm + kerf.depth_mm), width_mm=of.width_mm,
            depth_mm=far,
        ),
    )  # fmt: skip


def blanks_of(count, width_mm, depth_mm):
    """Return equal blanks."""
    return [Blank(name="shot", width_mm=width_mm, depth_mm=depth_mm)] * count


@pytest.mark.parametrize(
    ("count", "size", "kerf", "may_turn", "sheets"),
    [
        (4, (610, 305), 0.0, True, 1),  # just four halves
        (4, (610, 305), 3.0, True, 2),  # the saw takes too much for four
        (3, (490, 340), 3.0, True, 1),  # three across, turned
        (3, (490, 340), 3.0, False, 2),  # only two along the grain
        (5, (490, 340), 0.0, True, 2),
    ],
)
def test_sheets_that_a_person_would_need(count, size, kerf, may_turn, sheets):
    """Blanks from stock of 1220 x 610 mm, worked out by hand."""
    task = CutTask(width_mm=1220, depth_mm=610, kerf_mm=kerf, may_turn=may_turn)

    assert len(cut_blanks(blanks_of(count, *size), task)) == sheets


def test_a_blank_larger_than_stock_is_refused():
    """One sentence names the blank, the stock, and that turning would help."""
    task = CutTask(width_mm=400, depth_mm=600, may_turn=False)

    with pytest.raises(SpecError, match=r"500 x 300 mm \(got 400 x 600 mm\)\. .*be turned"):
        cut_blanks(blanks_of(1, 500, 300), task)
    assert len(cut_blanks(blanks_of(1, 500, 300), CutTask(width_mm=400, depth_mm=600))) == 1
