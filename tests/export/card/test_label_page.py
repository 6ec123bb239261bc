"""Labels as pages: each in its cell of the grid, clear of its edge, one after the other."""

import pytest
from shapely import box
from support.pdf_text import overlapping, pdf_pages
from support.some import some

from moldgen.errors import SpecError
from moldgen.export.card.label_page import NameLabel, labels_pdf_bytes
from moldgen.export.plan.paper import PAPERS
from moldgen.job.label_words import USUAL_LABELS, label_grid_from
from moldgen.job.spec import Paper

LABELS = [
    NameLabel(
        name=("Ada", "Boris Featherstonehaugh of the far end of the pier")[k % 2],
        lines=(f"Mold: KEEL {k}", "HIPS 1.5 mm, red", "Group 2" if k % 3 else ""),
    )
    for k in range(40)
]


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("words", ["", "2 x 4 of 90 x 60", "4 x 15 of 45 x 17"])
def test_every_label_lies_in_its_own_cell(paper, words):
    """What is written is 2 mm or more inside of the cell, and nothing lies on anything else."""
    grid, size = label_grid_from("labels", words, paper), PAPERS[paper.value]
    pages = pdf_pages(labels_pdf_bytes(LABELS, grid=grid, paper=size, title="Labels"))

    assert len(pages) == -(-len(LABELS) // grid.count)
    for first, lines in enumerate(pages):
        assert overlapping(lines) == []
        for line in some(lines):
            cells = [(number, cell_of(grid, number, size)) for number in range(grid.count)]
            (home,) = [number for number, cell in cells if cell.covers(line.box_mm)]
            label = LABELS[first * grid.count + home]
            assert line.text in (label.name, *label.lines)


def cell_of(grid, number, paper):
    """Return a cell without the edge that stays free."""
    left, top = grid.corner_mm(number, paper)
    return box(left, top - grid.height_mm, left + grid.width_mm, top).buffer(-2.0)


def test_the_usual_grid_of_a4_is_three_by_eight_of_seventy_by_thirty_seven():
    """It covers the width of the paper, and 296 of its 297 mm."""
    grid = label_grid_from("labels", "", Paper.A4)

    assert (grid.columns, grid.rows, grid.width_mm, grid.height_mm) == (3, 8, 70, 37)
    assert grid.corner_mm(0, PAPERS["A4"]) == pytest.approx((0.0, 296.5))
    assert grid.corner_mm(4, PAPERS["A4"]) == pytest.approx((70.0, 259.5))
    assert set(USUAL_LABELS) == set(Paper)


def test_a_grid_can_have_gaps_and_inches():
    """Two columns of four inches with a fifth of an inch between are 8.2 in wide."""
    grid = label_grid_from("labels", "2 x 5 of 4 x 2 in, 0.2 x 0 in apart", Paper.LETTER)

    assert (grid.columns, grid.rows, grid.count) == (2, 5, 10)
    assert (grid.width_mm, grid.height_mm) == pytest.approx((101.6, 50.8))
    assert (grid.gap_x_mm, grid.gap_y_mm) == pytest.approx((5.08, 0.0))
    assert grid.grid_mm == pytest.approx((8.2 * 25.4, 254.0))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("3 x 9 of 70 x 37", "labels must be a grid of at most 210 x 297 mm (got 210 x 333 mm)"),
        ("3 by 8", "labels must be how many labels, and of which size (got '3 by 8')"),
        ("3 x 8 of 70", "labels must be how many labels, and of which size"),
        ("3 x 8 of 70 x 37, 3 apart", "labels must be how many labels, and of which size"),
        ("3 x 8 of 10 x 37", "labels, width_mm must be at least 25 mm"),
        ("0 x 8 of 70 x 37", "labels, columns must be at least 1"),
    ],
)
def test_a_wrong_grid_is_refused_in_one_sentence(words, says):
    """Each says what is wrong, and what it got."""
    with pytest.raises(SpecError) as caught:
        label_grid_from("labels", words, Paper.A4)

    assert str(caught.value).startswith(says)


def test_the_same_labels_give_the_same_bytes():
    """Nothing of the day they were made on is in them."""
    grid = label_grid_from("labels", "", Paper.A4)
    one, other = (
        labels_pdf_bytes(LABELS, grid=grid, paper=PAPERS["A4"], title="Labels") for _ in range(2)
    )

    assert one == other
