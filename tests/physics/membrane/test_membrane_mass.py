"""Masses of the points: a step of 1 is stable, and slack sheet is light square to itself."""

import numpy as np
import pytest
from support.round_mesh import build_round_mesh

from moldgen.physics.membrane import force_kernel as kernel
from moldgen.physics.membrane import mass_kernel, part_kernel, sort_kernel
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.steps import _NOTHING
from moldgen.physics.membrane.touch import buckets_of
from moldgen.physics.membrane.work import sheet_of, work_of

MESH = build_round_mesh(1.0, n_rings=3)


def batches(sheet, n):
    """Return corners and metric as the loops read them, filled up to whole batches."""
    spare = -len(sheet.triangles) % kernel.AT_ONCE
    last = np.tile(np.arange(n, n + 3, dtype=np.uint32), (spare, 1))
    metric = np.concatenate([sheet.metric, np.tile(kernel.SPARE_METRIC, (spare, 1))])
    blocks = np.ascontiguousarray(metric.reshape(-1, kernel.AT_ONCE, 4).transpose(0, 2, 1))
    return np.concatenate([sheet.triangles, last]), blocks


def rows_of(points):
    """Return points as rows of four, with those of the spare triangles."""
    return np.concatenate([np.column_stack([points, 0 * points[:, 0]]), kernel.SPARE_POINTS])


def masses(sheet, points):
    """Return the mass of every point, shape (n, 3, 3)."""
    n = len(points)
    along, cross = np.zeros((n + 3, 4)), np.zeros((n + 3, 4))
    mass_kernel.weigh(*batches(sheet, n), sheet.law, rows_of(points), along, cross)  # type: ignore[call-arg]
    mass = np.zeros((n, 3, 3))
    for i, j in ((0, 1), (1, 2), (2, 0)):
        mass[:, i, i] = along[:n, i]
        mass[:, i, j] = mass[:, j, i] = cross[:n, i]
    return mass


def stiffness(sheet, points):
    """Return how forces answer to ways, by differences, shape (3 n, 3 n)."""
    n = len(points)
    corners, blocks = batches(sheet, n)

    def forces(places):
        pulls, areas = np.zeros((n + 3, 4)), np.zeros((n + 3, 4))
        kernel.pull(corners, blocks, sheet.law, rows_of(places), pulls, areas)
        return pulls[:n, :3].ravel()

    columns = []
    for way in 1e-6 * np.eye(3 * n).reshape(-1, n, 3):
        columns.append((forces(points - way) - forces(points + way)) / 2e-6)
    return np.array(columns)


def bent(seed, *, stretch):
    """Return the mesh's points stretched, bent and shaken."""
    rng = np.random.default_rng(seed)
    x, y = MESH.points_mm.T
    points = np.column_stack([stretch * x, (0.7 + 0.3 * stretch) * y, 0.5 * x * x - 0.3 * x * y])
    return points + rng.normal(0, 0.02, points.shape)


@pytest.mark.parametrize("second", [0.0, 0.3])
@pytest.mark.parametrize("stretch", [1.0, 1.3, 3.0])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_step_of_one_is_stable(seed, stretch, second):
    """No motion is stiffer than four times its mass, on whatever surface."""
    sheet, points = sheet_of(MESH, Rubber(second=second)), bent(seed, stretch=stretch)
    n = len(points)
    root = np.linalg.cholesky(np.linalg.inv(masses(sheet, points)))
    per_mass = np.einsum(
        "iba,ibjc,jcd->iajd", root, stiffness(sheet, points).reshape(n, 3, n, 3), root
    ).reshape(3 * n, 3 * n)

    stiffest = np.linalg.eigvalsh(0.5 * (per_mass + per_mass.T)).max()
    assert 0.5 < stiffest < 4.0


@pytest.mark.parametrize(("stretch", "least", "most"), [(1.0, 0.049, 0.051), (2.0, 0.5, 1.0)])
def test_slack_sheet_is_light_square_to_itself(stretch, least, most):
    """On a slope, a sheet without tension weighs a twentieth across of what it does along it."""
    normal = np.array([0.6, 0.0, 0.8])
    flat = np.column_stack([MESH.points_mm, 0 * MESH.points_mm[:, 0]])
    slope = stretch * flat @ np.array([[0.8, 0, -0.6], [0, 1, 0], normal])
    mass = masses(sheet_of(MESH, Rubber()), slope)
    across = np.einsum("i,kij,j->k", normal, mass, normal)

    np.testing.assert_allclose(mass @ normal, across[:, None] * normal, atol=1e-9)
    assert least < (across / mass[:, 1, 1]).min()
    assert (across / mass[:, 1, 1]).max() < most


def test_new_masses_change_no_speed():
    """What is weighed anew in the middle of a march moves on as it did."""
    work = work_of(MESH, buckets_of(_NOTHING), rubber=Rubber(), start_mm=0.0)
    rng = np.random.default_rng(3)
    free = ~MESH.held
    work.state.points[free] += rng.normal(0, 0.02, (free.sum(), 3))
    for moves in (work.state.speeds, work.state.drifts):
        moves[free] = rng.normal(0, 0.01, (free.sum(), 3))
    wanted = work.state.speeds.copy(), work.state.drifts.copy()
    sort_kernel.set_out(work.sheet, work.state, work.part, work.control)
    part = work.part
    for turn in (0, 0, 1):
        part.points[turn, :, 2] += 0.1 * part.points[turn, :, 0] ** 2
        for band in (0, 1):
            mass_kernel.weigh_band(work.sheet, work.state, part, work.buckets, band, turn)
    for band in (0, 1):
        part_kernel.write_back(work.state, part, part_kernel.edges_of(part, band), 0)

    np.testing.assert_allclose(work.state.speeds, wanted[0], atol=1e-12)
    np.testing.assert_allclose(work.state.drifts, wanted[1], atol=1e-12)
    assert np.abs(part.momenta).max() > 0
