"""Trees of features become closed bodies, or are refused with what would do instead."""

import re
from math import pi, radians, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, box
from support.molds import (
    SUNK,
    at,
    disc,
    plain,
    plate,
    ring,
    screw_tray,
    sunk,
    tide_sign,
    wall,
    word,
)
from support.outlines import rectangle
from support.some import some

from moldgen.errors import SpecError
from moldgen.mold.build import (
    CLEARANCE_MM,
    build_raw_mold,
    check_wall_made,
    even_height_mm,
    flat_region,
    outer_region,
    profile_of,
    widest_half_mm,
)
from moldgen.mold.features import Direction, Feature, WallEnd
from moldgen.solid.loft.surface import Steepest
from moldgen.solid.topology import topology_of


def frustum_mm3(low, high, height):
    """Return the volume between two squares with straight sides (prismatoid formula)."""
    return height / 3 * (low**2 + low * high + high**2)


def test_square_block_is_the_prismatoid():
    """Without radii a square block is the frustum of a pyramid: the draft only moves its foot."""
    body = plain(rectangle(40, 40), 12, top_radius_mm=0, draft_deg=5)
    run = 12 * tan(radians(5))
    mesh = build_raw_mold([body]).meshes[0]
    upright = plain(rectangle(40, 40), 12, top_radius_mm=0, draft_deg=0)

    rounding = (4 - pi) * run**2 / 3 * 12  # the foot's corners are rounded outward
    assert mesh.volume_mm3 == pytest.approx(frustum_mm3(40 + 2 * run, 40, 12) - rounding, rel=1e-4)
    assert build_raw_mold([upright]).meshes[0].volume_mm3 == pytest.approx(40 * 40 * 12, rel=1e-9)


def test_a_recess_takes_away_what_a_block_would_add():
    """Sinking and raising the same square mirror each other about the flat between them."""
    base = rectangle(80, 80)
    square = rectangle(30, 30)
    hole = Feature(name="in", region=square, direction=SUNK, wall=wall(8, 5, 0, 0))
    knob = Feature(name="in", region=square, wall=wall(8, 5, 0, 0), read_at=WallEnd.FOOT)
    bodies = [
        Feature(name="b", region=base, wall=wall(20, 0, 0), children=children)
        for children in ((), (hole,), (knob,))
    ]
    bare, sunken, raised = (build_raw_mold([body]).meshes[0].volume_mm3 for body in bodies)

    assert bare - sunken == pytest.approx(raised - bare, rel=1e-6)
    run = 8 * tan(radians(5))
    assert bare - sunken == pytest.approx(frustum_mm3(30, 30 - 2 * run, 8), rel=1e-5)


def test_plans_say_where_everything_lies():
    """A plan tells levels, outline, outer line and flat of every feature, parents first."""
    raw = build_raw_mold([screw_tray()])
    tray, deep, shallow = raw.plans

    assert [p.name for p in raw.plans] == ["tray", "deep", "shallow"]
    assert (tray.z_parent_mm, tray.z_flat_mm) == (0, 20)
    assert (deep.parent, deep.z_parent_mm, deep.z_flat_mm) == ("tray", 20, 5)
    assert shallow.z_flat_mm == 11
    assert tray.outer.contains(tray.flat)
    assert deep.outer.contains(deep.flat)
    assert tray.flat.contains(deep.outer)
    for plan, feature in zip(raw.plans[1:], screw_tray().children, strict=True):
        assert plan.outer.area == pytest.approx(outer_region(feature).area, rel=1e-9)
        assert plan.flat.area == pytest.approx(flat_region(feature).area, rel=1e-9)


@pytest.mark.parametrize("body", [tide_sign(), screw_tray(), plain(ring(40, 25)), tide_sign(37)])
def test_bodies_close(body):
    """Every body is closed, one surface around, and as high as its features say."""
    (mesh,) = build_raw_mold([body]).meshes
    top = topology_of(mesh)

    assert top.closed
    assert len(top.degenerate) == 0
    assert (top.volumes_mm3 > 0).all()
    holes = sum(len(part.interiors) for part in body.region.geoms)
    assert top.euler == 2 - 2 * holes
    assert mesh.points_mm[:, 2].min() == 0


def test_levels_of_levels():
    """Text sunk in a panel raised in a tray stands where the levels add up."""
    text = Feature(
        name="text",
        region=word("I", 14),
        direction=SUNK,
        wall=wall(2, top_radius_mm=0.4, base_radius_mm=0.4),
    )
    panel = Feature(
        name="panel",
        region=plate(40, 30),
        wall=wall(5, top_radius_mm=0.6, base_radius_mm=0.6),
        children=(text,),
    )
    tray = Feature(
        name="tray", region=plate(100, 80, 8), wall=wall(16),
        children=(sunk("well", plate(80, 60, 8), 10, (panel,)),),
    )  # fmt: skip
    raw = build_raw_mold([tray])

    assert [(p.name, p.parent, p.z_flat_mm) for p in raw.plans] == [
        ("tray", "", 16), ("well", "tray", 6), ("panel", "well", 11), ("text", "panel", 9),
    ]  # fmt: skip
    assert topology_of(raw.meshes[0]).euler == 2


