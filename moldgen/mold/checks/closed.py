"""Whether every body is one closed solid."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case
from moldgen.solid.mesh import Mesh, is_flat
from moldgen.solid.topology import Topology

_BASIS = "a solid is bounded by triangles that share every edge in pairs"


def check_closed(case: Case) -> tuple[Finding, ...]:
    """Ask whether each body is closed, faces outward and is of one piece."""
    findings: list[Finding] = []
    for body, mesh, topology in zip(case.bodies, case.welded, case.topologies, strict=True):
        findings += _edges(body.name, mesh, topology)
        findings += _volumes(body.name, mesh, topology, planned=bool(case.plan))
    return tuple(findings)


def _edges(name: str, mesh: Mesh, topology: Topology) -> list[Finding]:
    edges = topology.edges
    kinds = [
        (
            "mesh-open",
            Severity.STOP,
            edges.open,
            "the surface has holes: edges with one triangle only",
            "Close the holes where it was drawn, then save it again; or let `moldgen adapt` make a "
            "mold of what is seen from above.",
        ),
        (
            "mesh-clashing",
            Severity.STOP,
            edges.clashing,
            "neighboring triangles disagree about the outside: edges run twice the same way",
            "Let the program it was drawn in make the normals agree.",
        ),
        (
            "mesh-touching",
            Severity.CAUTION,
            edges.crowded,
            "the surface touches itself: edges of more than two triangles",
            "Part the touching places or let them overlap by 0.1 mm.",
        ),
    ]
    findings = [
        _finding(
            name=name,
            code=code,
            severity=severity,
            says=says,
            count=len(bad),
            where=_middle(mesh, bad[0]),
            advice=advice,
        )
        for code, severity, bad, says, advice in kinds
        if len(bad)
    ]
    if len(topology.degenerate):
        first = mesh.corners_mm[topology.degenerate[0]].mean(axis=0)
        findings.append(
            _finding(
                name=name,
                code="mesh-degenerate",
                severity=Severity.NOTE,
                says="there are triangles without area",
                count=len(topology.degenerate),
                where=first,
                advice="Nothing to do unless the printer's program complains.",
            )
        )
    return findings


def _volumes(name: str, mesh: Mesh, topology: Topology, *, planned: bool) -> list[Finding]:
    if is_flat(mesh, closed=topology.closed):
        return [
            _finding(
                name=name,
                code="mesh-flat",
                severity=Severity.STOP,
                says="the body is flat and encloses nothing; triangles",
                count=len(mesh.triangles),
                where=mesh.points_mm[0],
                advice="Give it a height, then save it again.",
            )
        ]
    if not topology.closed:
        return []
    volumes = topology.volumes_mm3
    if volumes.sum() < 0:
        return [
            _finding(
                name=name,
                code="mesh-inside-out",
                severity=Severity.STOP,
                says="the surface faces inward; pieces",
                count=int((volumes < 0).sum()),
                where=mesh.points_mm[0],
                advice="Turn all normals round.",
            )
        ]
    findings = []
    hollow = np.flatnonzero(volumes < 0)
    if len(hollow):
        findings.append(
            _finding(
                name=name,
                code="mesh-hollow",
                severity=Severity.CAUTION,
                says="there are closed hollows, or pieces that face inward",
                count=len(hollow),
                where=_first_place(mesh, topology, int(hollow[0])),
                advice="Fill hollows, or turn the pieces' normals round.",
            )
        )
    solid = np.flatnonzero(volumes > 0)
    # The letters of a planned word are pieces of one body on purpose.
    if len(solid) > 1 and not planned:
        least = int(solid[np.argmin(volumes[solid])])
        findings.append(
            _finding(
                name=name,
                code="mesh-pieces",
                severity=Severity.NOTE,
                says="the body is made of separate pieces",
                count=len(solid),
                where=_first_place(mesh, topology, least),
                advice="Join pieces that belong together, or save them one by one.",
            )
        )
    return findings


def _middle(mesh: Mesh, edge: NDArray[np.int64]) -> NDArray[np.float64]:
    middle: NDArray[np.float64] = mesh.points_mm[edge].mean(axis=0)
    return middle


def _first_place(mesh: Mesh, topology: Topology, piece: int) -> NDArray[np.float64]:
    place: NDArray[np.float64] = mesh.corners_mm[topology.piece == piece].mean(axis=(0, 1))
    return place


def _finding(
    *,
    name: str,
    code: str,
    severity: Severity,
    says: str,
    count: int,
    where: NDArray[np.float64],
    advice: str,
) -> Finding:
    x, y, z = (float(value) for value in where)
    return Finding(
        code=code,
        severity=severity,
        says=says,
        measured=float(count),
        limit=0.0 if code != "mesh-pieces" else 1.0,
        where_mm=(x, y, z),
        subject=name,
        basis=_BASIS,
        advice=advice,
    )
