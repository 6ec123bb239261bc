"""What stays away from the mold: map, findings, vents and the check of outlines say the same."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon
from support.slotted import blocks, over_blocks

from moldgen.mold.checks.fine_detail import MOST_LOST, measure_bridged
from moldgen.mold.sheet.findings import check_formed
from moldgen.mold.vents.by_run import arrival_on
from moldgen.pipeline.mold import forming_pictures as maps
from moldgen.pipeline.mold.forming_tables import forming_numbers

TRIM = MultiPolygon([shapely.box(-40, -30, 40, 30)])
GAPS_MM = {1.6: True, 4.0: True, 14.0: False}
"""Widths of gaps 6 mm deep, and whether the sheet spans them."""


@pytest.fixture(scope="module", params=GAPS_MM)
def formed(request):
    """Return a formed sheet over a gap, its relief and the gap."""
    formed, _, relief = over_blocks(request.param)
    return formed, relief, request.param


@pytest.fixture
def arrival_map(formed, monkeypatch):
    """Return the map of arrival as it is drawn."""
    seen = []

    def noted(one):
        seen.append(one)
        return b"\x89PNG\r\n\x1a\n"

    monkeypatch.setattr(maps, "sheet_map_png", noted)
    maps.forming_pictures(formed[0], TRIM, "gap")
    return seen[1]


def test_finding_and_map_tell_of_bridges_alike(formed, arrival_map):
    """Where there is a bridge there are a finding, a ring and red, at one place; else none."""
    sheet, _, gap_mm = formed
    found = [finding for finding in check_formed(sheet) if finding.code == "formed-bridges"]
    never = arrival_map.scale.classes_of(arrival_map.values) == len(arrival_map.scale.colors) - 1

    assert bool(found) == bool(arrival_map.marks) == bool(never.any()) == GAPS_MM[gap_mm]
    assert forming_numbers(sheet)["formed_bridges"] == len(sheet.bridges)
    np.testing.assert_array_equal(never, sheet.reach.bridged)
    for finding, mark in zip(found, arrival_map.marks, strict=True):
        assert finding.where_mm[:2] == (mark.x_mm, mark.y_mm)
        assert f"{finding.measured:.1f} mm" in mark.words


def test_vents_count_every_bridge_among_what_is_reached_last(formed):
    """Over each bridged point the sheet had not come when the full vacuum had."""
    sheet, relief, gap_mm = formed
    arrival = arrival_on(relief, sheet.run, ball_mm=8.0)
    points = sheet.run.points_mm[sheet.reach.bridged]
    row, column = relief.cells(points).T

    assert bool(len(points)) == GAPS_MM[gap_mm]
    # A cell beside a steep wall may be seen on its other side.
    assert np.all(np.sort(arrival.time[row, column])[len(points) // 20 :] > arrival.never)


def test_vents_go_by_the_sheet_as_the_full_vacuum_comes(formed):
    """What relaxes later is reached last on as many cells as with rubber: to 15 %."""
    sheet, relief, gap_mm = formed
    rubber, _, _ = over_blocks(gap_mm, relaxes=False)
    late, as_rubber = (
        int((arrival.time > arrival.never).sum())
        for arrival in (arrival_on(relief, one.run, ball_mm=8.0) for one in (sheet, rubber))
    )

    assert sheet.untouched_mm2 < 0.7 * rubber.untouched_mm2
    assert late == pytest.approx(as_rubber, rel=0.15)


def test_what_the_outline_says_is_lost_the_run_bridges(formed):
    """A gap that a disc of the gauge does not enter is bridged; the disc enters what is not."""
    sheet, _, gap_mm = formed
    gauge_mm = sheet.sheet.gauge_mm
    lost = [
        spot
        for spot in measure_bridged(blocks(gap_mm), radius_mm=gauge_mm, raised=True)
        if spot.depth_mm > MOST_LOST * gauge_mm
    ]

    assert bool(lost) == (gap_mm < 2 * gauge_mm)
    assert sheet.bridges if lost else GAPS_MM[gap_mm] == bool(sheet.bridges)