def legal(children, flat):
    """Tell whether features lie on a flat and apart, by plain comparison of each with each."""
    outers = [outer_region(child) for child in children]
    apart = all(a.distance(b) > CLEARANCE_MM for k, a in enumerate(outers) for b in outers[k + 1 :])
    return apart and all(shapely.buffer(flat, -CLEARANCE_MM).covers(outer) for outer in outers)


@given(
    st.lists(
        st.tuples(st.floats(-40, 40), st.floats(-22, 22), st.floats(2.5, 7), st.booleans()),
        max_size=4,
    )
)
@settings(max_examples=20, deadline=None)
def test_random_plaques_close_or_are_refused(studs):
    """Studs and wells strewn over a plate give a closed body or one clear sentence."""
    children = tuple(
        Feature(
            name=f"stud {k}", region=disc(r, x, y),
            wall=wall(3, top_radius_mm=0.5, base_radius_mm=0.5),
            direction=SUNK if down else Direction.RAISED,
        )
        for k, (x, y, r, down) in enumerate(studs)
    )  # fmt: skip
    body = Feature(name="plate", region=plate(110, 70), wall=wall(8), children=children)
    if not legal(children, flat_region(body)):
        with pytest.raises(SpecError, match=r"^(gap between|outline of) stud \d"):
            build_raw_mold([body])
        return
    top = topology_of(build_raw_mold([body]).meshes[0])
    assert top.closed
    assert top.euler == 2
    assert top.n_pieces == 1


def reach(feature):
    """Return findings about strokes that do not reach their height."""
    return build_raw_mold([feature]).findings


def test_a_thin_stroke_is_found_where_it_is():
    """A bar that narrows ends in a ridge there: place, height reached and what would do."""
    wide = box(-30, -10, 0, 10).union(box(0, -1.2, 30, 1.2))
    body = plain([wide], 10, top_radius_mm=0.5, draft_deg=6)
    foot = Feature(name="body", region=body.region, wall=body.wall, read_at=WallEnd.FOOT)
    (found,) = reach(foot)
    half = 1.2

    assert found.code == "stroke-below-height"
    assert found.where_mm[0] > 0
    assert abs(found.where_mm[1]) < 0.1
    assert found.measured == pytest.approx(profile_of(foot).height_at_mm(half), abs=0.3)
    assert "Strokes need" in found.advice
    assert reach(plain(rectangle(60, 20), 10)) == ()


def test_even_height_is_a_height_that_does():
    """At the even height a flat of 0.4 mm is left; what that flat leans away on top is too much."""
    wide = MultiPolygon([box(-30, -10, 0, 10).union(box(0, -2, 30, 2))])
    tall = Feature(
        name="b", region=wide, wall=wall(30, 5, 0.5), read_at=WallEnd.FOOT
    )  # fmt: skip
    even = even_height_mm(tall)

    assert 5 < even < 30
    for height, count in ((even, 0), (even + 0.2 / tan(radians(5)) + 0.3, 1)):
        lower = Feature(
            name="b", region=wide, wall=wall(height, 5, 0.5), read_at=WallEnd.FOOT
        )  # fmt: skip
        assert len(reach(lower)) == count


def test_widest_half():
    """The widest stroke is that of the largest circle inside."""
    assert widest_half_mm(rectangle(30, 8)) == pytest.approx(4, abs=0.02)
    assert widest_half_mm(MultiPolygon([*disc(3).geoms, *disc(5, 20).geoms])) == pytest.approx(
        5, abs=0.05
    )


def offered(error):
    """Return the numbers an error offers, by their word."""
    return {
        word: float(number)
        for word, number in re.findall(
            r"(height|depth|draft|top radius|base radius) of ([\d.]+)", str(error)
        )
    }


def test_what_an_error_offers_does():
    """Each of height, draft and rim that a refusal offers, alone, gives a flat; a bit more not."""
    bar = rectangle(40, 5)
    field = {"height": "height_mm", "draft": "draft_deg", "top radius": "top_radius_mm"}
    base = {"height_mm": 20, "draft_deg": 8, "top_radius_mm": 1.5}
    with pytest.raises(SpecError, match="outline of b must be wider than") as caught:
        build_raw_mold([Feature(name="b", region=bar, wall=wall(**base), read_at=WallEnd.FOOT)])
    ways = offered(caught.value)

    assert set(ways) >= {"height", "draft"}
    for word_, value in ways.items():
        good = Feature(
            name="b", region=bar, wall=wall(**base | {field[word_]: value}), read_at=WallEnd.FOOT
        )
        assert not flat_region(good).is_empty
        worse = {field[word_]: value + (2 if word_ == "height" else 0.6)}
        more = Feature(name="b", region=bar, wall=wall(**base | worse), read_at=WallEnd.FOOT)
        assert flat_region(more).is_empty


