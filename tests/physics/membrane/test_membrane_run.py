"""A word drawn into plastic: where points end, what is conserved, how it is kept."""

from functools import cache
from io import BytesIO
from zipfile import ZipFile

import numpy as np
import pytest
from support.depths import depths_along
from support.membrane_shapes import turned
from support.molds import wall, word
from support.round_mesh import build_round_mesh
from support.rubber_formulas import energy

from moldgen.errors import FileError, SpecError
from moldgen.execution import run_with
from moldgen.limits import Limits
from moldgen.mold.build import build_raw_mold
from moldgen.mold.features import Feature
from moldgen.physics.membrane import force_kernel as kernel
from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.run import HELD, ON_FLOOR, FormingSpec
from moldgen.physics.membrane.run_file import load_run, write_run
from moldgen.physics.membrane.sheet_mesh import SheetMesh, SideLengths, build_sheet_mesh
from moldgen.physics.membrane.touch import MoldFaces, buckets_of
from moldgen.physics.membrane.touch_kernel import heights_under
from moldgen.physics.membrane.work import sheet_of

CLAMP = [(-30, -25), (30, -25), (30, 25), (-30, 25)]


@cache
def word_mold():
    """Return the faces of two letters, 6 mm tall."""
    raw = build_raw_mold(
        [Feature(name="sign", region=word("AD", 22), wall=wall(6, top_radius_mm=1.0))]
    )
    return MoldFaces(corners_mm=np.concatenate([mesh.corners_mm for mesh in raw.meshes]))


@cache
def word_run():
    """Return the sheet drawn over the letters."""
    return form_sheet(build_sheet_mesh(CLAMP, size_mm=1.5), word_mold())


def test_no_point_ends_inside_the_mold():
    """Seen from straight above and along the sheet's own path, at most 0.05 mm."""
    run, buckets = word_run(), buckets_of(word_mold())
    rest = run.points_mm[run.touches != HELD]
    under = heights_under(np.ascontiguousarray(rest[:, :2]), 7.0, buckets)
    steep = under - rest[:, 2]
    sideways = [
        depths_along(rest, np.tile(way, (len(rest), 1)), buckets)
        for way in ([0.0, 0, -9], [9.0, 0, 0], [-9.0, 0, 0], [0, 9.0, 0], [0, -9.0, 0])
    ]

    assert run.converged
    assert run.contact.mean() > 0.7
    assert np.where(steep > 0, np.min(sideways, axis=0), 0.0).max() < 0.05


def test_contact_is_on_a_surface():
    """Points on the floor are at its height, many of them, and no other point below it."""
    run = word_run()

    assert 0.1 < (run.touches == ON_FLOOR).mean() < 0.9
    np.testing.assert_allclose(run.points_mm[run.touches == ON_FLOOR, 2], 0.0, atol=1e-12)
    assert run.points_mm[:, 2].min() > -1e-12


def test_arrival_is_told_for_what_arrived():
    """Finite on mold and floor, between start and end of the run; infinite elsewhere."""
    run = word_run()

    assert np.isfinite(run.arrival[run.contact]).all()
    assert np.isinf(run.arrival[~run.contact]).all()
    assert run.arrival.min() >= 0
    assert run.arrival[run.contact].max() <= 2
    assert (np.diff(run.history.time) >= 0).all()


def test_the_sheet_keeps_its_volume():
    """Formed area times thickness is the flat area to rounding; stretches agree with it."""
    run = word_run()

    kept = np.sum(run.areas_mm2 * run.thickness)
    assert kept == pytest.approx(60 * 50, rel=1e-12)
    np.testing.assert_allclose(run.stretches.prod(axis=1) * run.thickness, 1.0, rtol=1e-9)


def test_two_processors_make_the_same_bytes():
    """Bands side by side or one after the other, and once more: the same file."""
    files = []
    for threads in (2, 2, 1, None):
        run = form_sheet(build_sheet_mesh(CLAMP, size_mm=4), word_mold(), threads=threads)
        files.append(write_run(run))

    assert files[0] == files[1] == files[2] == files[3]


