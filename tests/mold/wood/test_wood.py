"""A mold built from boards: layers nest, add up to the mold, lean by the draft and hold dowels."""

from itertools import pairwise
from math import radians, tan

import pytest
import shapely
from shapely import Point, box
from support.molds import SUNK, disc, plate, wall
from support.outlines import as_multi
from support.some import some

from moldgen.errors import SpecError
from moldgen.mold.features import Feature
from moldgen.mold.vents.vent import LowPlace, Reason, Vent
from moldgen.mold.wood.bores import SKIN_MM, WIDE_MM, bores_in
from moldgen.mold.wood.layers import SAME_MM
from moldgen.mold.wood.wood import build_wood, tight_corners
from moldgen.stock.board import BoardSystem, boards_for, load_boards

METRIC = BoardSystem.METRIC


def vent(x, y, z, name="V1"):
    """Return a vent of 1 mm."""
    low = LowPlace(x_mm=x, y_mm=y, z_mm=z, gap_mm=2, air_mm3=100, reason=Reason.POCKET)
    return Vent(
        name=name, x_mm=x, y_mm=y, z_mm=z, diameter_mm=1.0, feature="crate", low=low
    )  # fmt: skip


def crate():
    """Return a block 46 mm tall with a buoy on it and a recess of 10.5 mm beside that."""
    buoy = Feature(name="buoy", region=disc(15, -40, 0), wall=wall(9, 6, base_radius_mm=1.0))
    hold = Feature(name="hold", region=disc(20, 40, 0), direction=SUNK, wall=wall(10.5, 8))
    return Feature(name="crate", region=plate(160, 90), wall=wall(46, 5), children=(buoy, hold))


@pytest.fixture(scope="module")
def wood():
    """Return the crate from metric boards, with a vent on its top and one in its recess."""
    vents = [vent(0, 0, 46), vent(40, 0, 35.5, "V2")]
    return build_wood([crate()], vents, METRIC)


def test_each_layer_contains_what_lies_above_it(wood):
    """The lower face of a layer contains its upper face, which is the lower face of the next."""
    for layer in some(wood.layers):
        grown = shapely.buffer(layer.wood_below, 1e-6)
        assert shapely.covers(grown, layer.wood_above)
    block = [layer for layer in wood.layers if layer.feature == "crate"]
    for low, high in some(list(pairwise(block))):
        assert high.z_mm == pytest.approx(low.top_mm)
        assert shapely.equals_exact(low.upper, high.lower, 1e-9, normalize=True)


def test_the_stack_is_as_tall_as_the_mold(wood):
    """Boards, less what is told to be planed off, add up to the heights of the features."""
    for name, low, high in (("crate", 0, 46), ("buoy", 46, 55)):
        own = [layer for layer in wood.layers if layer.feature == name]
        assert own[0].z_mm == pytest.approx(low)
        assert own[-1].top_mm == pytest.approx(high)
        for layer in some(own):
            told = layer.board.thickness_mm - layer.planed_mm
            assert layer.thickness_mm == pytest.approx(told, abs=SAME_MM)
    assert wood.height_mm == pytest.approx(55)


def test_layers_lean_by_the_draft(wood):
    """On a straight side the saw line lies inward by the thickness times the tangent of draft."""
    block = [layer for layer in wood.layers if layer.feature == "crate"]
    for layer in some(block):
        inward = (layer.upper.bounds[0] - layer.lower.bounds[0]) / layer.thickness_mm
        assert inward == pytest.approx(tan(radians(5)), rel=1e-6)
        assert layer.draft_deg == 5
    assert block[-1].upper.bounds[2] == pytest.approx(80), "the outline is true at the top"


def test_recesses_widen_upward_and_stop_at_their_floor(wood):
    """What a recess takes from a layer is wider above; its floor is told as a depth from above."""
    cut = [(layer, one) for layer in wood.layers for one in layer.cuts]
    for layer, one in some(cut):
        assert one.upper.bounds[2] - one.lower.bounds[2] == pytest.approx(
            min(one.depth_mm, layer.thickness_mm) * tan(radians(8)), rel=2e-3
        )
        assert one.through == (layer.z_mm >= 35.5 - SAME_MM)
    deepest = min(layer.top_mm - one.depth_mm for layer, one in cut)
    assert deepest == pytest.approx(35.5)
    assert any(not one.through for _, one in cut)


def test_what_boards_are_too_thick_is_planed_off():
    """A plate of 13.5 mm takes boards of 14 mm, of which half a millimeter is planed off."""
    plain = Feature(name="plate", region=plate(90, 90), wall=wall(13.5, 5))
    layers = build_wood([plain], [], METRIC).layers
    assert sum(layer.planed_mm for layer in layers) == pytest.approx(0.5)
    assert layers[-1].top_mm == pytest.approx(13.5)


def test_a_floor_lies_between_two_layers_where_boards_allow(wood):
    """A recess of 18 mm in a block of 30 mm is one board sawn through, on a whole one."""
    hold = Feature(name="hold", region=disc(20), direction=SUNK, wall=wall(18, 8))
    block = Feature(name="crate", region=plate(90, 90), wall=wall(30, 5), children=(hold,))
    low, high = build_wood([block], [], METRIC).layers
    assert (low.thickness_mm, high.thickness_mm) == (12, 18)
    assert not low.cuts
    assert high.angles_deg == (5, 8)
    assert wood.layers[-1].stands_on == "crate"


