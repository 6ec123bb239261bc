"""Print estimates against a general slicer, on every kind of print that moldgen makes."""

from dataclasses import replace
from functools import cache

import numpy as np
from conftest import published
from support.print_jobs import printed
from support.printed import BED, PETG

from moldgen.printing.estimate import estimate
from moldgen.printing.print_spec import PrintSpec, line_of

ROWS = published("print_estimates")
WITHIN = 0.10


def setting_of(row):
    """Return printer and way of slicing of a row."""
    bed = replace(
        BED,
        nozzle_mm=float(row["nozzle_mm"]),
        layer_mm=float(row["layer_mm"]),
        least_wall_mm=1.2,
        acceleration_mm_s2=float(row["acceleration_mm_s2"]),
    )
    return bed, PrintSpec(
        walls=int(row["walls"]),
        skins=int(row["skins"]),
        infill=float(row["infill"]),
        wall_mm_s=float(row["wall_mm_s"]),
        bridge_mm_s=float(row["wall_mm_s"]),
        fill_mm_s=float(row["fill_mm_s"]),
    )


@cache
def estimated():
    """Return the estimate of every row."""
    return [
        estimate(printed(row["job"]), filament=PETG, printer=bed, spec=spec)
        for row in ROWS
        for bed, spec in [setting_of(row)]
    ]


def errors(values, column):
    """Return how far values are off, as shares of a row's own."""
    known = np.array([float(row[column]) for row in ROWS])
    assert len(known) >= 12
    return np.array(values) / known - 1


def worst(off):
    """Tell which job is farthest off."""
    return f"{ROWS[int(np.abs(off).argmax())]['job']}: {off[np.abs(off).argmax()]:+.1%}"


def test_times_are_within_a_tenth_of_a_slicers():
    """Every print within 10 %, half of them within 3 %: molds, fixtures, jigs, other settings."""
    off = errors([one.time_s for one in estimated()], "seconds")

    assert np.abs(off).max() < WITHIN, worst(off)
    assert np.median(np.abs(off)) < 0.03
    assert abs(np.mean(off)) < 0.02


def test_masses_are_within_a_twentieth_of_a_slicers():
    """Every print within 5 %, half of them within 2 %."""
    off = errors([one.mass_g for one in estimated()], "grams")

    assert np.abs(off).max() < 0.05, worst(off)
    assert np.median(np.abs(off)) < 0.02
    assert abs(np.mean(off)) < 0.025


def test_without_speeding_up_and_braking_times_would_be_too_short():
    """Lines at their set speeds and nothing else are over 10 % low on nearly all, never high."""
    plain = []
    for row, taken in zip(ROWS, estimated(), strict=True):
        bed, spec = setting_of(row)
        line_mm2 = line_of(bed).spacing_mm * bed.layer_mm
        fill = (taken.skin_mm3 + taken.fill_mm3) / spec.fill_mm_s
        plain.append((taken.wall_mm3 / spec.wall_mm_s + fill) / line_mm2)
    off = errors(plain, "seconds")

    assert off.max() < 0
    assert np.mean(off < -WITHIN) > 0.95


def test_a_printer_that_never_brakes_is_another_printer():
    """With no inertia the same estimate is over 10 % low on most of the prints."""
    swift = [
        estimate(
            printed(row["job"]),
            filament=PETG,
            printer=replace(bed, acceleration_mm_s2=1e5, corner_mm_s=100.0),
            spec=spec,
        )
        for row in ROWS
        for bed, spec in [setting_of(row)]
    ]
    off = errors([one.time_s for one in swift], "seconds")

    assert np.mean(off < -WITHIN) > 0.8


def test_a_mass_as_if_solid_is_not_the_mass_of_a_print():
    """Volume times density is over 10 % high on most prints."""
    off = errors([one.volume_mm3 * 1.27e-3 for one in estimated()], "grams")

    assert np.mean(off > WITHIN) > 0.7
