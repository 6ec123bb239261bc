"""Every shape of the library forms at the sizes people make, with nothing said but its name."""

from dataclasses import replace
from pathlib import Path

import pytest
from support.some import some

from moldgen.finding import Severity
from moldgen.job.command.mold import DrawingCommand
from moldgen.job.command.mold_jobs import drawing_job
from moldgen.outline.library.shapes import list_shapes
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.quality import Quality
from moldgen.pipeline.setting import setting_of
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
def test_every_shape_forms(name):
    """60 mm wide, in 1 mm sheet, nothing of its walls, strokes and gaps is doubtful."""
    assert doubts(command(name, 60), Quality.PREVIEW) == []


@pytest.mark.parametrize("name", CLOSELY)
@pytest.mark.parametrize("width_mm", [60, 100, 150, 200])
def test_fine_shapes_form_at_every_size(name, width_mm):
    """As they are printed, with everything cut into them."""
    assert doubts(command(name, width_mm), Quality.FINAL) == []


def test_a_shape_too_tall_for_its_strokes_is_told():
    """The partner: at a height that is asked for, the same anchor is doubtful."""
    tall = replace(command("anchor", 60), height_mm=12.0)

    assert "gap-narrow" in doubts(tall, Quality.PREVIEW)


def height_mm(**said):
    """Return the height that is chosen for what a command stands for."""
    job = drawing_job(DrawingCommand(**said))
    return choose(job, setting=setting_of(job, SHOP), folder=Path()).job.body[0].height_mm


def test_a_shape_is_no_deeper_than_its_narrowest_gap_is_wide():
    """At most 12 mm; what is asked for stays."""
    heights = {name: height_mm(shape=name, width_mm=60, gauge_mm=GAUGE_MM) for name in some(INFOS)}

    assert heights["heart"] == 12.0
    assert heights["anchor"] < 12.0
    assert all(1.5 <= one <= 12.0 and 2 * one == round(2 * one) for one in heights.values())
    assert height_mm(shape="anchor", width_mm=60, height_mm=9.0) == 9.0