def test_a_run_is_read_back_as_it_was():
    """Every array and number, and the same bytes again."""
    run = word_run()
    packed = write_run(run)
    back = load_run(packed)

    assert write_run(back) == packed
    assert back.spec == run.spec
    np.testing.assert_array_equal(back.thickness, run.thickness)


def test_a_file_carries_no_date():
    """Every entry has the first date a zip file can have."""
    with ZipFile(BytesIO(write_run(word_run()))) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_height_above_the_table_changes_nothing():
    """A cavity and its clamp 30 mm up: the same thickness and swept volume."""
    runs = []
    for up in (0.0, 30.0):
        profile = np.column_stack([[0.0, 12.0, 16.0, 26.0], [up - 6, up - 6, up, up]])
        mold = turned(profile, floor_mm=up - 6, clamp_mm=up)
        spec = FormingSpec(pressure_per_mm=0.3)
        runs.append(form_sheet(build_round_mesh(20.0, n_rings=12), mold, spec=spec))

    np.testing.assert_allclose(runs[0].thickness, runs[1].thickness, rtol=2e-3)
    assert runs[0].history.swept_mm3[-1] == pytest.approx(runs[1].history.swept_mm3[-1], rel=1e-3)


@pytest.mark.parametrize("damage", [lambda b: b"", lambda b: b"sheet" * 40, lambda b: b[:-900]])
def test_a_damaged_file_is_refused(damage):
    """One sentence that says what to do."""
    with pytest.raises(FileError, match="not a whole forming run"):
        load_run(damage(write_run(word_run())))


def test_a_missing_file_is_refused(tmp_path):
    """The sentence names the file."""
    with pytest.raises(FileError, match=r"nowhere\.npz cannot be read"):
        load_run(tmp_path / "nowhere.npz")


def test_a_file_beyond_the_limits_is_not_unpacked(tmp_path):
    """Its own size and what it says that it unpacks to are both looked at first."""
    packed = write_run(word_run())
    path = tmp_path / "a.npz"
    path.write_bytes(packed)

    with run_with(limits=Limits(mesh_bytes=len(packed) - 1)):
        for source in (packed, path):
            with pytest.raises(FileError, match="more than any forming run"):
                load_run(source)
    with run_with(limits=Limits(mesh_bytes=len(packed), unpacked_bytes=10_000)):
        with pytest.raises(FileError, match="holds more than 10 kB, more than any forming run"):
            load_run(path)
    with run_with(limits=Limits(mesh_bytes=len(packed), unpacked_bytes=10_000_000)):
        assert load_run(path).steps == word_run().steps


def test_an_endless_file_is_no_forming_run():
    """A device is not read."""
    with pytest.raises(FileError, match="/dev/zero cannot be read: Not a regular file"):
        load_run("/dev/zero")


@pytest.mark.parametrize("shape", ["(2000000000000,)", "(3,)", "(-1,)"])
def test_an_array_is_as_long_as_its_head_says(shape):
    """Nothing is made room for that the file does not hold."""
    changed = BytesIO()
    head = f"{{'descr': '<f8', 'fortran_order': False, 'shape': {shape}, }}"
    data = b"\x93NUMPY\x01\x00v\x00" + head.ljust(117).encode() + b"\n" + bytes(8 * 5)
    with ZipFile(BytesIO(write_run(word_run()))) as archive, ZipFile(changed, "w") as other:
        for name in archive.namelist():
            other.writestr(name, data if name == "arrival.npy" else archive.read(name))

    with pytest.raises(FileError, match="not a whole forming run"):
        load_run(changed.getvalue())


def test_what_was_not_settled_says_so():
    """A run that is stopped has a shape, a residual, and is not called converged."""
    mesh = build_sheet_mesh(CLAMP, size_mm=4)
    run = form_sheet(mesh, word_mold(), spec=FormingSpec(most_steps=64))

    assert not run.converged
    assert run.residual > run.spec.tolerance
    assert len(run.points_mm) == len(mesh.points_mm)


