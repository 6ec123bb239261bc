"""Where formed parts are cut: by what the part is, by its tool, and as somebody asks."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
import shapely
from shapely import MultiPolygon

from moldgen.fixture.trim.choices import TrimLineKind
from moldgen.job import DrawingCommand, SignCommand, TrayCommand, drawing_job, sign_job, tray_job
from moldgen.job.command.mold import LettersAs
from moldgen.job.outline import Grid
from moldgen.job.spec import Side, TrimShape
from moldgen.mold.features import roots_of
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.steps import on_the_day
from moldgen.pipeline.mold.trim_region import check_trim_plan, trim_plan_of, trim_use
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)


def design_of(job):
    """Return the design of a job."""
    return design_mold(job, folder=Path(), shop=SHOP)


def planned(job):
    """Return the trim line of a job, and its walls."""
    design = design_of(job)
    return design._stages.get("trim_plan"), design.raw


def sign(as_=LettersAs.PLAQUE, **said):
    """Return the job of a sign."""
    return sign_job(SignCommand(words=("PIER 4",), as_=as_, **said))


def tray(**said):
    """Return the job of a tray 30 mm deep."""
    return tray_job(TrayCommand(**{"length_mm": 80, "width_mm": 60, "depth_mm": 30} | said))


def test_letters_on_the_table_are_cut_square():
    """One rectangle with round corners, a straight-edge's width outside all letters."""
    plan, raw = planned(sign(LettersAs.WORD))
    (x0, y0), (x1, y1) = raw.mesh.bounds_mm[:, :2]

    assert plan.kind is TrimLineKind.ROUNDED
    assert len(plan.region.geoms) == 1
    assert plan.region.bounds == pytest.approx((x0 - 25, y0 - 25, x1 + 25, y1 + 25), abs=0.02)
    box = shapely.box(*plan.region.bounds)
    assert box.area - plan.region.area == pytest.approx((4 - 3.14159) * 10**2, rel=0.01)
    assert plan.where == "25 mm outside the letters, a rectangle with round corners"
    assert plan.because.startswith("the sheet is the plate")


def test_letters_are_cut_to_a_curve_by_choice():
    """The smooth line at one distance is there for whoever asks for it."""
    plan, raw = planned(sign(LettersAs.WORD, trim_shape=TrimShape.OFFSET, flange_mm=20.0))
    foot = MultiPolygon([part for root in roots_of(raw.plans) for part in root.outer.geoms])

    assert shapely.distance(foot, plan.region.boundary) == pytest.approx(20, abs=0.02)
    assert plan.region.area < 0.98 * shapely.box(*plan.region.bounds).area
    assert plan.where == "20 mm outside the letters"
    assert plan.because == "as asked"


def test_a_plaque_is_cut_10_mm_round_its_foot():
    """The plaque is the border of its sign."""
    plan, raw = planned(sign())
    (root,) = roots_of(raw.plans)

    assert plan.where == "10 mm outside the plaque's foot"
    assert shapely.hausdorff_distance(
        plan.region.boundary, shapely.buffer(root.outer, 10, quad_segs=64).boundary
    ) == pytest.approx(0, abs=0.05)  # fmt: skip
    assert "clears the bend" in plan.because


@cache
def recessed(**said):
    """Return the trim line and the walls of a tray drawn into its mold."""
    return planned(tray(**said))


@pytest.mark.parametrize("rim_mm", [None, 8.0, 15.0, 22.0])
def test_a_tray_in_a_female_mold_is_cut_on_its_rim(rim_mm):
    """On the flat top of the block, by the rim asked for, never on the table outside."""
    plan, raw = recessed(flange_mm=rim_mm)
    block, recess = raw.plans
    wanted = 10.0 if rim_mm is None else rim_mm

    assert shapely.buffer(block.flat, 1e-6).contains(plan.region)
    assert shapely.distance(recess.outer, plan.region.boundary) == pytest.approx(wanted, abs=0.02)
    assert plan.region.contains(recess.outer)
    assert plan.flange_mm == pytest.approx(wanted, abs=1e-3)
    assert check_trim_plan(plan) == ()
    assert "flat top of the block" in plan.where


