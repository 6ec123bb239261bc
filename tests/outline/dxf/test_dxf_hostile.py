"""DXF drawings made to hurt, and a settings file that nobody asked for."""

import subprocess
import sys
from configparser import ConfigParser
from io import StringIO
from time import process_time

import pytest
from support.hostile import block, circle, dxf, ended_after, insert

import moldgen as mg
from moldgen.dxf_library import dxf_library
from moldgen.errors import OutlineError
from moldgen.limits import Limits
from moldgen.outline.nesting import first_copies, parts_from_lines

FEW = Limits(entities=2000)


def nested(leaf, *, levels=10):
    """Return a drawing of blocks of ten blocks each, ten levels deep."""
    blocks = [block("B0", leaf)]
    for k in range(1, levels + 1):
        blocks.append(block(f"B{k}", "".join(insert(f"B{k - 1}", x=3 * x) for x in range(10))))
    return dxf(insert(f"B{levels}"), "".join(blocks))


def test_an_array_is_counted_before_it_is_made():
    """An insert of 30,000 x 30,000 is refused at once."""
    array = "70\n30000\n71\n30000\n44\n1\n45\n1\n"

    with ended_after(10), pytest.raises(OutlineError, match="more than 100000 entities"):
        mg.outline_from_dxf(dxf(insert("A", array=array), block("A", circle(1))))


@pytest.mark.parametrize("leaf", ["", circle(1)])
def test_blocks_of_blocks_are_counted_even_if_they_are_empty(leaf):
    """10^10 visits from a few kilobytes end at the limit."""
    with ended_after(20), pytest.raises(OutlineError, match="more than 2000 entities"):
        mg.outline_from_dxf(nested(leaf), limits=FEW)


def test_an_honest_array_counts_what_it_draws():
    """A block of two circles, 30 times, is within a limit of a hundred and beyond one of fifty."""
    array = "70\n6\n71\n5\n44\n9\n45\n9\n"
    drawing = dxf(insert("A", array=array), block("A", circle(1) + circle(2)))

    assert len(mg.outline_from_dxf(drawing, limits=Limits(entities=100)).parts) == 30
    with pytest.raises(OutlineError, match="more than 50 entities"):
        mg.outline_from_dxf(drawing, limits=Limits(entities=50))


def test_circles_of_80_km_are_refused_one_by_one():
    """A circle that large would be 200,000 chords; a hundred would fill the memory."""
    with pytest.raises(OutlineError, match="far larger than any mold"):
        mg.outline_from_dxf(dxf("".join(circle(8e7, x=k) for k in range(100))))


def test_corners_are_counted_while_they_are_read():
    """Many circles of 500 m are stopped by their corners, not when all of them are read."""
    circles = dxf("".join(circle(5e5, x=k) for k in range(200)))

    with pytest.raises(OutlineError, match="corners, more than 50,000; simplify its outlines"):
        mg.outline_from_dxf(circles, limits=Limits(points=50_000))


def test_a_settings_file_in_the_working_folder_is_not_obeyed(tmp_path):
    """The library for DXF is loaded without the file of settings that lies beside an upload."""
    (tmp_path / "ezdxf.ini").write_text("[core]\nSUPPORT_DIRS = /nowhere\n")
    (tmp_path / "other.ini").write_text("[core]\na = 1\n")
    code = (
        "from moldgen.dxf_library import dxf_library; library = dxf_library(); "
        "assert library.options.support_dirs != ['/nowhere']; "
        "from configparser import ConfigParser; parser = ConfigParser(); "
        "parser.read(['other.ini']); assert parser['core']['a'] == '1'"
    )

    run = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False
    )

    assert run.returncode == 0, run.stderr
    assert ConfigParser.read.__module__ == "configparser"