def test_dowels_lie_in_all_their_layers_away_from_vents_and_edges(wood):
    """A dowel with the wood it wants beside it fits in both faces, clear of every bore."""
    by_number = {layer.number: layer for layer in wood.layers}
    for dowel in some(wood.dowels.dowels):
        hole = Point(dowel.x_mm, dowel.y_mm).buffer(
            dowel.diameter_mm / 2 + min(2, dowel.diameter_mm / 2) - 1e-3
        )
        assert len(dowel.layers) > 1
        for number in dowel.layers:
            assert shapely.covers(by_number[number].wood_below, hole)
            assert shapely.covers(by_number[number].wood_above, hole)
        for bore in some(wood.bores):
            gap = Point(dowel.x_mm, dowel.y_mm).distance(Point(bore.x_mm, bore.y_mm))
            assert gap > dowel.diameter_mm / 2 + WIDE_MM / 2
    block = [layer.number for layer in wood.layers if layer.feature == "crate"]
    assert sum(dowel.layers == tuple(block) for dowel in wood.dowels.dowels) == 2
    assert not wood.dowels.without


def test_a_dowel_makes_way_for_a_vent(wood):
    """Where a vent opens at the place of a dowel, the dowel stands aside."""
    first = wood.dowels.dowels[0]
    built = build_wood([crate()], [vent(first.x_mm, first.y_mm, 46)], METRIC)
    for dowel in some(built.dowels.dowels):
        gap = Point(dowel.x_mm, dowel.y_mm).distance(Point(first.x_mm, first.y_mm))
        assert gap > dowel.diameter_mm / 2 + WIDE_MM / 2


def test_a_piece_too_small_for_dowels_is_told():
    """A peg of 4 mm gets none, and its layer is named."""
    peg = Feature(name="peg", region=disc(2.0), wall=wall(3, 2, top_radius_mm=0))
    block = Feature(name="crate", region=plate(90, 90), wall=wall(18, 5), children=(peg,))
    plan = build_wood([block], [], METRIC).dowels
    assert plan.dowels == ()
    assert plan.without == (2,)


def test_bores_end_under_the_surface(wood):
    """The wide bore ends 4 mm under the mouth; only layers wholly below that show it."""
    (bore,) = build_wood([crate()], [vent(0, 0, 44)], METRIC).bores
    assert bore.deep_mm == pytest.approx(44 - SKIN_MM)
    assert bore.fine_mm == 1.0
    seen = [dict(bores_in(layer, [bore])).get(bore) for layer in wood.layers[:-1]]
    for layer, diameter in some(list(zip(wood.layers[:-1], seen, strict=True))):
        wide = layer.top_mm <= bore.deep_mm + SAME_MM
        assert diameter == (WIDE_MM if wide else 1.0)
    assert {WIDE_MM, 1.0} <= set(seen)
    assert not bores_in(wood.layers[-1], [bore]), "the buoy is not over the vent"


def test_thin_vents_get_the_least_drill():
    """A vent of 0.5 mm is drilled with 0.8 mm."""
    thin = vent(0, 0, 2)
    bores = build_wood([crate()], [Vent(**{**vars(thin), "diameter_mm": 0.5})], METRIC).bores
    assert (bores[0].fine_mm, bores[0].deep_mm) == (0.8, 0.0)


@pytest.mark.parametrize("system", BoardSystem)
@pytest.mark.parametrize("height_mm", [4, 6, 10, 13.37, 44, 101.6, 251])
def test_boards_are_enough_with_least_to_plane(height_mm, system):
    """No board can be left out, and less is planed off than the thinnest board is thick."""
    sizes = [board.thickness_mm for board in boards_for(height_mm, system)]
    least = min(b.thickness_mm for b in load_boards() if b.system is system)
    over = sum(sizes) - height_mm
    assert -0.006 <= over < least
    assert sum(sizes) - min(sizes) < height_mm


def test_boards_that_match_need_no_plane():
    """A height that boards add up to is met with the fewest of them."""
    assert [b.name for b in boards_for(30, METRIC)] == ["18 mm", "12 mm"]
    inch = [board.thickness_mm for board in boards_for(25.4, BoardSystem.INCH)]
    assert (len(inch), sum(inch)) == (2, pytest.approx(25.4))


def test_no_boards_for_no_height():
    """A height of nothing is refused by its limits."""
    with pytest.raises(SpecError, match="height_mm must be more than 0"):
        boards_for(0, METRIC)


def test_tight_concave_corners_are_counted():
    """The one inner corner of an L is too sharp for a blade; a rounded one is not."""
    ell = as_multi(shapely.union(box(0, 0, 40, 15), box(0, 0, 15, 40)))
    feature = Feature(name="ell", region=ell, wall=wall(6, 0, top_radius_mm=0))
    round_one = as_multi(ell.buffer(3).buffer(-3))
    eased = Feature(name="ell", region=round_one, wall=wall(6, 0, top_radius_mm=0))
    assert tight_corners(build_wood([feature], [], METRIC).layers[0]) == 1
    assert tight_corners(build_wood([eased], [], METRIC).layers[0]) == 0