@pytest.mark.parametrize("plastic", ["HIPS", "PETG", "PP", "HDPE", "ABS"])
@pytest.mark.parametrize("depth_mm", [10.0, 60.0])
def test_the_block_of_a_tray_holds_its_rim(plastic, depth_mm):
    """Whatever the plastic's draft and the depth, the flat top is wide enough."""
    plan, _ = planned(tray(plastic=plastic, depth_mm=depth_mm, gauge_mm=2.0))

    assert check_trim_plan(plan) == ()


def test_a_tray_of_compartments_has_one_rim():
    """One line round all of them, straight across what is between."""
    plan, raw = planned(tray(length_mm=160, compartments=Grid(2, 1), gap_mm=30))
    recesses = [one.outer for one in raw.plans if one.parent]

    assert len(recesses) == 2
    assert len(plan.region.geoms) == 1
    assert all(plan.region.contains(one) for one in recesses)


def test_a_block_too_narrow_for_its_rim_is_told():
    """The line then runs on the edge of the flat; what was asked for is a caution."""
    job = tray()
    wide = replace(job, trim=replace(job.trim, flange_mm=30.0))
    design = design_of(wide)
    (found,) = (one for one in design.mold.findings if one.code == "rim-narrow")
    plan = design._stages.get("trim_plan")

    assert found.severity == "caution"
    assert (found.limit, found.measured) == (30.0, pytest.approx(plan.flange_mm))
    assert 10 <= plan.flange_mm < 30
    assert shapely.buffer(design.raw.plans[0].flat, 1e-6).contains(plan.region)


def test_a_tray_over_its_mold_keeps_50_mm():
    """Round the bend, so that it lies flat."""
    plan, raw = planned(tray(side=Side.MALE))

    assert plan.where == "50 mm outside the bend"
    assert plan.because == "a tray lies flat on so much flange"
    assert shapely.distance(raw.plans[0].outer, plan.region.boundary) == pytest.approx(50, abs=0.02)


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ({}, TrimLineKind.CONVEX),
        ({"gauge_mm": 2.0}, TrimLineKind.OFFSET),
        ({"plastic": "PMMA cast"}, TrimLineKind.STRAIGHT),
        ({"trim_shape": TrimShape.OFFSET}, TrimLineKind.OFFSET),
    ],
)
def test_the_line_is_one_that_its_tool_can_cut(said, kind):
    """A knife follows a straight-edge: no hollows; brittle sheet is snapped; snips follow."""
    plan, raw = planned(drawing_job(DrawingCommand(shape="anchor", flange_mm=8.0, **said)))
    hollow = shapely.convex_hull(plan.region).area - plan.region.area

    assert plan.kind is kind
    assert (hollow > 100) == (kind is TrimLineKind.OFFSET)
    assert all(plan.region.contains(one.outer) for one in raw.plans)


def test_a_shape_without_hollows_is_followed_by_the_knife_as_well():
    """A convex line at one distance needs no other name."""
    plan, _ = planned(drawing_job(DrawingCommand(shape="oval-plaque")))

    assert plan.kind is TrimLineKind.OFFSET


def test_report_and_plan_tell_the_same_line():
    """The step of the report has the place and the reason that the trim line has."""
    design = design_of(sign())
    mold = design.mold
    plan = trim_plan_of(design.request, mold, design.setting.sheet)
    step = dict(on_the_day(design.request, mold, design.setting, (), design.day))["Trim"]

    assert f"{plan.where}, never on the bend itself ({plan.because})" in step
    assert plan.use is trim_use(design.request)
    assert plan.region.equals(design.trim_line)
