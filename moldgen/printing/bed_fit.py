"""Bed fit: whether a part fits the printer, as it lies or only turned, and what it lacks if not.

One rule for molds, jigs, fixtures and brought parts: the part's own outline, the bed less a margin.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import shapely

from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.outline.rectangle_fit import STRAIGHT_DEG, Lack, fit_deg, lack_of, turn_text
from moldgen.solid.mesh import Body, Mesh
from moldgen.stock import Printer

MARGIN_MM = 3.0
"""Left free along every edge of the bed: for a skirt, and the edge that prints badly. [mm]."""
MARGIN_BASIS = f"{MARGIN_MM:g} mm left free along the bed's edges (common practice, no source)"
BEYOND_BED = "print-beyond-bed"
"""Code of the finding that a part does not fit the printer."""
TURNED = "print-turned"
"""Code of the finding that it fits only turned by an angle."""
_SLACK_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class BedFit:
    """How a part fits a printer.

    Attributes
    ----------
    turn_deg : float or None
        Turn that brings it on the bed, counter-clockwise: 0 as it lies, 90 the other way round,
        else the least; None if no turn does. [°]
    lack : Lack or None
        What it lacks, on the bed or in height; None if it fits.
    """

    turn_deg: float | None
    lack: Lack | None

    @property
    def fits(self) -> bool:
        """Whether it fits, turned or not."""
        return self.lack is None

    @property
    def straight(self) -> bool:
        """Whether it fits as it lies, or the other way round."""
        return self.fits and self.turn_deg in STRAIGHT_DEG


def usable_bed_mm(printer: Printer) -> tuple[float, float, float]:
    """Return how large a part may be that lies straight: width, depth, height. [mm]."""
    return (
        printer.bed_width_mm - 2 * MARGIN_MM,
        printer.bed_depth_mm - 2 * MARGIN_MM,
        printer.bed_height_mm,
    )


def bed_fit(footprint: shapely.Geometry, height_mm: float, printer: Printer) -> BedFit:
    """Return how a part fits a printer.

    Parameters
    ----------
    footprint : Polygon
        The part seen from above; only its convex hull matters. [mm]
    height_mm : float
        Its height as it is printed. [mm]
    printer : Printer
        What prints it.
    """
    width, depth, height = usable_bed_mm(printer)
    turn = fit_deg(footprint, width, depth)
    lack = lack_of(footprint, width, depth) if turn is None else None
    if height_mm > height + _SLACK_MM:
        lack = _too_tall(lack, turn or 0.0, height_mm, height)
    return BedFit(turn_deg=turn, lack=lack)


def _too_tall(lack: Lack | None, turn_deg: float, size_mm: float, room_mm: float) -> Lack:
    """Return what is lacking with the height that lacks as well. [mm]."""
    cut, scale = f"{size_mm - room_mm:.1f} mm off its height", room_mm / size_mm
    if lack is None:
        return Lack(
            side="height", size_mm=size_mm, room_mm=room_mm, cuts=(cut,),
            turn_deg=turn_deg, scale=scale, scaled_turn_deg=turn_deg,
        )  # fmt: skip
    both = replace(lack, cuts=(*lack.cuts, cut), scale=min(lack.scale, scale))
    if size_mm - room_mm <= lack.size_mm - lack.room_mm:
        return both
    return replace(both, side="height", size_mm=size_mm, room_mm=room_mm)


def bed_fit_of_mesh(mesh: Mesh, printer: Printer) -> BedFit:
    """Return how a mesh fits a printer, as it stands."""
    (x0, y0, z0), (x1, y1, z1) = mesh.bounds_mm
    straight = bed_fit(shapely.box(x0, y0, x1, y1), float(z1 - z0), printer)
    if straight.turn_deg in STRAIGHT_DEG:
        return straight
    return bed_fit(shapely.multipoints(mesh.points_mm[:, :2]), float(z1 - z0), printer)


def fits_bed(mesh: Mesh, printer: Printer) -> bool:
    """Return whether a mesh fits a printer as it stands, turned on the bed if need be."""
    return bed_fit_of_mesh(mesh, printer).fits


def check_beds(bodies: Iterable[Body], printer: Printer) -> tuple[Finding, ...]:
    """Return what there is to say of bodies, each printed as it stands, on a printer."""
    return tuple(
        finding
        for one in bodies
        for finding in check_bed_fit(one.name, bed_fit_of_mesh(one.mesh, printer), printer)
    )


def check_bed_fit(name: str, fit: BedFit, printer: Printer) -> tuple[Finding, ...]:
    """Return a stop for a part that does not fit, a note for one that fits only turned."""
    if fit.straight:
        return ()
    return (_turned(name, fit, printer) if fit.fits else _beyond(name, fit, printer),)


def _turned(name: str, fit: BedFit, printer: Printer) -> Finding:
    assert fit.turn_deg is not None
    return Finding(
        code=TURNED,
        severity=Severity.NOTE,
        says="fits the printer's bed only turned",
        measured=abs(fit.turn_deg),
        unit="°",
        subject=name,
        basis=f"{printer.name}, {MARGIN_BASIS}",
        advice=f"Turn it by {turn_text(fit.turn_deg)} on the bed.",
    )


def _beyond(name: str, fit: BedFit, printer: Printer) -> Finding:
    assert fit.lack is not None
    return Finding(
        code=BEYOND_BED,
        severity=Severity.STOP,
        says=f"does not fit the printer in any turn; its {fit.lack.side}",
        measured=fit.lack.size_mm,
        limit=fit.lack.room_mm,
        unit="mm",
        subject=name,
        basis=f"{printer.name}, {MARGIN_BASIS}",
        advice=f"{fit.lack.mending}; or split it, or take a larger printer.",
        cures=(
            Cure(field=Remedy.SIZE, way=Way.LOWER, least=fit.lack.scale),
            Cure(field=Remedy.PRINTER, way=Way.OTHER),
        ),
    )
