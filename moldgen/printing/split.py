"""Split: a solid cut into pieces that fit the printer, keyed together and numbered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from manifold3d import Manifold

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.printing.bed_fit import check_beds
from moldgen.printing.choices import KeyKind
from moldgen.printing.hurdles import Hurdle
from moldgen.printing.keys import (
    WALL_MM,
    Key,
    KeySpec,
    build_pin,
    check_key_fits_bed,
    key_hole,
    place_keys,
)
from moldgen.printing.mark import label_tool
from moldgen.printing.planes import Cut, check_cuts, place_cuts
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.slices import solid_of
from moldgen.solid.sound import mesh_from_solid, sound
from moldgen.stock import Printer

CRUMB_MM3 = 0.5
"""A loose bit of less than this is a crumb that no printer would lay. [mm³]."""
TOUCH_MM2 = 1.0
"""Joint below which two pieces only touch at a corner. [mm²]."""
USUAL_KEYS = KeySpec()
_NEAR_MM = 1e-4
_SIMPLER_MM = 1e-5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SplitPart:
    """A solid in pieces.

    Attributes
    ----------
    plain : tuple of Body
        The pieces as cut, before keys and numbers, where they were in the whole. [mm]
    pieces : tuple of Body
        The same, keyed and numbered, in the same order; their names are the numbers. [mm]
    pins : tuple of Body
        Printed pins, each lying on z = 0; none for bought ones. [mm]
    keys : tuple of Key
        Every pin, bought or printed.
    cuts : tuple of Cut
        The planes.
    findings : tuple of Finding
        What could not be helped.
    """

    plain: tuple[Body, ...]
    pieces: tuple[Body, ...]
    pins: tuple[Body, ...]
    keys: tuple[Key, ...]
    cuts: tuple[Cut, ...]
    findings: tuple[Finding, ...]


def split_to_bed(
    body: Body,
    printer: Printer,
    *,
    hurdles: Sequence[Hurdle] = (),
    keys: KeySpec = USUAL_KEYS,
    cuts: Sequence[Cut] | None = None,
) -> SplitPart:
    """Cut a solid into pieces that fit the printer.

    Parameters
    ----------
    body : Body
        A closed solid as it is printed, underside down. [mm]
    hurdles : sequence of Hurdle
        What cuts should go round: see `hurdles_of_mesh`.
    keys : KeySpec
        How the pieces are registered.
    cuts : sequence of Cut, optional
        Planes to use; placed where they harm least if left out.

    Raises
    ------
    GeometryError
        If the solid is not closed, or the modeler fails.
    SpecError
        If it would fall into absurdly many pieces, or the bed is too small for a key.
    """
    solid = solid_of(body.mesh, name=body.name)
    if cuts is None:
        cuts = place_cuts(body.mesh, printer, hurdles)
    _check_planes(body, cuts)
    parts, crumbs = _parts(solid, cuts)
    if cuts:
        check_key_fits_bed(keys, printer)
    placed, missing = _keyed(parts, cuts, keys, printer)
    finished, unmarked = _finished(body.name, parts, placed)
    names = _names(len(parts))
    pieces = tuple(Body(n, mesh_from_solid(part)) for n, part in zip(names, finished, strict=True))
    plain = tuple(Body(n, mesh_from_solid(part)) for n, part in zip(names, parts, strict=True))
    pins = tuple(_pins(placed)) if keys.kind is KeyKind.PRINTED else ()
    findings = (
        *check_cuts(body.name, cuts), *_crumb_findings(body.name, crumbs),
        *missing, *unmarked, *check_beds(pieces, printer),
    )  # fmt: skip
    return SplitPart(
        plain=plain, pieces=pieces, pins=pins, keys=placed, cuts=tuple(cuts), findings=findings
    )


def on_bed(body: Body) -> Body:
    """Return a piece moved to stand on z = 0 with its corner over the origin."""
    points = body.mesh.points_mm - body.mesh.bounds_mm[0]
    return Body(body.name, Mesh(points, body.mesh.triangles.copy()))


def _check_planes(body: Body, cuts: Sequence[Cut]) -> None:
    low, high = body.mesh.bounds_mm
    for cut in cuts:
        if not low[cut.axis] + _NEAR_MM < cut.at_mm < high[cut.axis] - _NEAR_MM:
            raise SpecError(
                "cut",
                f"between {low[cut.axis]:.1f} and {high[cut.axis]:.1f} mm",
                f"{cut.at_mm:g} mm",
                "A cut must go through the part.",
            )


def _parts(solid: Manifold, cuts: Sequence[Cut]) -> tuple[list[Manifold], list[Manifold]]:
    """Cut by every plane and part what no longer hangs together; crumbs apart."""
    whole = [solid]
    for cut in cuts:
        normal = tuple(float(k == cut.axis) for k in range(3))
        halves = [half for part in whole for half in part.split_by_plane(normal, cut.at_mm)]
        whole = [half for half in halves if not half.is_empty()]
    loose = [piece for part in whole for piece in part.decompose()]
    for piece in loose:
        sound(piece, doing="splitting the part")
    kept = [piece for piece in loose if piece.volume() > CRUMB_MM3]
    crumbs = [piece for piece in loose if piece.volume() <= CRUMB_MM3]
    return sorted(kept, key=_reading_order), crumbs


def _reading_order(piece: Manifold) -> tuple[float, float, float]:
    """From below to above, from the back to the front, from left to right."""
    x0, y0, z0, x1, y1, _ = piece.bounding_box()
    return round(z0, 1), -round((y0 + y1) / 2, 0), round((x0 + x1) / 2, 1)


def _names(count: int) -> list[str]:
    return [str(number) for number in range(1, count + 1)]


def _keyed(
    parts: Sequence[Manifold], cuts: Sequence[Cut], spec: KeySpec, printer: Printer
) -> tuple[tuple[Key, ...], tuple[Finding, ...]]:
    keys: list[Key] = []
    findings: list[Finding] = []
    if spec.kind is KeyKind.NONE:
        return (), ()
    for cut in cuts:
        for a, b in _joints(parts, cut):
            found = place_keys(
                parts[a], parts[b], axis=cut.axis, at_mm=cut.at_mm, spec=spec, printer=printer
            )
            keys += found
            if len(found) < 2:
                findings.append(_few(a + 1, b + 1, len(found)))
    return tuple(keys), tuple(findings)


def _joints(parts: Sequence[Manifold], cut: Cut) -> Iterator[tuple[int, int]]:
    """Yield the numbers of pieces that share some of a plane, the lower one first."""
    boxes = [part.bounding_box() for part in parts]
    under = [k for k, box in enumerate(boxes) if abs(box[cut.axis + 3] - cut.at_mm) < _NEAR_MM]
    over = [k for k, box in enumerate(boxes) if abs(box[cut.axis] - cut.at_mm) < _NEAR_MM]
    for a in under:
        for b in over:
            joint = parts[a].translate(_along(cut.axis, 2 * _NEAR_MM)) ^ parts[b]
            if joint.volume() > TOUCH_MM2 * 2 * _NEAR_MM:
                yield a, b


def _along(axis: int, by_mm: float) -> tuple[float, float, float]:
    x, y, z = (by_mm * (k == axis) for k in range(3))
    return x, y, z


def _finished(
    name: str, parts: Sequence[Manifold], keys: Sequence[Key]
) -> tuple[list[Manifold], tuple[Finding, ...]]:
    """Bore the keys' holes and sink the numbers."""
    holes = [key_hole(key) for key in keys]
    finished: list[Manifold] = []
    bare: list[str] = []
    for number, part in enumerate(parts, start=1):
        cut = part
        for hole in holes:
            if _meet(part, hole):
                cut = cut - hole
        label = label_tool(cut, str(number)) if len(parts) > 1 else None
        if label is not None:
            cut = cut - label
        elif len(parts) > 1:
            bare.append(str(number))
        finished.append(sound(cut.simplify(_SIMPLER_MM), doing=f"keying piece {number}"))
    return finished, _unmarked(name, bare)


