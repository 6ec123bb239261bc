"""The estimate of a print on solids whose walls, skins, infill and moves can be worked out."""

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from support.molds import SHOP
from support.printed import BED, PETG, box, mesh, opened, rod

from moldgen.errors import GeometryError, SpecError
from moldgen.printing.contours import LevelCutter
from moldgen.printing.estimate import basis_of, estimate, filament_m, mass_g, spoken_time, summed
from moldgen.printing.facing import measure_facing
from moldgen.printing.inset import inset_of
from moldgen.printing.layer_runs import layer_runs
from moldgen.printing.print_spec import USUAL, PrintSpec, line_of
from moldgen.printing.print_stack import build_print_stack
from moldgen.printing.print_time import Motion, run_s
from moldgen.solid.mesh import Mesh

LINE = line_of(BED)
SPACING = 0.44 - 0.2 * (1 - pi / 4)


def taken_of(solid, printer=BED, **words):
    return estimate(mesh(solid), filament=PETG, printer=printer, spec=PrintSpec(**words))


def runs_of(solid, **words):
    return list(layer_runs(mesh(solid), PrintSpec(**words), LINE))


@pytest.mark.parametrize("name", ["PLA", "PETG", "ABS"])
def test_a_solid_cube_weighs_its_volume_times_the_density(name):
    """A cube of 20 mm in PETG of 1.27 g/cm3 is 10.16 g."""
    filament = SHOP.filament(name)

    taken = estimate(
        mesh(box(20, 20, 20)), filament=filament, printer=BED, spec=PrintSpec(infill=1.0)
    )

    assert taken.plastic_mm3 == pytest.approx(8000)
    assert taken.mass_g == pytest.approx(8.0 * filament.density_kg_m3 / 1000)
    assert taken.filament_m == pytest.approx(8.0 / (pi / 4 * 1.75**2))
    assert taken.n_layers == 100


def test_walls_skins_and_infill_of_a_block_are_those_of_boxes():
    """Walls are lines 0.397 mm apart, skins two plates between them and a bridge, the rest 20 %."""
    taken = taken_of(box(60, 40, 10), walls=2, skins=4, infill=0.2)

    lines_mm = sum(2 * (60 + 40) - 8 * (0.22 + lap * SPACING) for lap in range(2))
    core_mm2 = (60 - 4 * SPACING) * (40 - 4 * SPACING)
    bridge_mm = pi / 4 * 0.4**2 / 0.45
    assert taken.wall_mm3 == pytest.approx(lines_mm * SPACING * 10, rel=0.01)
    assert taken.skin_mm3 == pytest.approx(core_mm2 * (8 * 0.2 + bridge_mm - 0.2), rel=0.01)
    assert taken.fill_mm3 == pytest.approx(0.2 * core_mm2 * 8.4, rel=0.04)
    assert taken.volume_mm3 == pytest.approx(24_000)
    assert {type(taken.mass_g), type(taken.time_s), type(taken.wall_mm3)} == {float}


def test_walls_of_a_disc_are_circles():
    """Each line inward is shorter by 2 pi times its distance, no more."""
    taken = taken_of(Manifold.cylinder(4, 5, 5, 256), walls=2)

    lines_mm = sum(2 * pi * (5 - 0.22 - lap * SPACING) for lap in range(2))
    assert taken.wall_mm3 == pytest.approx(lines_mm * SPACING * 4, rel=0.01)


def test_time_of_a_solid_block_is_that_of_its_lines():
    """Lines at 45 degrees over a plate: their number, a ramp up and down for each, three laps."""
    swift = replace(BED, travel_mm_s=2000.0)
    taken = taken_of(box(100, 60, 2), swift, skins=5, first_mm_s=70, retract_s=0)

    inner = LINE.inset_mm(3)
    width, depth = 100 - 2 * inner, 60 - 2 * inner
    lines = (width + depth) / sqrt(2) / SPACING
    fill_s = width * depth / SPACING / 70 + lines * (70 - 8) ** 2 / (1000 * 70)
    walls_s = sum(2 * 160 - 8 * (0.22 + lap * SPACING) for lap in range(3)) / 45
    assert taken.time_s == pytest.approx(10 * (fill_s + walls_s), rel=0.08)


