"""Every shape of the library forms at the sizes people make, with nothing said but its name."""

from dataclasses import replace
from pathlib import Path

import pytest
from support.some import some

from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.job.command.mold import DrawingCommand
from moldgen.job.command.mold_jobs import drawing_job
from moldgen.mold.checks.stroke import carried_height_mm
from moldgen.outline.library.shapes import list_shapes, outline_from_shape
from moldgen.outline.region import moved, rounded_plan
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.quality import Quality
from moldgen.solid.polygons import polygons_of
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
INFOS = {info.name: info for info in list_shapes()}
GAUGE_MM = 1.0
LONGEST_MM = 270.0
"""A paddle or a guitar is made no longer: it would not print flat."""
CLOSELY = ("anchor", "gear", "hand", "sailboat", "snowflake")
"""Shapes with the finest strokes and gaps."""


def command(name, width_mm):
    """Return what is typed for a shape as wide as asked, or as long as fits."""
    width = min(width_mm, LONGEST_MM / INFOS[name].aspect)
    large = max(width, width * INFOS[name].aspect) > 200
    return DrawingCommand(
        shape=name, width_mm=width, gauge_mm=GAUGE_MM, printer="bed-350" if large else "bed-220"
    )


def doubts(words, quality):
    """Return what a mold is made with, more than notes."""
    design = design_mold(drawing_job(words), folder=Path(), shop=SHOP, quality=quality)
    found = design.mold.findings
    return [one.code for one in found if one.severity is not Severity.NOTE]


@pytest.mark.parametrize("name", INFOS)
@pytest.mark.parametrize("width_mm", [60, 120])
def test_every_shape_forms(name, width_mm):
    """In 1 mm sheet on the usual table, nothing of its walls, strokes and gaps is doubtful."""
    assert doubts(command(name, width_mm), Quality.PREVIEW) == []


@pytest.mark.parametrize("name", CLOSELY)
@pytest.mark.parametrize("width_mm", [60, 100, 150, 200])
def test_fine_shapes_form_at_every_size(name, width_mm):
    """As they are printed, with everything cut into them."""
    assert doubts(command(name, width_mm), Quality.FINAL) == []


def test_a_shape_too_tall_for_its_strokes_is_told():
    """The partner: at a height that is asked for, the same anchor is doubtful."""
    tall = replace(command("anchor", 60), height_mm=12.0)

    assert {"stroke-narrow", "gap-narrow"} <= set(doubts(tall, Quality.PREVIEW))


def height_mm(**said):
    """Return the height of the mold that a command stands for."""
    return drawing_job(DrawingCommand(**said)).body[0].height_mm


def test_a_shape_is_as_high_as_its_narrowest_place_carries():
    """At most 12 mm, at least 3 mm, in halves of a millimeter; what is asked for stays."""
    heights = {name: height_mm(shape=name, width_mm=60, gauge_mm=GAUGE_MM) for name in some(INFOS)}

    assert heights["heart"] == 12.0
    assert heights["anchor"] < 6.0
    assert all(3.0 <= one <= 12.0 and 2 * one == round(2 * one) for one in heights.values())
    assert height_mm(shape="anchor", width_mm=60, height_mm=9.0) == 9.0
    assert height_mm(file="gull.svg") == 12.0


def test_an_unknown_shape_is_still_told_by_name():
    """The height is measured on the shape, and a name that is none has none."""
    with pytest.raises(SpecError, match="shape must be a shape of the library"):
        drawing_job(DrawingCommand(shape="ancor"))


def test_the_height_is_that_of_the_narrowest_of_strokes_and_gaps():
    """A comb of 5 mm teeth and 4 mm gaps carries 4 mm; without teeth, all that is asked."""
    comb = outline_from_shape("rounded-plaque", width_mm=90, height_mm=40, corner=0)
    slot = outline_from_shape("rounded-plaque", width_mm=4, height_mm=30, corner=0)
    teeth = comb
    for x in (-13.5, -4.5, 4.5):
        teeth = teeth.difference(moved(slot, (x, 10)))
    teeth = rounded_plan(polygons_of(teeth), 0.5)

    assert carried_height_mm(teeth, most_mm=12.0) == pytest.approx(4.0, abs=0.05)
    assert carried_height_mm(comb, most_mm=12.0) == 12.0
