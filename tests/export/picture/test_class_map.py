"""Maps of a mesh from above, colored by classes."""

from __future__ import annotations

import io

import numpy as np
import pytest
from moldgen.export.picture.forming_classes import (
    arrival_classes,
    arrival_values,
    thickness_classes,
)
from PIL import Image

from moldgen.errors import SpecError
from moldgen.export.picture.canvas import PAPER, Canvas
from moldgen.export.picture.class_map import UNKNOWN, Classes, Mark, class_map_png
from moldgen.solid.mesh import Mesh

RED, GREEN, BLUE = (255, 0, 0), (0, 255, 0), (0, 0, 255)
THREE = Classes(borders=(1.0, 2.0), colors=(RED, GREEN, BLUE), names=("low", "middle", "high"))


def _sheet(n=20):
    """A flat square of n x n mm in squares of 1 mm."""
    x, y = np.meshgrid(np.arange(n + 1.0), np.arange(n + 1.0))
    points = np.column_stack([x.ravel(), y.ravel(), np.zeros((n + 1) ** 2)])
    corner = (np.arange(n)[:, None] * (n + 1) + np.arange(n)).ravel()
    lower = np.column_stack([corner, corner + 1, corner + n + 2])
    upper = np.column_stack([corner, corner + n + 2, corner + n + 1])
    return Mesh(points, np.concatenate([lower, upper]).astype(np.int32))


def _pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


def _near(pixel, color):
    return np.abs(pixel.astype(int) - color).max() <= 40


def test_a_value_on_a_border_belongs_to_the_class_above():
    """Colors follow the borders; what has no value is gray."""
    colors = THREE.colors_of(np.array([0.5, 1.0, 1.5, 2.0, 9.0, np.nan]))

    assert [tuple(c) for c in colors.tolist()] == [RED, GREEN, GREEN, BLUE, BLUE, UNKNOWN]


def test_classes_need_a_color_and_a_name_each():
    """One border too many is refused."""
    with pytest.raises(SpecError, match="3 colors and names"):
        Classes(borders=(1.0, 2.0), colors=(RED, GREEN), names=("a", "b"))


def test_values_must_be_one_for_each_triangle():
    """A map of other values than triangles is refused."""
    with pytest.raises(SpecError, match="one for each of 800 triangles"):
        class_map_png(_sheet(), np.zeros(3), THREE)


def test_the_map_shows_each_half_in_its_color():
    """The left half is red and the right one blue, as seen from above."""
    mesh = _sheet()
    left = mesh.corners_mm[:, :, 0].mean(axis=1) < 10

    pixels = _pixels(class_map_png(mesh, np.where(left, 0.0, 3.0), THREE))

    assert pixels.shape[1] == 1400
    middle = (pixels.shape[0] - 140) // 2
    assert _near(pixels[middle, 500], RED)
    assert _near(pixels[middle, 900], BLUE)


def test_only_what_lies_within_the_lines_is_shown():
    """Within a ring around the middle the map is seen; beside it there is paper."""
    mesh = _sheet()
    ring = 10 + 5 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [1.0, 0.5]

    pixels = _pixels(class_map_png(mesh, np.full(800, 3.0), THREE, lines_mm=(ring,)))

    height = pixels.shape[0] - 140
    assert _near(pixels[height // 2, 700], BLUE)
    assert tuple(pixels[height - 12, 700]) == PAPER


def test_the_same_map_has_the_same_bytes():
    """Nothing but the picture goes into the file."""
    mesh, values = _sheet(), np.linspace(0, 3, 800)

    assert class_map_png(mesh, values, THREE) == class_map_png(mesh, values, THREE)


def test_thickness_under_a_quarter_of_the_gauge_is_trouble():
    """The first class of thickness is the red one, up to a quarter of the gauge."""
    classes = thickness_classes(2.0)

    assert classes.borders[0] == pytest.approx(0.5)
    assert classes.n_trouble == 1
    assert classes.names[0] == "under 0.5 mm"
    assert classes.names[-1] == "over 1.7 mm"


def test_maps_of_a_formed_sheet_can_be_read():
    """Thickness and arrival give pictures that differ from a blank one."""
    mesh = _sheet()
    mark = Mark(x_mm=3.0, y_mm=4.0, words="thinnest: 0.50 mm")
    slope = mesh.corners_mm[:, :, 0].mean(axis=1) / 20
    vacuum = arrival_values(np.where(slope > 0.9, np.inf, slope))

    thick = _pixels(class_map_png(mesh, 0.5 + slope, thickness_classes(1.5), marks=(mark,)))
    arrived = _pixels(class_map_png(mesh, vacuum, arrival_classes()))

    assert len(np.unique(thick.reshape(-1, 3), axis=0)) > 50
    assert len(np.unique(arrived.reshape(-1, 3), axis=0)) > 50
    assert _near(arrived[(arrived.shape[0] - 140) // 2, 1130], (232, 64, 52))


def test_words_with_a_halo_stand_out_from_a_dark_ground():
    """Red words on navy have paper round them; without a halo there is none."""
    paper = (245, 240, 228)
    light = []
    for halo in (None, paper):
        canvas = Canvas(200, 60)
        canvas.area([(0, 0), (200, 0), (200, 60), (0, 60)], color=(24, 64, 108))
        canvas.write((20, 30), "thinnest", color=(200, 16, 46), anchor="lm", bold=True, halo=halo)
        light.append(int((_pixels(canvas.png()) == paper).all(axis=2).sum()))

    assert light[0] == 0
    assert light[1] > 200