def bad(**changes):
    """Return a plate with one feature on it, changed."""
    child = {"name": "knob", "region": plate(30, 20), "wall": wall(4, base_radius_mm=0.5)} | changes
    return [Feature(name="plate", region=plate(80, 50), wall=wall(6), children=(Feature(**child),))]


BAD = {
    "sunk body": (
        [Feature(name="pit", region=plate(30, 20), direction=SUNK, wall=wall(4))],
        r"^direction of pit must be raised \(got sunk\)\.",
    ),
    "too deep": (
        bad(direction=SUNK, wall=wall(5.5, base_radius_mm=0.5)),
        r"^depth of knob must be at most 4\.8 mm, to leave a floor of 1\.2 mm \(got 5\.5 mm\)\. "
        r"Make it shallower, or the body taller than 6\.7 mm there\.$",
    ),
    "through the table": (bad(direction=SUNK, wall=wall(12)), r"^depth of knob must be at most"),
    "off its parent": (
        bad(region=at(plate(30, 20), 30, 0)),
        r"^outline of knob must be within the flat of plate, fillet included \(got [\d.]+ mm "
        r"outside at x [\d.-]+, y [\d.-]+ mm\)\. Move or shrink knob, or make plate larger\.$",
    ),
    "bodies touch": (
        [plain(plate(30, 20)), Feature(name="b", region=at(plate(9, 20), 19, 0), wall=wall(5))],
        r"^gap between body and b must be open after fillets and draft are added",
    ),
    "children overlap": (
        [Feature(name="p", region=plate(80, 50), wall=wall(6), children=(
            Feature(name="x", region=plate(30, 20), wall=wall(3)),
            Feature(name="y", region=plate(12, 30), wall=wall(3)),
        ))],
        r"^gap between x and y must be open",
    ),
    "radii too large": (
        bad(wall=wall(4, top_radius_mm=3, base_radius_mm=3)),
        r"^top and base radius together of knob must be at most .* "
        r"Use smaller radii or a taller wall\.$",
    ),
    "top radius eats the stroke": (
        [plain(rectangle(40, 3), 10, top_radius_mm=3)],
        r"^outline of body must be wider than 5\.\d mm somewhere, so that draft and radii leave "
        r"it a flat \(got 3\.0 mm at its widest\)\. Make its strokes wider; or a top radius of "
        r"1\.\d mm would do\.$",
    ),
    "draft eats the recess": (
        bad(direction=SUNK, region=rectangle(20, 1.0), wall=wall(4, 10, 0.3, 0)),
        r"^outline of knob must be wider than .* a depth of \d.* or a draft of \d",
    ),
    "nothing would do": (
        [plain(rectangle(40, 0.1), 10, top_radius_mm=3)],
        r"Make its strokes wider\.$",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_input(name):
    """What cannot be built is refused in one sentence with field, rule, value and a way out."""
    bodies, says = BAD[name]
    with pytest.raises(SpecError, match=says):
        build_raw_mold(bodies)


def test_the_deepest_recess_that_passes():
    """A floor of exactly 1.2 mm is allowed."""
    (mesh,) = build_raw_mold(bad(direction=SUNK, wall=wall(4.8, base_radius_mm=0.5))).meshes

    floor = mesh.points_mm[:, 2]
    assert floor[floor > 0.5].min() == pytest.approx(1.2, abs=1e-9)


def test_flats_are_flat():
    """Every point well within a flat is at its level, to the last digit."""
    raw = build_raw_mold([tide_sign()])
    mesh = raw.meshes[0]
    middles = mesh.corners_mm.mean(axis=1)
    up = mesh.area_vectors_mm2[:, 2] > 0.999999 * mesh.areas_mm2
    for plan in some(raw.plans):
        inner = shapely.buffer(plan.flat, -0.2)
        for child in raw.plans:
            if child.parent == plan.name:
                inner = inner.difference(shapely.buffer(child.outer, 0.2))
        on = up & shapely.contains_xy(inner, *middles[:, :2].T)
        assert on.any()
        np.testing.assert_allclose(mesh.corners_mm[on][..., 2], plan.z_flat_mm, atol=1e-12)


def test_a_wall_that_lost_its_draft_is_told():
    """A wall made at 4.5 degrees for 5 is a caution with its place; one at 4.95 is none."""
    lost = Steepest(slope=1 / tan(radians(4.5)), where_mm=(1.0, 2.0, 3.0), moved_mm=0.0)
    (finding,) = check_wall_made("letters", 5.0, lost)
    assert (finding.code, finding.where_mm) == ("draft-not-kept", (1.0, 2.0, 3.0))
    assert finding.measured == pytest.approx(4.5)
    kept = Steepest(slope=1 / tan(radians(4.95)), where_mm=(0.0, 0.0, 0.0), moved_mm=0.0)
    assert list(check_wall_made("letters", 5.0, kept)) == []


def test_an_eased_wall_is_told():
    """Heights moved by more than 0.02 mm are a note."""
    eased = Steepest(slope=1.0, where_mm=(0.0, 0.0, 0.0), moved_mm=0.05)
    assert [f.code for f in check_wall_made("letters", 5.0, eased)] == ["wall-eased"]