def test_a_turned_mesh_gives_the_same_map():
    """Cells at 45°: thickness over a smooth dome to 1 %."""
    r = np.linspace(0, 15, 60)
    mold = turned(np.column_stack([r, 8 * (1 - (r / 15) ** 2)]))
    ring = 30 * np.column_stack([np.cos(a := np.linspace(0, 2 * np.pi, 90)[:-1]), np.sin(a)])
    maps = []
    for turn_deg in (0, 45):
        mesh = build_sheet_mesh(ring, size_mm=1.5, turn_deg=turn_deg)
        run = form_sheet(mesh, mold, spec=FormingSpec(pressure_per_mm=0.2, pace=2))
        radii = np.hypot(*mesh.points_mm.T)
        which = np.digitize(radii, np.arange(3, 28, 3))
        maps.append(np.bincount(which, run.thickness_at_points) / np.bincount(which))

    np.testing.assert_allclose(maps[0], maps[1], rtol=0.01)


def test_a_cavity_is_filled_from_the_clamp_plane():
    """A female mold does not rise; its middle is touched and the sheet lies on it."""
    r, z = [0.0, 12.0, 16.0, 26.0], [-6.0, -6.0, 0.0, 0.0]
    mold = turned(np.column_stack([r, z]), floor_mm=-6.0, clamp_mm=0.0)
    run = form_sheet(build_round_mesh(20.0, n_rings=16), mold, spec=FormingSpec(pressure_per_mm=2))

    assert run.converged
    assert run.arrival.min() >= 1
    assert run.points_mm[:, 2].min() == pytest.approx(-6, abs=1e-9)
    assert run.thickness.min() < 0.9


def forces_of(sheet, points):
    """Return force and facing area of every point, shape (n, 6), and the volume they enclose."""
    n, m = len(points), len(sheet.triangles)
    spare = -m % kernel.AT_ONCE
    rows = np.concatenate([np.column_stack([points, np.zeros(n)]), kernel.SPARE_POINTS])
    last = np.arange(n, n + 3, dtype=np.uint32)
    corners = np.concatenate([sheet.triangles, np.tile(last, (spare, 1))])
    metric = np.concatenate([sheet.metric, np.tile(kernel.SPARE_METRIC, (spare, 1))])
    blocks = np.ascontiguousarray(metric.reshape(-1, kernel.AT_ONCE, 4).transpose(0, 2, 1))
    pulls, areas = np.zeros((n + 3, 4)), np.zeros((n + 3, 4))
    kernel.pull(corners, blocks, sheet.law, rows, pulls, areas)
    return np.column_stack([pulls[:n, :3], areas[:n, :3]]), float(areas[:n, 2] @ points[:, 2])


def test_force_is_minus_the_slope_of_the_energy():
    """Compiled forces against differences of the plain law, Mooney-Rivlin and tight."""
    rng = np.random.default_rng(4)
    mesh = build_round_mesh(1.0, n_rings=2)
    rubber = Rubber(second=0.3, taut=1.2)
    sheet = sheet_of(mesh, rubber)
    points = np.column_stack([mesh.points_mm, np.zeros(len(mesh.points_mm))])
    points += rng.normal(0, 0.08, points.shape)
    forces, _ = forces_of(sheet, points)

    for i, d in [(0, 0), (0, 2), (3, 1), (9, 0), (15, 2)]:
        stored = []
        for sign in (1, -1):
            moved = points.copy()
            moved[i, d] += sign * 1e-6
            stored.append(plain_energy(mesh, moved, rubber))
        assert forces[i, d] == pytest.approx(-(stored[0] - stored[1]) / 2e-6, rel=1e-5, abs=1e-6)
    assert kernel.energy_mm2(sheet, points) == pytest.approx(plain_energy(mesh, points, rubber))