@given(st.floats(0, 1), st.integers(1, 6), st.integers(0, 8))
@settings(max_examples=20)
def test_a_print_never_holds_more_plastic_than_the_solid(infill, walls, skins):
    """Whatever is chosen, and a fuller one never takes less."""
    cone = mesh(Manifold.cylinder(12, 15, 4, 48))
    spec = PrintSpec(infill=infill, walls=walls, skins=skins)
    fuller = PrintSpec(infill=1.0, walls=walls, skins=skins)

    taken = estimate(cone, filament=PETG, printer=BED, spec=spec)
    full = estimate(cone, filament=PETG, printer=BED, spec=fuller)

    assert 0 < taken.plastic_mm3 <= full.plastic_mm3 * (1 + 1e-9)
    assert full.plastic_mm3 == pytest.approx(full.volume_mm3)


def test_a_thin_wall_is_all_walls():
    """A wall of 1.2 mm has no room for skins or infill beside its lines."""
    thin = taken_of(box(60, 1.2, 10), walls=2)

    assert thin.wall_mm3 == pytest.approx(thin.volume_mm3)
    assert thin.skin_mm3 == thin.fill_mm3 == 0


def test_a_print_takes_as_long_wherever_it_stands_and_however_it_is_written():
    """Moved, its triangles in another order, its corners not joined, inside out: the same."""
    solid = mesh(box(60, 40, 12) - rod(8, 12, 20, 20, 6))
    corners = solid.points_mm[solid.triangles].reshape(-1, 3)
    loose = np.arange(len(corners), dtype=np.int32).reshape(-1, 3)
    written = (
        Mesh(solid.points_mm + np.array([300, -200, 50]), solid.triangles.copy()),
        Mesh(solid.points_mm.copy(), solid.triangles[::-1].copy()),
        Mesh(corners, loose),
        Mesh(solid.points_mm.copy(), np.ascontiguousarray(solid.triangles[:, ::-1])),
    )
    one = estimate(solid, filament=PETG, printer=BED)

    for other in written:
        same = estimate(other, filament=PETG, printer=BED)
        assert (same.mass_g, same.time_s) == pytest.approx((one.mass_g, one.time_s), rel=1e-6)
        assert same.n_layers == one.n_layers


@pytest.mark.parametrize(
    ("longer", "words"),
    [
        (True, {"acceleration_mm_s2": 300.0}),
        (True, {"corner_mm_s": 1.0}),
        (True, {"travel_mm_s": 30.0}),
        (True, {"layer_mm": 0.1}),
        (False, {"acceleration_mm_s2": 5000.0}),
    ],
)
def test_every_value_of_the_printer_counts(longer, words):
    """A printer that is slower in one respect takes longer, a quicker one less."""
    solid = box(50, 40, 8) - rod(6, 8, 15, 20) - rod(6, 8, 35, 20)

    usual, other = taken_of(solid), taken_of(solid, replace(BED, **words))

    assert (other.time_s > 1.005 * usual.time_s) is longer
    assert (other.time_s < 0.995 * usual.time_s) is not longer


def test_the_first_layer_is_slow_and_short_layers_are_held():
    """A plate of one layer is laid at the first layer's speed; a pin's layers take five seconds."""
    plate, pin = taken_of(box(100, 60, 0.2)), taken_of(rod(1.5, 20))
    quick = taken_of(box(100, 60, 0.2), first_mm_s=70)

    assert plate.n_layers == 1
    assert plate.time_s > 100 * 60 / SPACING / 25
    assert plate.time_s > 1.8 * quick.time_s
    held = taken_of(rod(1.5, 20), least_layer_s=0)
    assert pin.time_s > 1.1 * held.time_s


def test_a_ceiling_is_a_bridge_and_so_is_a_skin_over_infill():
    """A table on four feet: its plate's first layer hangs in the air, its top lies on infill."""
    feet = [rod(6, 10, x, y) for x in (8, 72) for y in (8, 52)]
    table = box(80, 60, 10).translate((0, 0, 10))
    for foot in feet:
        table += foot
    runs = runs_of(table)
    bridges = {run.first: run.bridge_mm2 for run in runs if run.bridge_mm2 > 100}

    assert list(bridges) == [50, 94]
    assert bridges[50] == pytest.approx(77.8 * 57.8, rel=0.1)
    assert bridges[94] == pytest.approx(77.8 * 57.8, rel=0.02)
    assert sum(run.count for run in runs) == 100


