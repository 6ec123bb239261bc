"""Overhangs and bridges: what hangs over nothing while a solid is printed, read off its triangles.

A face that looks down more steeply than the limit hangs; a level ceiling between two supports is
a bridge, and one that is held on one side only is a cantilever.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from moldgen.arrays import Flags, Floats
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.printing.bridge import Bridge, bridges_of, patches_of
from moldgen.printing.turn import UP, Direction, place_before, turn_to
from moldgen.solid.edges import Edges
from moldgen.solid.mesh import Mesh
from moldgen.solid.normals import leans_deg
from moldgen.solid.topology import welded
from moldgen.stock import Printer

LIMIT_DEG = 45.0
"""Lean out from upright that prints without support: common practice (guides agree). [°]."""

LEVEL_DEG = 1.0
"""A ceiling that tilts by less than this is level. [°]."""

SAGGING = 2.5
"""Widest bridge that prints at all over the one that prints clean: 25 mm over 10 mm (common
practice, no source). [-]."""

CLEAN_MM = 0.05
"""Slack on the width of a bridge; chords of round holes and rounding are less. [mm]."""

ON_BED_MM = 0.02
"""What lies no higher than this lies on the bed. [mm]."""

REACH_MM = 2.0
"""A ceiling that sticks out no farther than this holds itself (common practice). [mm]."""

SMALL_MM = 6.0
"""A slanting patch no wider than this seen from above holds itself, such as the cone over a pilot
hole (common practice, no source). [mm]."""

LEAST_MM2 = 1.0
"""Hanging area below which it is a blemish of the mesh. [mm²]."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Overhangs:
    """What hangs over nothing in one print orientation.

    Attributes
    ----------
    limit_deg : float
        Lean out from upright from which a face hangs. [°]
    hanging : ndarray, shape (m,)
        Whether each triangle hangs, level ceilings included, the bed left out.
    hanging_mm2 : float
        Area of slanting faces that hang, ceilings left out. [mm²]
    worst_deg : float
        Greatest lean out from upright of a slanting face; 0 for none. [°]
    where_mm : tuple of three floats, or None
        Middle of the largest connected patch of slanting faces that hang. [mm]
    bed_mm2 : float
        Area that lies on the bed. [mm²]
    bridges : tuple of Bridge
        Level ceilings, the widest first.
    """

    limit_deg: float
    hanging: Flags
    hanging_mm2: float
    worst_deg: float
    where_mm: Direction | None
    bed_mm2: float
    bridges: tuple[Bridge, ...]

    @property
    def span_mm(self) -> float:
        """Longest bridge; 0 if there is none. [mm]."""
        spans = [bridge.span_mm for bridge in self.bridges if np.isfinite(bridge.span_mm)]
        return max(spans, default=0.0)

    @property
    def reach_mm(self) -> float:
        """Farthest that a level ceiling sticks out without a second support. [mm]."""
        return max((bridge.reach_mm for bridge in self.bridges), default=0.0)

    def needs_support_mm2(self, bridge_mm: float) -> float:
        """Return the area that needs support on a printer that bridges so far. [mm²]."""
        wide = [bridge.area_mm2 for bridge in self.bridges if not _carries(bridge, bridge_mm)]
        return self.hanging_mm2 + sum(wide)

    def to_support(self, bridge_mm: float) -> Flags:
        """Return which triangles need support on a printer that bridges so far, shape (m,)."""
        flags = self.hanging.copy()
        for bridge in self.bridges:
            if _carries(bridge, bridge_mm):
                flags[bridge.triangles] = False
        return flags


def measure_overhangs(mesh: Mesh, *, up: Direction = UP, limit_deg: float = LIMIT_DEG) -> Overhangs:
    """Measure everything that hangs while a solid is printed.

    Parameters
    ----------
    mesh : Mesh
        A closed solid. [mm]
    up : tuple of three floats
        Direction in which the print grows; any length but 0.
    limit_deg : float
        Lean out from upright that prints without support. [°]

    Raises
    ------
    SpecError
        If the direction has no length, or the limit is not between 0 and 90.
    """
    if not 0 < limit_deg < 90:
        raise SpecError("limit_deg", "between 0 and 90°", f"{limit_deg:g}°")
    turn = turn_to(up)
    whole = welded(mesh)
    upright = np.array_equal(turn, np.eye(3))
    turned = whole if upright else Mesh(whole.points_mm @ turn.T, whole.triangles)
    down = _down_deg(turned)
    floor = float(turned.points_mm[:, 2].min())
    top = turned.corners_mm[:, :, 2].max(axis=1) - floor
    real = turned.areas_mm2 > 0
    on_bed = (top <= ON_BED_MM) & (down > 90 - LEVEL_DEG) & real
    level = (down > 90 - LEVEL_DEG) & ~on_bed & real
    slant = (down > limit_deg + 1e-6) & ~level & (top > ON_BED_MM) & real
    edges = turned.edges
    slant &= ~_small(turned, slant, edges)
    bridges = bridges_of(turned, level, edges, turn)
    return Overhangs(
        limit_deg=limit_deg,
        hanging=level | slant,
        hanging_mm2=float(turned.areas_mm2[slant].sum()),
        worst_deg=float(down[slant].max(initial=0.0)),
        where_mm=_largest_patch(turned, slant, edges, turn),
        bed_mm2=float(-turned.area_vectors_mm2[on_bed, 2].sum()),
        bridges=bridges,
    )


