"""The edges of a printed mold beside its flat top, cycle after cycle."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log

from moldgen.physics.heat.edge import edge_degC, edge_exponent, edge_radius_mm
from moldgen.physics.heat.heating import Array
from moldgen.table.cycle import CycleHistory
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.run import Run


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EdgePeaks:
    """How hot the edges of a mold get.

    Attributes
    ----------
    rounded_degC, sharp_degC : ndarray, shape (cycles,)
        Hottest in each cycle, as rounded as the mold's and were they sharp. [°C]
    """

    rounded_degC: Array
    sharp_degC: Array


def hottest_edges(run: Run, mold: PrintedMold, history: CycleHistory) -> EdgePeaks:
    """Return how hot the edges of a mold get beside its flat face.

    Before each sheet an edge is taken to be as warm as the flat face: it takes up more heat and
    gives off more.
    """
    sheet_mm = run.sheet.gauge_mm * run.thickness_ratio
    rounded_degC, sharp_degC = (
        edge_degC(
            history.peaks_degC[:, 0],
            history.starts_degC,
            run.arrival_degC,
            exponent=edge_exponent(radius_mm, sheet_mm),
        )
        for radius_mm in (mold.edge_radius_mm, 0.0)
    )
    return EdgePeaks(rounded_degC=rounded_degC, sharp_degC=sharp_degC)


def radius_that_stays_hard_mm(run: Run, mold: PrintedMold, face_degC: float) -> float:
    """Return the rounding with which edges stay below softening where a cold face gets so hot.

    Parameters
    ----------
    run, mold : Run, PrintedMold
        What is formed, and on what.
    face_degC : float
        The flat face in the first cycle. [°C]

    Returns
    -------
    float
        Infinite if the face itself softens. [mm]
    """
    sheet_degC, softens_degC = run.arrival_degC, mold.filament.stands_degC
    if face_degC >= softens_degC:
        return inf
    if softens_degC >= sheet_degC:
        return 0.0
    excess_K = sheet_degC - run.room_degC
    exponent = log((sheet_degC - softens_degC) / excess_K) / log(
        (sheet_degC - face_degC) / excess_K
    )
    return edge_radius_mm(exponent, run.sheet.gauge_mm * run.thickness_ratio)