def test_a_small_patch_of_infill_is_laid_solid():
    """A post of 8 x 8 mm has no room for infill where 70 mm2 are asked for, and has where not."""
    post = box(8, 8, 20)

    assert taken_of(post).fill_mm3 == 0
    assert taken_of(post, least_infill_mm2=10).fill_mm3 > 0


def test_a_level_cut_is_outlines_with_their_lengths_and_areas():
    """A block with a round hole: an island and a hole, both turn once round."""
    cut = LevelCutter(mesh(box(40, 30, 10) - rod(5, 10, 20, 15, sides=256))).at(4.0)

    assert sorted(cut.area_mm2) == pytest.approx([-25 * pi, 1200], rel=1e-3)
    assert sorted(cut.length_mm) == pytest.approx([10 * pi, 140], rel=1e-3)
    assert cut.turn_rad == pytest.approx([2 * pi, 2 * pi])
    assert cut.middle_mm == pytest.approx(np.full((2, 2), (20, 15)), abs=7)
    assert cut.span_mm2 == pytest.approx(1200)
    assert list(cut.island) == list(cut.area_mm2 > 0)
    assert len(LevelCutter(mesh(box(10, 10, 10))).at(11.0).area_mm2) == 0


def test_a_cut_through_a_hole_in_the_mesh_does_not_close():
    """One sentence tells that it is no closed solid."""
    solid = mesh(box(10, 10, 10))
    upright = int(np.argmin(np.abs(solid.area_vectors_mm2[:, 2])))
    torn = Mesh(solid.points_mm.copy(), np.delete(solid.triangles, upright, axis=0))

    with pytest.raises(GeometryError, match="a level cut through it does not close"):
        LevelCutter(torn).at(5.0)


@given(st.floats(5, 60), st.floats(0.2, 4))
def test_an_outline_moved_in_is_exact_for_circles(radius, inset):
    """Steiner's formula: a disc and the hole in a plate, moved by the same distance."""
    spacing = 1e-6
    solid = box(300, 300, 2).translate((-150, -150, 0)) - rod(radius, 2, sides=720)
    hole = inset_of(LevelCutter(mesh(solid)).at(1.0), inset, spacing_mm=spacing)
    disc = inset_of(LevelCutter(mesh(rod(radius, 2, sides=720))).at(1.0), inset, spacing_mm=spacing)

    assert disc.area_mm2 == pytest.approx([pi * (radius - inset) ** 2], rel=1e-3)
    assert disc.edge_mm == pytest.approx([2 * pi * (radius - inset)], rel=1e-3)
    assert hole.area_mm2[~hole.island] == pytest.approx([-pi * (radius + inset) ** 2], rel=1e-3)
    assert hole.edge_mm[~hole.island] == pytest.approx([2 * pi * (radius + inset)], rel=1e-3)


def test_what_faces_up_and_down_is_told_by_plane():
    """A step of two levels over a chamfer: level faces, and the slope's shadow and side."""
    step = box(20, 10, 4) + box(10, 10, 8)
    wedge = Manifold.hull_points([(x, y, z) for x, z in ((0, 0), (20, 0), (0, 4)) for y in (0, 10)])
    facing = measure_facing(mesh(step), layer_mm=0.2, n_layers=40)
    sloping = measure_facing(mesh(wedge), layer_mm=0.2, n_layers=20)

    assert facing.level_up_mm2[[20, 40]] == pytest.approx([100, 100])
    assert facing.up_mm2.sum() == pytest.approx(200)
    assert facing.down_mm2[0] == facing.level_down_mm2[0] == pytest.approx(200)
    assert facing.slope_mm2.sum() == 0
    assert sloping.level_up_mm2.sum() == 0
    assert sloping.up_mm2.sum() == pytest.approx(200)
    assert sloping.slope_mm2.sum() == pytest.approx(40)
    hanging = measure_facing(mesh(wedge.mirror((0, 0, 1))), layer_mm=0.2, n_layers=20)
    assert hanging.down_mm2.sum() == pytest.approx(200)
    assert hanging.level_down_mm2.sum() == hanging.slope_mm2.sum() == 0