def widest_bridge_mm(printer: Printer) -> float:
    """Return the widest ceiling that prints without support, however it sags. [mm]."""
    return SAGGING * printer.clean_bridge_mm


def _carries(bridge: Bridge, bridge_mm: float) -> bool:
    """Whether a ceiling prints without support; one held nowhere on two sides has no span."""
    wide = np.isfinite(bridge.span_mm) and bridge.span_mm > bridge_mm + CLEAN_MM
    return bool(bridge.reach_mm <= REACH_MM + 1e-6 and not wide)


def check_overhangs(
    name: str, overhangs: Overhangs, printer: Printer, *, must_stand: bool = False
) -> tuple[Finding, ...]:
    """Ask whether a solid prints without support as it stands.

    Parameters
    ----------
    must_stand : bool
        A mold whose forming surface looks up stays as it is; no other way up is advised.
    """
    findings = _hanging_findings(name, overhangs, printer)
    if not must_stand:
        return findings
    # Lines that sag a little under the mold do no harm to the part, and nobody can do much.
    grave = (one for one in findings if (one.code, one.severity) != ("print-bridge", Severity.NOTE))
    return tuple(replace(one, advice=_STANDING[one.code]) for one in grave)


_STANDING = {
    "print-overhang": "Print it with support there.",
    "print-bridge": "Set a rib under it or support it; lines that sag there are under the mold and "
    "do no harm to the part.",
    "print-cantilever": "Slope it at 45° or support it.",
}


def _hanging_findings(name: str, overhangs: Overhangs, printer: Printer) -> tuple[Finding, ...]:
    findings = []
    if overhangs.hanging_mm2 > LEAST_MM2:
        findings.append(
            Finding(
                code="print-overhang",
                severity=Severity.CAUTION,
                says=f"{overhangs.hanging_mm2:.0f} mm² hang over nothing while printing; "
                "worst lean",
                measured=overhangs.worst_deg,
                limit=overhangs.limit_deg,
                unit="°",
                where_mm=overhangs.where_mm,
                subject=name,
                basis="common practice, no source: 45° from upright prints without support",
                advice="Print it another way up, or with support there.",
            )
        )
    return (*findings, *_bridge_findings(name, overhangs, printer.clean_bridge_mm))


def _down_deg(mesh: Mesh) -> Floats:
    """Lean of each triangle out from upright: 90 for a ceiling, below 0 for what looks up. [°]."""
    return -leans_deg(mesh)


def _small(mesh: Mesh, chosen: Flags, edges: Edges) -> Flags:
    """Tell which triangles belong to patches so small that they hold themselves."""
    small = np.zeros(len(chosen), bool)
    member = np.flatnonzero(chosen)
    if len(member):
        patch = patches_of(chosen, edges)
        plan = mesh.corners_mm[member][:, :, :2]
        low = np.full((int(patch.max()) + 1, 2), np.inf)
        high = -low
        np.minimum.at(low, patch, plan.min(axis=1))
        np.maximum.at(high, patch, plan.max(axis=1))
        small[member] = ((high - low).max(axis=1) <= SMALL_MM)[patch]
    return small


def _largest_patch(mesh: Mesh, chosen: Flags, edges: Edges, turn: Floats) -> Direction | None:
    member = np.flatnonzero(chosen)
    if not len(member):
        return None
    patch = patches_of(chosen, edges)
    sizes = np.bincount(patch, weights=mesh.areas_mm2[member])
    own = member[patch == int(np.argmax(sizes))]
    middle = np.average(mesh.corners_mm[own].mean(axis=1), axis=0, weights=mesh.areas_mm2[own])
    return place_before(middle, turn)


def _bridge_findings(name: str, overhangs: Overhangs, clean_mm: float) -> tuple[Finding, ...]:
    wide = [
        b for b in overhangs.bridges if b.span_mm > clean_mm + CLEAN_MM and b.reach_mm <= REACH_MM
    ]
    loose = [
        b for b in overhangs.bridges if b.reach_mm > REACH_MM + 1e-6 and b.area_mm2 > LEAST_MM2
    ]
    findings = []
    if wide:
        gone = max(b.span_mm for b in wide) > SAGGING * clean_mm
        severity = Severity.CAUTION if gone else Severity.NOTE
        findings.append(_hangs(name, "print-bridge", wide, clean_mm, severity))
    if loose:
        findings.append(_hangs(name, "print-cantilever", loose, REACH_MM, Severity.CAUTION))
    return tuple(findings)


_SAYS = {
    "print-bridge": (
        "a level ceiling is bridged over more than the printer spans cleanly; it will sag",
        "clean bridge of the printer; 2.5 times that is the limit (common practice, no source)",
        "Set a rib under it, print it another way up, or with support.",
    ),
    "print-cantilever": (
        "a level ceiling is held on one side only",
        "geometry: a bridge needs two supports",
        "Slope it at 45°, print it another way up, or with support.",
    ),
}


def _hangs(
    name: str, code: str, bridges: list[Bridge], limit_mm: float, severity: Severity
) -> Finding:
    says, basis, advice = _SAYS[code]
    worst = bridges[0]
    measured = worst.span_mm if code == "print-bridge" else worst.reach_mm
    places = f", in {len(bridges)} places" if len(bridges) > 1 else ""
    return Finding(
        code=code,
        severity=severity,
        says=says + places,
        measured=measured if np.isfinite(measured) else None,
        limit=limit_mm if np.isfinite(measured) else None,
        unit="mm",
        where_mm=worst.where_mm,
        subject=name,
        basis=basis,
        advice=advice,
    )
