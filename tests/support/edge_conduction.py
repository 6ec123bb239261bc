"""A referee for edges of a mold under a hot sheet: finite differences in two dimensions."""

from functools import cache

import numpy as np

COLD, HOT = 20.0, 140.0
CELL_mm, FAR_mm = 0.1, 5.0
MOLD_W_mK, MOLD_J_m3K = 0.13, 1250 * 1800.0
SHEET_W_mK, SHEET_J_m3K = 0.17, 1050 * 1900.0
JOINT_W_m2K, FILM_W_m2K = 500.0, 16.0


def distances_mm(axis_mm, radius_mm):
    """Return how far each place is outside a quarter space with a rounded edge. [mm]."""
    x, y = (radius_mm - place for place in np.meshgrid(axis_mm, axis_mm, indexing="ij"))
    return np.where((x > 0) & (y > 0), np.hypot(x, y), np.maximum(x, y)) - radius_mm


def conductances(distance_mm, sheet_mm, axis):
    """Return what flows between neighbors along an axis, steps at slopes weighed. [W/(m²·K)]."""
    parts = np.digitize(distance_mm, [0.0, sheet_mm])
    half = CELL_mm / 2000 / np.array([MOLD_W_mK, SHEET_W_mK, 1.0])[parts]
    slope = np.abs(np.gradient(distance_mm, CELL_mm, axis=axis))
    cut = [np.take(a, range(a.shape[axis] - 1), axis) for a in (parts, half, slope)]
    next_ = [np.take(a, range(1, a.shape[axis]), axis) for a in (parts, half, slope)]
    weight, through = (cut[2] + next_[2]) / 2, cut[1] + next_[1]
    kinds = np.minimum(cut[0], next_[0]) * 10 + np.maximum(cut[0], next_[0])
    joint = weight / (1 / JOINT_W_m2K + through * weight)
    return np.select(
        [(kinds == 0) | (kinds == 11), kinds == 1, kinds == 12],
        [1 / through, joint, weight * FILM_W_m2K],
        0.0,
    )


@cache
def flat_and_edge_degC(radius_mm, sheet_mm, duration_s):
    """Return the hottest flat face and the hottest edge under a sheet that is wrapped around."""
    n = round((FAR_mm + sheet_mm) / CELL_mm)
    axis_mm = -sheet_mm + (np.arange(n) + 0.5) * CELL_mm
    distance_mm = distances_mm(axis_mm, radius_mm)
    mold, air = distance_mm < 0, distance_mm >= sheet_mm
    sheet = ~mold & ~air
    holds = np.where(mold, MOLD_J_m3K, SHEET_J_m3K) * CELL_mm / 1000
    across, along = (conductances(distance_mm, sheet_mm, axis) for axis in (0, 1))
    step_s = 0.2 * (CELL_mm / 1000) ** 2 * SHEET_J_m3K / SHEET_W_mK
    now = np.where(sheet, HOT, COLD)
    on_diagonal = np.flatnonzero(np.diag(mold))[:4]
    first = int(np.argmax(mold[:, -2]))
    mold_m2K_W = CELL_mm / 2000 / MOLD_W_mK
    share = mold_m2K_W / (mold_m2K_W + CELL_mm / 2000 / SHEET_W_mK + 1 / JOINT_W_m2K)
    flats, edges = [], []
    for _ in range(int(duration_s / step_s)):
        gain = np.zeros_like(now)
        flow = across * (now[:-1] - now[1:])
        gain[:-1] -= flow
        gain[1:] += flow
        flow = along * (now[:, :-1] - now[:, 1:])
        gain[:, :-1] -= flow
        gain[:, 1:] += flow
        gain[0] -= np.where(sheet[0], FILM_W_m2K * (now[0] - COLD), 0)
        gain[:, 0] -= np.where(sheet[:, 0], FILM_W_m2K * (now[:, 0] - COLD), 0)
        now = np.where(air, COLD, now + step_s * gain / holds)
        column = now[:, -2]
        flats.append(column[first] + share * (column[first - 1] - column[first]))
        curve = np.polyfit(-np.diag(distance_mm)[on_diagonal], np.diag(now)[on_diagonal], 2)
        edges.append(curve[-1])
    return max(flats), max(edges)