def _meet(one: Manifold, other: Manifold) -> bool:
    a, b = one.bounding_box(), other.bounding_box()
    return all(a[k] < b[k + 3] and b[k] < a[k + 3] for k in range(3))


def _pins(keys: Sequence[Key]) -> Iterator[Body]:
    for number, key in enumerate(keys, start=1):
        yield Body(f"pin {number}", mesh_from_solid(build_pin(key)))


def _few(a: int, b: int, count: int) -> Finding:
    return Finding(
        code="split-few-keys",
        severity=Severity.NOTE,
        says=f"the joint of pieces {a} and {b} has room for "
        + ("one pin only, round which they could turn" if count else "no pin"),
        measured=float(count),
        limit=2.0,
        subject=f"piece {a}",
        basis=f"plastic of {WALL_MM:g} mm around a pin's hole (common practice, no source)",
        advice="Glue it against a straight edge, on a flat plate.",
    )


def _unmarked(name: str, bare: Sequence[str]) -> tuple[Finding, ...]:
    if not bare:
        return ()
    return (
        Finding(
            code="split-unmarked",
            severity=Severity.NOTE,
            says=f"there is no room for a number under piece {', '.join(bare)}",
            subject=name,
            basis="geometry of the underside",
            advice="Write it on by hand as it comes off the printer.",
        ),
    )


def _crumb_findings(name: str, crumbs: Sequence[Manifold]) -> tuple[Finding, ...]:
    if not crumbs:
        return ()
    return (
        Finding(
            code="split-crumb",
            severity=Severity.NOTE,
            says=f"{len(crumbs)} crumbs that no printer lays were left out; volume",
            measured=sum(float(crumb.volume()) for crumb in crumbs),
            limit=CRUMB_MM3,
            unit="mm³",
            subject=name,
            basis="geometry",
            advice="Nothing to do, unless a corner is missed.",
        ),
    )
