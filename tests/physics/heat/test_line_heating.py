"""A strip over a line: series of a wavy flux, the step through the thickness, plain loops."""

from inspect import unwrap
from math import cos, cosh, exp, pi, sinh

import numpy as np
import pytest

from moldgen.physics.heat.heating import Matter, SheetFace, stack
from moldgen.physics.heat.line_heating import LineFace, LineGrid, follow_line, heat_line
from moldgen.physics.heat.march import march

PLAIN = Matter(conductivity_W_mK=0.2, density_kg_m3=1200, heat_J_kgK=1500)
MELTS = Matter(
    conductivity_W_mK=0.4, density_kg_m3=950, heat_J_kgK=1900, hot_J_kgK=2500,
    changes_degC=130.0, melting_J_kg=180e3,
)  # fmt: skip
ALPHA = 0.2 / (1200 * 1500)
THICK_m = 0.003


def _grid(n_cells=12, n_columns=25, half_width_m=4 * THICK_m):
    return LineGrid(
        thickness_m=THICK_m, half_width_m=half_width_m, n_cells=n_cells, n_columns=n_columns
    )


def _face(grid, air=0.0, film=0.0, source=0.0, share=0.0):
    full = np.ones(grid.n_columns)
    return LineFace(
        air_degC=full * air, film_W_m2K=full * film, source_degC=full * source, share=full * share
    )


def _flux(grid, flux_W_m2):
    """Return a face that takes up a flux by column: an endlessly hot, endlessly bad contact."""
    return _face(grid, air=1e9 * flux_W_m2, film=1e-9)


def _wave(fourier, depth, *, along=True):
    """Rise on the crest, in flux times thickness over conductivity; depth 0 is the heated face.

    A wave 8 thicknesses long. Its steady state, and the product of its cosine and a series through
    the slab that fades: Carslaw and Jaeger, chapters 3 and 5, form from memory.
    """
    k = 2 * pi / 8 if along else 1e-6
    steady = cosh(k * (1 - depth)) / (k * sinh(k))
    fading = exp(-(k**2) * fourier) / k**2
    for n in range(1, 60):
        rate = k**2 + (n * pi) ** 2
        fading += 2 * cos(n * pi * depth) * exp(-rate * fourier) / rate
    return steady - fading


@pytest.mark.parametrize("fourier", [0.25, 0.5, 1.0, 2.0])
def test_a_flux_that_waves_along_the_strip_is_the_series(fourier):
    """Both faces on the crest; without conduction sideways the series would be another."""
    grid = _grid()
    wave = 1000.0 * np.cos(2 * pi * grid.places_m / (8 * THICK_m))
    found = heat_line(
        grid, PLAIN, np.zeros((25, 12)), front=_flux(grid, wave), back=_face(grid),
        duration_s=fourier * THICK_m**2 / ALPHA,
    )  # fmt: skip
    unit_K = 1000.0 * THICK_m / 0.2
    for face, depth in ((0, 0.0), (1, 1.0)):
        expected = _wave(fourier, depth)
        assert found.faces_degC[face] / unit_K == pytest.approx(expected, rel=0.012)
        assert _wave(fourier, depth, along=False) != pytest.approx(expected, rel=0.05)


@pytest.mark.parametrize("matter", [PLAIN, MELTS], ids=["plain", "melts"])
def test_the_same_all_along_is_the_sheet(matter):
    """Where all columns meet the same, it is what the step through the thickness gives."""
    grid = _grid(n_columns=4)
    hot = _face(grid, air=20, film=5, source=700, share=0.2)
    air = _face(grid, air=20, film=8, source=20, share=0.9)
    found = heat_line(grid, matter, np.full((4, 12), 20.0), front=hot, back=air, duration_s=150)
    sheet = march(
        stack((matter, THICK_m, 12)), 20.0,
        front=SheetFace(air_degC=20, film_W_m2K=5, glows=((700, 0.2),)),
        back=SheetFace(air_degC=20, film_W_m2K=8, glows=((20, 0.9),)),
        duration_s=150, n_steps=200,
    )  # fmt: skip
    np.testing.assert_allclose(found.cells_degC, [sheet.profiles_degC[-1, 0]] * 4, atol=1.0)
    assert found.faces_degC[0] == pytest.approx(sheet.fronts_degC[-1, 0], abs=1.0)
    assert found.hottest_front_degC == pytest.approx(found.faces_degC[0])
    assert found.hottest_back_degC == pytest.approx(sheet.backs_degC.max(), abs=1.0)


def test_no_heat_is_lost_between_insulated_faces():
    """A hot middle spreads sideways; what the columns hold together stays."""
    grid = _grid(n_cells=5, n_columns=9)
    start = np.zeros((9, 5))
    start[0] = 100.0
    after = heat_line(
        grid, PLAIN, start, front=_face(grid), back=_face(grid), duration_s=20
    ).cells_degC
    # The column on the line is half a column, and so is the one at the far end.
    shares = np.array([0.5, *[1.0] * 7, 0.5])
    assert shares @ after.mean(axis=1) == pytest.approx(50.0, rel=1e-9)
    assert after[0].mean() < 90
    assert start[0, 0] == 100.0


def test_the_compiled_loop_is_the_loop():
    """The same numbers from the compiled loop and from Python's."""
    rng = np.random.default_rng(4)
    faces = rng.uniform(0, 1, (2, 4, 5)) * np.array([100, 50, 600, 0.9])[None, :, None]
    cells = rng.uniform(20, 120, (5, 4))
    heats = rng.uniform(1.5e6, 2.5e6, 1080)
    arguments = (faces, (5e-4, 8e-4), (0.2, heats), (0.1, 20))
    twin = cells.copy()
    peaks = follow_line(cells, *arguments)
    assert unwrap(follow_line)(twin, *arguments) == pytest.approx(peaks, rel=1e-12)
    np.testing.assert_allclose(twin, cells, rtol=1e-12)