def plain_energy(mesh, points, rubber):
    """Return the energy triangle by triangle, from the singular values of its gradient."""
    stored = 0.0
    for triangle, area in zip(mesh.triangles, mesh.areas_mm2, strict=True):
        flat, now = mesh.points_mm[triangle], points[triangle]
        gradient = (now[1:] - now[0]).T @ np.linalg.inv((flat[1:] - flat[0]).T)
        first, second = rubber.taut * np.linalg.svd(gradient, compute_uv=False)
        stored += area * float(energy(first, second, rubber))
    return stored


def test_swept_volume_grows_with_the_facing_area():
    """The second half of the forces is the slope of the swept volume at a free point."""
    mesh = build_round_mesh(1.0, n_rings=2)
    points = np.column_stack([mesh.points_mm, -0.3 * (1 - np.sum(mesh.points_mm**2, axis=1))])
    sheet = sheet_of(mesh, Rubber())
    forces, _ = forces_of(sheet, points)
    middle = int(np.flatnonzero(~mesh.held)[3])
    up, down = points.copy(), points.copy()
    up[middle, 2] += 1e-5
    down[middle, 2] -= 1e-5
    swept = [forces_of(sheet, each)[1] for each in (up, down)]

    assert forces[middle, 5] == pytest.approx((swept[0] - swept[1]) / 2e-5, rel=1e-6)
    assert swept[0] > 0


@pytest.mark.parametrize("turn_deg", [0, 20, 45])
def test_a_mesh_fills_any_clamp_corner_to_corner(turn_deg):
    """Graded, turned, around a bay: sides shared by two, the edge held, the area right."""
    ring = [(0, 0), (60, 0), (60, 40), (30, 40), (20, 20), (0, 20)]
    sizes = SideLengths(wanted_mm=np.array([[4.0, 0.7, 4.0]]), corner_mm=(0, 0), cell_mm=20)
    mesh = build_sheet_mesh(ring, size_mm=4, sizes=sizes, turn_deg=turn_deg)
    sides = np.sort(mesh.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    unique, counts = np.unique(sides, axis=0, return_counts=True)

    assert set(counts.tolist()) == {1, 2}
    assert mesh.held[unique[counts == 1]].all()
    assert mesh.areas_mm2.min() > 0
    assert mesh.areas_mm2.sum() == pytest.approx(1900, rel=5e-3)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: build_sheet_mesh(CLAMP, size_mm=0), "size_mm must be more than 0"),
        (lambda: build_sheet_mesh([(0, 0), (1, 1), (2, 2)], size_mm=1), "a ring around an area"),
        (lambda: build_sheet_mesh([(0, 0), (1, 1)], size_mm=1), "three or more finite points"),
        (lambda: build_round_mesh(0, n_rings=3), "radius_mm must be more than 0"),
        (lambda: MoldFaces(corners_mm=np.zeros((0, 3, 3))), "corners_mm must be shaped"),
        (lambda: MoldFaces(corners_mm=np.full((1, 3, 3), np.nan)), "corners_mm must be finite"),
        (
            lambda: MoldFaces(corners_mm=np.ones((1, 3, 3)), clamp_mm=-1),
            "clamp_mm must be at least",
        ),
        (lambda: FormingSpec(tolerance=0), "tolerance must be more than 0"),
        (lambda: form_sheet(unheld(), None), "held must be some"),
        (
            lambda: form_sheet(build_round_mesh(1.0, n_rings=2), None, threads=0),
            "threads must be at least 1",
        ),
        (
            lambda: form_sheet(build_sheet_mesh(np.array(CLAMP) / 4, size_mm=2), word_mold()),
            "clamp must be clear of the mold",
        ),
    ],
)
def test_what_cannot_be_formed_is_refused(make, words):
    """One sentence with field, rule and value."""
    with pytest.raises(SpecError, match=words):
        make()


def unheld():
    """Return a sheet that nothing holds."""
    mesh = build_round_mesh(1.0, n_rings=2)
    return SheetMesh(
        points_mm=mesh.points_mm, triangles=mesh.triangles, held=np.zeros_like(mesh.held)
    )
