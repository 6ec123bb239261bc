"""The wall chart as a page: one side, figures that are read from two meters, reasons for blanks."""

from math import atan, degrees

import pytest
from shapely import box
from support.pdf_text import overlapping, pdf_pages
from support.some import some

from moldgen.export.card.wall_chart import (
    FIGURE_HEIGHT,
    LEAST_FIGURE_MM,
    ChartCell,
    ChartRow,
    WallChart,
    wall_chart_pdf_bytes,
)
from moldgen.export.plan.paper import PAPERS

WATCH = "Ready when it ripples, draws level again, then sags evenly, and a dent springs back."
CELLS = (
    ChartCell(heat="25–40", cool="9–13"),
    ChartCell(heat="100–160", cool="180–240"),
    ChartCell(heat="170–330", cool="120–160", power="70 % power"),
    ChartCell(reason="this table does not get it hot enough"),
    ChartCell(reason="not among your sheets"),
)


def chart(n_rows, n_gauges):
    """Return a chart of so many plastics and thicknesses."""
    return WallChart(
        title="Heating times on classroom-450x300",
        heads=tuple(f"{k + 1}.5 mm" for k in range(n_gauges)),
        rows=tuple(
            ChartRow(name=f"PMMA extruded {k}", watch=WATCH, cells=CELLS[:n_gauges])
            for k in range(n_rows)
        ),
        foot=(("Watch the sheet, not the clock.",) * 4, ("Local rules come first.",)),
    )


sizes = pytest.mark.parametrize(("n_rows", "n_gauges"), [(5, 5), (1, 1), (3, 2), (5, 3)])
on_each = pytest.mark.parametrize("paper", ["A4", "Letter"])


@sizes
@on_each
def test_it_is_one_page_on_which_no_line_lies_on_another(n_rows, n_gauges, paper):
    """Everything is on the paper and apart, however many sheets there are."""
    size = PAPERS[paper].turned
    (lines,) = pdf_pages(wall_chart_pdf_bytes(chart(n_rows, n_gauges), paper=size))
    page = box(8.5, 8.0, size.width_mm - 8.5, size.height_mm - 8.5)

    assert overlapping(lines) == []
    assert [line.text for line in lines if not page.covers(line.box_mm)] == []


@sizes
@on_each
def test_heating_times_are_read_from_two_meters(n_rows, n_gauges, paper):
    """Their figures are 7 mm high, 12 minutes of arc: more than twice what normal sight needs."""
    size = PAPERS[paper].turned
    (lines,) = pdf_pages(wall_chart_pdf_bytes(chart(n_rows, n_gauges), paper=size))
    times = {cell.heat for cell in CELLS[:n_gauges] if cell.heat}
    figures = some(line for line in lines if line.text in times and line.bold)

    assert len(figures) == n_rows * len(times)
    assert min(line.size_mm for line in figures) * FIGURE_HEIGHT >= LEAST_FIGURE_MM - 0.01
    assert 60 * degrees(atan(LEAST_FIGURE_MM / 2000)) >= 12.0


def test_what_cannot_be_told_is_blank_with_its_reason():
    """A cell without a time has no figure, only why."""
    (lines,) = pdf_pages(wall_chart_pdf_bytes(chart(1, 5), paper=PAPERS["A4"].turned))
    told = " ".join(line.text for line in lines)
    columns = [line.x_mm for line in lines if line.text in ("4.5 mm", "5.5 mm")]

    assert "this table does not get it hot enough" in told
    assert "not among your sheets" in told
    assert not [line for line in lines if "–" in line.text and line.x_mm > min(columns) - 12.0]


def test_fewer_sheets_have_larger_figures():
    """A chart of one sheet is read from farther than one of twenty-five."""
    sizes_mm = []
    for n in (5, 1):
        (lines,) = pdf_pages(wall_chart_pdf_bytes(chart(n, n), paper=PAPERS["A4"].turned))
        sizes_mm.append(next(line.size_mm for line in lines if line.text == "25–40"))

    assert sizes_mm[1] > 1.3 * sizes_mm[0]


def test_the_same_chart_gives_the_same_bytes():
    """Nothing of the day it was made on is in it."""
    one, other = (wall_chart_pdf_bytes(chart(3, 3), paper=PAPERS["A4"].turned) for _ in range(2))

    assert one == other
