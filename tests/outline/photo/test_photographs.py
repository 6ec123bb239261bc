"""Photographs as people take them come back as the outline that was drawn."""

from __future__ import annotations

import io
import subprocess
import sys

import numpy as np
import pytest
import shapely
from PIL import Image
from samples.photographs import iou
from shapely import affinity
from support.photograph.camera import Scene, photographed
from support.photograph.ink import FILLED, drawn

from moldgen.errors import OutlineError
from moldgen.outline.trace import TraceSpec, outline_from_gray
from moldgen.pipeline.brought.traced import traced_findings
from moldgen.solid.reading.picture import gray_from_bytes

SCENES = {
    "filled-under-a-hard-shadow": ("filled-marker", "heart", Scene(shadow="hard", shade=0.35)),
    "line-under-a-soft-shadow": ("ballpoint", "star", Scene(shadow="soft", shade=0.4)),
    "broad-line-beside-a-table": (
        "outline-marker",
        "bell",
        Scene(shadow="hard", table="dark", shade=0.5, tilt_deg=15),
    ),
    "pencil-with-gaps": ("pencil", "sailboat", Scene(falloff=0.3)),
    "pencil-on-a-dark-table": ("pencil", "house", Scene(table="dark", shadow="hard")),
    "crayon": ("crayon", "fish", Scene(orientation=8)),
    "everything": (
        "crayon",
        "leaf",
        Scene(ruling="squared", table="wood", shadow="hard", tilt_deg=25, falloff=0.5,
              orientation=6, size_px=(1500, 2000)),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SCENES)
def test_what_was_drawn_is_what_is_traced(name):
    """Paper, shadow and table are no ink; gaps and grain are closed, and grain is told."""
    pen, shape, scene = SCENES[name]
    rng = np.random.default_rng(5)
    photo = photographed(rng, drawn(rng, pen=pen, shape=shape), scene)
    gray = gray_from_bytes(photo.data, name="photo.jpg")

    found = outline_from_gray(gray, TraceSpec(fill=pen not in FILLED))

    size = (gray.shape[1] / photo.size_px[0], gray.shape[0] / photo.size_px[1])
    truth = affinity.scale(photo.truth_px, *size, origin=(0, 0))
    assert iou(found.region, truth) > 0.95
    assert not found.at_edge
    told = [one.code for one in traced_findings("photo.jpg", found)]
    assert ("drawing-grainy" in told) == (pen == "crayon")


def square(gap_px=0, *, width_px=3):
    """Return a square of 200 pixels drawn as a line, with a gap in its lower side."""
    gray = np.full((300, 300), 0.9)
    inner = slice(50 + width_px, 250 - width_px)
    gray[50:250, 50:250] = 0.3
    gray[inner, inner] = 0.9
    gray[50 : 50 + width_px, 150 : 150 + gap_px] = 0.9
    return gray


@pytest.mark.parametrize("gap_px", [0, 1, 3])
def test_a_gap_of_a_hundredth_is_closed_before_filling(gap_px):
    """A line of pencil with a gap of a millimeter or so encloses what a whole one does."""
    found = outline_from_gray(square(gap_px), TraceSpec(fill=True))

    assert found.region.area == pytest.approx(200**2, rel=0.005)
    assert traced_findings("a.png", found) == []


def test_lines_that_enclose_nothing_are_refused_if_they_are_to_be_filled():
    """A gap of a tenth is no slip of the pencil; without filling the line itself is raised."""
    with pytest.raises(OutlineError, match="The drawn lines enclose nothing: they have gaps"):
        outline_from_gray(square(20), TraceSpec(fill=True))

    line = outline_from_gray(square(20), TraceSpec()).region
    # A fifth of a pixel along either side.
    assert line.area == pytest.approx(4 * 197 * 3 - 60, abs=0.2 * line.length)


def test_lines_left_open_beside_a_filled_one_are_told():
    """A closed square with an open one round it is made, with a caution."""
    gray = square(20)
    gray[100:200, 100:200] = 0.3
    gray[103:197, 103:197] = 0.9

    found = outline_from_gray(gray, TraceSpec(fill=True))

    assert found.open_share == pytest.approx(0.65, abs=0.1)
    assert [one.code for one in traced_findings("a.png", found)] == ["drawing-open-lines"]


def test_an_area_that_encloses_nothing_more_is_no_line():
    """A disc is filled already."""
    y, x = np.mgrid[:300, :300]
    gray = np.where(np.hypot(x - 150, y - 150) < 90, 0.1, 0.9)

    found = outline_from_gray(gray, TraceSpec(fill=True))

    assert found.region.area == pytest.approx(np.pi * 90**2, rel=0.01)
    assert found.open_share == 0.0


def shaded(gray, factor):
    """Return a picture with a hard shadow over its right half."""
    out = gray.copy()
    out[:, 150:] *= factor
    return out


@pytest.mark.parametrize("factor", [0.75, 0.5, 0.42])
def test_a_hard_shadow_moves_no_outline(factor):
    """A filled square half in the shadow is as large as in the light."""
    gray = np.full((300, 300), 0.9)
    gray[100:200, 100:200] = 0.12

    lit, dim = (outline_from_gray(one, TraceSpec()).region for one in (gray, shaded(gray, factor)))

    assert dim.bounds == pytest.approx(lit.bounds, abs=0.3)
    assert shapely.symmetric_difference(lit, dim).area < 30


def test_too_pale_a_drawing_on_a_dark_table_is_refused_and_the_table_is_not_raised():
    """What goes along the border is never the drawing, even if there is no other."""
    gray = np.full((240, 320), 0.1)
    gray[20:215, 30:300] = 0.9
    gray[70:150, 100:220] = 0.86

    with pytest.raises(OutlineError, match="hardly darker than its paper"):
        outline_from_gray(gray, TraceSpec())


def test_a_dark_corner_is_left_out_and_told():
    """A corner of the table beside the sheet is not raised with the drawing."""
    gray = np.full((300, 400), 0.9)
    y, x = np.mgrid[:300, :400]
    gray[x + y < 60] = 0.1
    gray[120:220, 150:300] = 0.2

    found = outline_from_gray(gray, TraceSpec())

    assert found.region.bounds == pytest.approx((150, 120, 300, 220), abs=0.3)
    assert [one.code for one in traced_findings("a.png", found)] == ["drawing-surroundings"]


MEMORY = """
import sys
from pathlib import Path

def peak_MB():
    (line,) = [x for x in Path("/proc/self/status").read_text().splitlines() if "VmHWM" in x]
    return int(line.split()[1]) / 1000

bare = peak_MB()
from moldgen.solid.reading.picture import load_gray
from moldgen.outline.trace import TraceSpec, outline_from_gray
assert outline_from_gray(load_gray(sys.argv[1]), TraceSpec()).region.area > 0
print(peak_MB() - bare)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells the peak of a process")
def test_a_grainy_photograph_of_twelve_megapixels_takes_400_MB(tmp_path):
    """Crayon has the most outlines of all; the interpreter itself is not counted."""
    rng = np.random.default_rng(5)
    photo = photographed(rng, drawn(rng, pen="crayon", shape="fish"), Scene(shadow="hard"))
    large = Image.open(io.BytesIO(photo.data)).resize((4000, 3000))
    large.save(tmp_path / "a.jpg", quality=85)

    run = subprocess.run(
        [sys.executable, "-c", MEMORY, str(tmp_path / "a.jpg")],
        capture_output=True, text=True, check=True,
    )  # fmt: skip

    assert 50 < float(run.stdout) < 400