def test_a_stack_is_parted_where_level_faces_and_their_skins_end():
    """A step of 4 and 8 mm with six skins: its planes, and no run of more than 25 layers."""
    stack = build_print_stack(mesh(box(20, 10, 4) + box(10, 10, 8)), layer_mm=0.2, skins=6)

    assert [first for first, _ in stack.bounds] == [0, 6, 14, 20, 34]
    assert stack.bounds[-1][1] == stack.n_layers == 40
    assert [stack.is_skin(number) for number in range(5)] == [True, False, False, False, True]
    assert stack.above(2).level_mm2 == pytest.approx(100)
    assert stack.above(3).ends_mm2 == pytest.approx(0)
    tall = build_print_stack(mesh(box(20, 20, 60)), layer_mm=0.2, skins=6)
    assert max(end - first for first, end in tall.bounds) <= 25


@given(st.floats(0.01, 300), st.floats(10, 300), st.floats(100, 10_000), st.floats(0.5, 20))
def test_a_line_takes_a_trapezoid_of_speed(length, speed, acceleration, corner):
    """Never less than at its set speed; exactly the ramps more where it is long enough."""
    motion = Motion(acceleration_mm_s2=acceleration, corner_mm_s=corner)
    slow = min(corner, speed)
    ramps_mm = (speed**2 - slow**2) / acceleration

    time_s = motion.line_s(length, speed)

    if length >= ramps_mm:
        assert time_s == pytest.approx(length / speed + (speed - slow) ** 2 / acceleration / speed)
    else:
        half_s = time_s / 2
        assert length == pytest.approx(2 * (slow * half_s + acceleration * half_s**2 / 2))
    assert time_s >= length / speed * (1 - 1e-9)
    assert motion.corner_s(speed) == pytest.approx((speed - slow) ** 2 / acceleration / speed)


def test_runs_add_up_to_the_print():
    """The time of a print is that of its runs, scaled to its true volume."""
    solid = box(60, 40, 12) - rod(8, 12, 20, 20, 6)
    taken = taken_of(solid)
    runs = runs_of(solid)
    cut = sum(run.count * 0.2 * run.contours.all_mm2 for run in runs)

    total = sum(run_s(run, USUAL, line=LINE, printer=BED) for run in runs)

    assert taken.time_s == pytest.approx(total * taken.volume_mm3 / cut)
    assert taken.n_layers == sum(run.count for run in runs)


def test_prints_add_up():
    """Two of a kind take twice of everything and keep their basis; of none there is no sum."""
    one = taken_of(box(30, 20, 10))

    two = summed([one, one])

    assert (two.mass_g, two.filament_m, two.time_s) == pytest.approx(
        (2 * one.mass_g, 2 * one.filament_m, 2 * one.time_s)
    )
    assert (two.n_layers, two.basis) == (2 * one.n_layers, one.basis)
    with pytest.raises(SpecError, match=r"taken must be at least one estimate \(got none\)"):
        summed([])


def test_the_basis_names_the_settings_and_how_far_to_trust_it():
    """Whoever slices can set the same, and knows that a tenth is all that is promised."""
    basis = basis_of(PrintSpec(infill=0.15), replace(BED, acceleration_mm_s2=2500.0))

    assert basis.startswith("within about 10 % of a slicing program at the same settings")
    for words in ("0.2 mm layers", "3 walls", "15 % infill", "45 mm/s", "2500 mm/s²", "8 mm/s"):
        assert words in basis


def test_an_open_mesh_is_not_estimated():
    """The sentence counts the edges that are wrong."""
    with pytest.raises(GeometryError, match=r"the part is not a closed solid: 3 of its edges"):
        estimate(opened(box(10, 10, 10)), filament=PETG, printer=BED)


def test_small_figures():
    """Mass, filament and the way a time is said: never to the minute from an hour on."""
    assert mass_g(1000, PETG) == pytest.approx(1.27)
    assert filament_m(pi / 4 * 1000, 1.0) == pytest.approx(1)
    said = [spoken_time(s) for s in (30, 1500, 3580, 3600, 6100, 9100, 50_000)]
    assert said == ["5 min", "25 min", "1 h", "1 h", "1 h 40 min", "2 h 30 min", "13 h 50 min"]
