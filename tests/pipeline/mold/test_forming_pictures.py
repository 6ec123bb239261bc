"""What the maps of a formed sheet are drawn of."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiPolygon, Polygon
from support.diagrams import opened
from support.formed_sheets import GAUGE_MM, formed_sheet, grid, level, square

from moldgen.export.picture.sheet_map import SheetMap
from moldgen.physics.membrane.run import FREE
from moldgen.pipeline.mold import forming_pictures as maps


def bowl():
    """A sheet that is stretched the more the farther right it lies."""
    mesh = grid()
    points = level(mesh)
    points[:, 2] = 0.03 * (points[:, 0] + 20) ** 2
    return formed_sheet(points)


def drawn(monkeypatch, formed, **how):
    """The maps that pictures of a formed sheet are made of, and the pictures."""
    seen = []
    png = maps.sheet_map_png

    def noted(sheet):
        seen.append(sheet)
        return png(sheet)

    monkeypatch.setattr(maps, "sheet_map_png", noted)
    pictures = maps.forming_pictures(formed, square(19.0), "bowl", **how)
    assert all(isinstance(one, SheetMap) for one in seen)
    return (*seen, *pictures)


def test_the_maps_are_drawn_of_the_run(monkeypatch):
    """Points, thickness, trim line, outlines and vents are those of the run and the mold."""
    formed = bowl()
    vents = [(1.0, 2.0), (3.0, -4.0)]

    thickness, arrival, *pictures = drawn(
        monkeypatch, formed, outlines=(square(8.0),), vents_mm=vents
    )

    for shown in (thickness, arrival):
        np.testing.assert_array_equal(shown.points_mm, formed.run.points_mm[:, :2])
        np.testing.assert_array_equal(shown.vents_mm, vents)
        assert shown.trim.equals(square(19.0))
        assert shown.outlines[0].equals(square(8.0))
        assert shown.areas_cm2.sum() == pytest.approx(formed.whole.area_mm2 / 100, rel=1e-12)
    np.testing.assert_allclose(thickness.values, formed.run.thickness_at_points * GAUGE_MM)
    assert [picture.name for picture in pictures] == ["thickness", "arrival"]
    assert all(opened(picture.png).shape[1] == 1400 for picture in pictures)


def test_the_thinnest_place_and_the_limit_are_marked(monkeypatch):
    """The ring lies where the part is thinnest, with its value; the limit is a quarter."""
    formed = bowl()

    thickness, arrival, *_ = drawn(monkeypatch, formed)

    (mark,) = thickness.marks
    assert (mark.x_mm, mark.y_mm) == formed.thinnest.where_mm[:2]
    assert mark.words == f"thin: {formed.thinnest.thin_mm:.2f} mm"
    assert thickness.limit == GAUGE_MM / 4
    assert (arrival.marks, arrival.limit) == ((), None)


def test_sheet_that_is_pressed_together_is_on_the_map(monkeypatch):
    """What is thicker than its gauge has the color of the thickest class, not none."""
    mesh = grid()

    thickness, *_ = drawn(monkeypatch, formed_sheet(level(mesh, scale=(0.8, 0.8)), half_mm=15.0))

    assert thickness.values.max() == thickness.scale.edges[-1]
    assert thickness.areas_cm2[-1] > 0.99 * thickness.areas_cm2.sum()


def test_a_hole_of_the_trim_line_is_kept(monkeypatch):
    """Lines are drawn a little coarser than they are, but no hole is lost."""
    ring = MultiPolygon([Polygon(square(19.0).geoms[0].exterior, [square(5.0).geoms[0].exterior])])
    seen = []
    monkeypatch.setattr(
        maps, "sheet_map_png", lambda sheet: seen.append(sheet) or b"\x89PNG\r\n\x1a\n"
    )

    maps.forming_pictures(bowl(), ring, "bowl")

    assert [shown.trim.equals(ring) for shown in seen] == [True, True]


def test_arrival_is_told_as_share_of_the_vacuum():
    """While the mold rose -1, in between as the pressure rose, never inf, held as at the start."""
    formed = bowl()
    run = formed.run
    time = np.array([0.0, 1.0, 1.5, 2.0])
    history = replace(
        run.history, time=time, pressure_per_mm=np.array([0.0, 0.0, 0.25, 1.0]),
        energy_mm2=time, swept_mm3=time, residual=time,
    )  # fmt: skip
    arrival = np.full(len(run.points_mm), 0.5)
    free = np.flatnonzero(~run.mesh.held)
    arrival[free[:4]] = 1.25, 1.5, 1.75, np.inf
    arrival[run.mesh.held] = np.inf
    touches = run.touches.copy()
    touches[free[3]] = FREE
    run = replace(
        run, history=history, arrival=arrival, touches=touches,
        frames=replace(run.frames, pressure_per_mm=np.array([0.0])),
        spec=replace(run.spec, pressure_per_mm=1.0),
    )  # fmt: skip

    share = maps.vacuum_at_arrival(run)

    assert share[free[:5]] == pytest.approx([0.125, 0.25, 0.625, np.inf, -1])
    assert (share[run.mesh.held] == -1).all()
