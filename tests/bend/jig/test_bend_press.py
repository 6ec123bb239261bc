"""Press: the fold has its gap, tray and lid close on it, the insert goes in and prints."""

import pytest
import shapely
from support.jigs import PRINTER, section
from support.strips import fold, strip

from moldgen.bend.jig.fitted import strip_in_jig
from moldgen.bend.jig.press import PressSpec, build_press
from moldgen.bend.strip.layout import build_layout
from moldgen.bend.strip.part import Bend
from moldgen.errors import SpecError
from moldgen.printing.bed import STEEPEST_DEG, steepest_overhang_deg
from moldgen.printing.bed_fit import fits_bed
from moldgen.solid.sound import solid_from_mesh
from moldgen.solid.topology import topology_of


def press(spec, number=1, *, bent=(), make=None):
    chosen = make or PressSpec(label=False)
    return build_press(spec, build_layout(spec), number, chosen, PRINTER, bent=bent)


@pytest.mark.parametrize("gap", [1.2, 3.0, 8.0])
@pytest.mark.parametrize("label", [True, False])
def test_tray_lid_and_insert_are_closed_and_print(gap, label):
    """Three closed bodies that fit the printer without support."""
    made = press(fold(gap), make=PressSpec(label=label))

    assert [one.name for one in made.bodies] == [
        "press 1 tray", "press 1 lid", "press 1 insert",
    ]  # fmt: skip
    for one in made.bodies:
        assert topology_of(one.mesh).closed
        assert topology_of(one.mesh).n_pieces == 1
        assert fits_bed(one.mesh, PRINTER)
        assert steepest_overhang_deg(one.mesh) <= STEEPEST_DEG + 0.01


@pytest.mark.parametrize("gap", [1.2, 3.0, 8.0])
def test_the_lid_rests_when_the_fold_has_its_gap(gap):
    """Fence, rail and wall end two thicknesses and the gap above the tray's floor."""
    made = press(fold(gap))
    top = made.tray.mesh.bounds_mm[1, 1]

    assert top - (-1.5) == pytest.approx(2 * 3.0 + gap)
    assert made.gap_mm == pytest.approx(gap)
    assert made.insert_mm == pytest.approx(gap - 0.2)
    assert made.insert.mesh.bounds_mm[1, 2] == pytest.approx(gap - 0.2)


def test_the_tray_holds_the_fold_with_its_clearance():
    """The folded strip keeps its distance from the tray everywhere but at the fence."""
    made = press(fold(3.0))
    tray = section(solid_from_mesh(made.tray.mesh, doing="testing"), 30.0)
    lying = solid_from_mesh(strip_in_jig(made.held, 4.0).mesh, doing="testing")
    outline = shapely.segmentize(section(lying, 30.0).exterior, 0.5)
    points = shapely.get_coordinates(outline)
    distance = shapely.distance(tray, shapely.points(points))
    free = points[:, 0] > -made.fence_mm + 1.0

    assert distance[free].min() > 0.18
    assert distance[~free].min() == pytest.approx(0.0, abs=1e-6)


def test_the_nose_of_the_insert_lies_within_the_round_of_the_fold():
    """Pushed to the bottom of the fold, no corner of the insert touches the strip."""
    made = press(fold(4.0))
    center, inner = made.held.center_mm, made.held.inner_mm
    points = made.insert.mesh.points_mm
    blade = points[points[:, 0] > center[0]]
    # The insert lies in the gap's middle: its half thickness is at the center of the bend.
    from_middle = blade[:, 2] - made.insert_mm / 2

    assert len(blade)
    assert max((blade[:, 0] - center[0]) ** 2 + from_middle**2) < inner**2


def test_the_shorter_leg_is_folded_over():
    """The longer leg lies in the tray, so that the folded one ends before the fence."""
    made = press(fold(2.0))

    assert made.held.runs_mm[0] > made.held.runs_mm[1]


def test_a_gap_too_thin_to_print_asks_for_card():
    """A gap under a millimeter has no printed insert, and says what to lay in."""
    made = press(fold(0.5))

    assert made.insert is None
    assert made.insert_mm == 0.0
    assert [f.code for f in made.findings] == ["press-without-insert"]


def test_a_leg_already_bent_finds_room():
    """A flange bent before hangs through the tray, which is told."""
    spec = strip([90.0, 60.0, 40.0], [90.0, 90.0])
    spec = type(spec)(
        **{
            name: getattr(spec, name)
            for name in ("name", "thickness_mm", "width_mm", "plastic", "legs_mm")
        },
        bends=(Bend(angle_deg=180, gap_mm=2.0), Bend(angle_deg=90)),
    )
    made = press(spec, 1, bent=[2])
    tray = section(solid_from_mesh(made.tray.mesh, doing="testing"), 30.0)

    assert tray.intersection(made.held.region).area < 0.01


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: press(strip([80, 120], [90])), "angle_deg must be 180° for a press"),
        (lambda: press(fold(), 2), "number must be that of a bend, 1 to 1"),
        (lambda: press(fold(), bent=[1]), "bent must be numbers of other bends"),
        (lambda: press(fold(), make=PressSpec(hold="up")), "hold must be left or right"),
        (lambda: PressSpec(lid_mm=0.5), "lid_mm must be at least 3 mm"),
        (lambda: PressSpec(wall_mm=1.0), "wall_mm must be at least 5 mm"),
        (lambda: PressSpec(clearance_mm=0.0), "clearance_mm must be at least 0.05 mm"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(make, match):
    """What cannot be is refused with the field and what to do."""
    with pytest.raises(SpecError, match=match):
        make()


@pytest.mark.parametrize("facing", [1.0, 3.0])
def test_a_faced_press_leaves_room_for_wood_on_every_hot_face(facing):
    """Floor and wall stand back by it and the lid rests higher; the insert is a board."""
    plain, faced = press(fold(6.0)), press(fold(6.0), make=PressSpec(label=False, facing_mm=facing))
    low, high = faced.tray.mesh.bounds_mm - plain.tray.mesh.bounds_mm
    tray = section(solid_from_mesh(faced.tray.mesh, doing="testing"), 30.0)
    floor, wall = -1.5 - facing, plain.tray.mesh.bounds_mm[1, 0] - 8.0 + facing

    assert (low[1], high[1]) == pytest.approx((-facing, facing))
    assert high[0] == pytest.approx(facing)
    for x, y, solid in (
        (-5.0, floor + 0.1, False),
        (-5.0, floor - 0.1, True),
        (wall - 0.1, 0.0, False),
        (wall + 0.1, 0.0, True),
    ):
        assert tray.contains(shapely.Point(x, y)) == solid
    assert faced.insert is None
    assert "press-without-insert" not in {finding.code for finding in faced.findings}
    assert all(topology_of(one.mesh).closed for one in faced.bodies)