def test_copies_and_owners_of_many_lines_take_no_square_of_them():
    """A thousand closed lines, each drawn twice, are told apart and named in their order."""
    import numpy as np
    from shapely import MultiPolygon

    from moldgen.outline.drawing import DrawingPart

    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
    rings = [square + np.array([3 * (k % 40), 3 * (k // 40)]) for k in range(1000)]
    names = [DrawingPart(id=str(k), label="", group="", region=MultiPolygon()) for k in range(2000)]

    with ended_after(60):
        assert first_copies([*rings, *rings], same_mm=0.01) == list(range(1000))
        region, parts, _ = parts_from_lines([*rings, *rings], names, what="it", same_mm=0.01)

    assert [part.id for part in parts] == [str(k) for k in range(1000)]
    assert region.area == pytest.approx(1000)


def painted(draw):
    """Return a drawing of filled areas alone."""
    document = dxf_library().new()
    document.header["$INSUNITS"] = 4
    draw(document.modelspace())
    text = StringIO()
    document.write(text)
    return text.getvalue()


def solid(space, wide, *, at=0.0, layer="0"):
    """Fill a square whose lower left corner lies on the diagonal."""
    corners = [(at, at), (at + wide, at), (at, at + wide), (at + wide, at + wide)]
    space.add_solid(corners, dxfattribs={"layer": layer})


def hatched_disk(space, radius):
    """Fill a circle."""
    space.add_hatch().paths.add_edge_path().add_arc((0, 0), radius, 0, 360)


@pytest.mark.parametrize(
    ("draw", "why"),
    [
        (lambda space: hatched_disk(space, 1e13), "far larger than any mold"),
        (lambda space: solid(space, 1e15), "a SOLID with a broken number on layer 0"),
    ],
)
def test_filled_areas_beyond_all_bounds_are_refused_as_lines_are(draw, why):
    """What is painted has the limits of what is drawn, whatever size is asked for."""
    with ended_after(10), pytest.raises(OutlineError, match=why):
        mg.outline_from_dxf(painted(draw), width_mm=100)


def test_corners_of_filled_areas_are_counted():
    """A hundred squares, each closed by its first corner, have five hundred corners."""
    drawing = painted(lambda space: [solid(space, 1, at=2 * k) for k in range(100)])

    assert len(mg.outline_from_dxf(drawing, limits=Limits(points=500)).parts) == 100
    with pytest.raises(OutlineError, match="has 500 corners, more than 499"):
        mg.outline_from_dxf(drawing, limits=Limits(points=499))


def test_filled_areas_that_cross_too_often_are_refused():
    """Squares along a diagonal cross in pairs, hundreds of times hundreds."""
    drawing = painted(lambda space: [solid(space, 400, at=k) for k in range(300)])

    with ended_after(20), pytest.raises(OutlineError, match="crosses itself more than 20,000"):
        mg.outline_from_dxf(drawing)


def test_a_sieve_of_lines_takes_no_square_of_them():
    """Each of a thousand lines is met few times while the areas that they part are named."""
    wide = range(26)
    drawing = painted(
        lambda space: [
            (space.add_line((x, y), (x + 1, y)), space.add_line((y, x), (y, x + 1)))
            for x in wide[:-1]
            for y in wide
        ]
    )
    start = process_time()

    read = mg.outline_from_dxf(drawing)

    assert process_time() - start < 4.0
    assert read.region.area == pytest.approx(625)


def test_closed_lines_bear_the_layer_of_their_first_line():
    """Each of a row of squares, drawn side by side on a layer each, is named after its own."""

    def draw(space):
        for k in range(20):
            corners = [(3 * k, 0), (3 * k + 1, 0), (3 * k + 1, 1), (3 * k, 1)]
            for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
                space.add_line(start, end, dxfattribs={"layer": f"QUAY{k}"})

    parts = mg.outline_from_dxf(painted(draw)).parts

    assert [(part.group, round(part.region.bounds[0])) for part in parts] == [
        (f"QUAY{k}", 3 * k) for k in range(20)
    ]


def test_an_array_of_nothing_is_counted_too():
    """An empty block 30,000 x 30,000 times draws nothing, and would be met as often."""
    array = "70\n30000\n71\n30000\n44\n1\n45\n1\n"

    with ended_after(10), pytest.raises(OutlineError, match="more than 100000 entities"):
        mg.outline_from_dxf(dxf(insert("A", array=array) + circle(5), block("A", "")))
