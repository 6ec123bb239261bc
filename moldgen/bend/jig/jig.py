"""Jig: a bend block to be printed, on which a hot strip is folded to its angle.

In use it stands on its base: the strip is pushed in from the side, along the bench, until its
end is at the fence and its edge at the rail; the hot leg is folded up against the block.
It is printed lying on its rail, so that every wall is upright and the angle lies in the plane
that a printer makes truest.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Annotated

import shapely
from manifold3d import Manifold

from moldgen.bend.heat.overbend import overbend_of
from moldgen.bend.jig.base import BaseSpec, build_on_rail, check_below, check_fence, titled
from moldgen.bend.jig.block import Block, JigSizes, build_block
from moldgen.bend.jig.held import build_held
from moldgen.bend.jig.keyed import pieces_of
from moldgen.bend.order.swing import LARGEST_BLOCK_DEG
from moldgen.bend.strip.layout import Layout
from moldgen.bend.strip.part import StripSpec
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity, ranked
from moldgen.printing.bed import check_printable
from moldgen.printing.label import LABEL_MM, label_in
from moldgen.quantity import Meaning, Quantity
from moldgen.solid.mesh import Body
from moldgen.solid.prism import body, raised
from moldgen.solid.sound import sound
from moldgen.stock import Printer

_THUMB_MM = (22.0, 16.0)
"""Width and depth of the notch through which a thumb pushes the strip out. [mm]."""
_GEOMETRY = "geometry of the jig"


@dataclass(frozen=True, slots=True, kw_only=True)
class JigSpec(BaseSpec):
    """How a bend block is made."""

    face_mm: Annotated[
        float, Quantity("mm", "how far it reaches up the folded leg", at_least=15, at_most=200)
    ] = 40.0
    clearance_mm: Annotated[
        float, Quantity("mm", "between strip and jig, on every side", at_least=0.05, at_most=1)
    ] = 0.2
    fence_mm: Annotated[float, Quantity("mm", "thickness of the fence", at_least=3, at_most=30)] = (
        8.0
    )
    shelf_mm: Annotated[
        float, Quantity("mm", "length of the shelf for a weight", at_least=25, at_most=200)
    ] = 40.0
    facing_mm: Annotated[
        float,
        Quantity("mm", "thickness of wood or metal glued on the hot faces", at_least=0, at_most=6),
    ] = 0.0
    relief_mm: Annotated[
        float, Quantity("mm", "depth of the groove over the bend", at_least=0, at_most=3)
    ] = 0.6
    hold: Annotated[str, Meaning("left or right: the leg that is held; chosen if left out")] = ""
    label: Annotated[bool, Meaning("whether name, bend and angle are sunk into the side")] = True

    @property
    def sizes(self) -> JigSizes:
        """The sizes of the side view."""
        return JigSizes(
            face_mm=self.face_mm,
            base_mm=self.base_mm,
            fence_mm=self.fence_mm,
            shelf_mm=self.shelf_mm,
            clearance_mm=self.clearance_mm,
            facing_mm=self.facing_mm,
            relief_mm=self.relief_mm,
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Jig:
    """A bend block.

    Attributes
    ----------
    spec : JigSpec
        As asked for.
    number : int
        The bend it is for, 1 for the leftmost.
    block : Block
        Its side view, with the strip in it.
    bodies : tuple of Body
        What is printed, each flat on z = 0: the block in one or more pieces, and loose pins.
    whole : Body
        The block in one piece, as it is printed.
    findings : tuple of Finding
        What a person should know, gravest first.
    """

    spec: JigSpec
    number: int
    block: Block
    bodies: tuple[Body, ...]
    whole: Body
    findings: tuple[Finding, ...]

    @property
    def pressed_deg(self) -> float:
        """Angle it presses the bend to. [°]."""
        return self.block.held.pressed_deg

    @property
    def fence_mm(self) -> float | None:
        """From the bend line to the fence; None if the strip has no straight end there. [mm]."""
        return self.block.fence_mm

    @property
    def marks_up(self) -> bool:
        """Whether the strip lies in it with its marks above."""
        return self.block.held.marks_up

    @property
    def far_edge(self) -> bool:
        """Whether the far edge of the strip, as on the flat drawing, lies at the rail."""
        return self.block.held.far_edge


def build_jig(
    strip: StripSpec,
    layout: Layout,
    number: int,
    spec: JigSpec,
    printer: Printer,
    *,
    bent: Collection[int] = (),
) -> Jig:
    """Build the bend block for one bend.

    Parameters
    ----------
    number : int
        Bend, 1 for the leftmost.
    bent : collection of int
        Bends that are bent before, by number; the jig has room for their legs.

    Raises
    ------
    SpecError
        If there is no such bend, or it is a closed fold or nearly one, for which there is the
        press.
    """
    held = build_held(strip, layout, number, bent=bent, hold=spec.hold)
    if held.pressed_deg > LARGEST_BLOCK_DEG:
        raise SpecError(
            "angle_deg",
            f"at most {LARGEST_BLOCK_DEG:g}° with its overbend, for a bend block",
            f"{held.pressed_deg:g}° at bend {number}",
            "Fold it in a press, or bend it less.",
        )
    block = build_block(held, spec.sizes)
    solid = _solid(block, spec)
    name = f"jig {number}"
    whole = body(name, solid, doing=f"building {name}")
    bodies = _pieces(name, solid, block, printer)
    findings = (*_findings(block, spec, len(bodies)), *check_printable(bodies, printer))
    return Jig(
        spec=spec,
        number=number,
        block=block,
        bodies=bodies,
        whole=whole,
        findings=ranked(findings),
    )


def _solid(block: Block, spec: JigSpec) -> Manifold:
    width = block.held.strip.width_mm
    top = spec.rail_mm + width
    solid = build_on_rail(block.rail, block.solid, spec.rail_mm, top)
    # The half millimeter that joins them must not narrow the room for the strip.
    solid = solid - _thumb_notch(block, top)
    if spec.label:
        solid = solid - _labels(block, top)
    return sound(solid, doing="building a jig")


def _thumb_notch(block: Block, top: float) -> Manifold:
    """Return what is cut from the base at its open side; nothing if the base is small."""
    _, low, _, high = block.base
    width, depth = _THUMB_MM
    middle = _thumb_mm(block)
    if middle is None:
        return Manifold()
    slot = shapely.union_all(
        [
            shapely.box(middle - width / 2, top - depth + width / 2, middle + width / 2, top + 1),
            shapely.Point(middle, top - depth + width / 2).buffer(width / 2, quad_segs=24),
        ]
    )
    # Raised along z, then laid so that it goes through the base from below.
    return raised(slot, -high, -low + 1.0).rotate((90.0, 0.0, 0.0))


def _thumb_mm(block: Block) -> float | None:
    """Return where along the base the notch has its middle; None if the base is small."""
    left, _, right, _ = block.base
    width, depth = _THUMB_MM
    if right - left < 2 * width or block.held.strip.width_mm < 2 * depth:
        return None
    return right - 0.8 * width if right - left < 3 * width else right - 1.2 * width


def _labels(block: Block, top: float) -> Manifold:
    held = block.held
    over = overbend_of(held.strip).overbend_deg
    asked = held.strip.bends[held.number - 1].angle_deg
    words = f"bend {held.number}\n{asked:g}+{over:g}°"
    former = label_in(block.former, [*titled(held.strip.name, words), str(held.number)])
    parts = [former] if former is not None else []
    if block.fence_mm is not None:
        base = shapely.box(*block.base) & block.solid
        thumb = _thumb_mm(block)
        if thumb is not None:
            base = base & shapely.box(-1e4, -1e4, thumb - _THUMB_MM[0] / 2, 1e4)
        fence = label_in(base, [f"fence {block.fence_mm:.1f}"], tallest_mm=5.0)
        parts += [fence] if fence is not None else []
    cuts = [raised(part, top - LABEL_MM, top + 1.0) for part in parts]
    return sum(cuts, Manifold())


def _pieces(name: str, solid: Manifold, block: Block, printer: Printer) -> tuple[Body, ...]:
    _, low, _, high = block.base
    band = (low, high - block.sizes.clearance_mm)
    keep = (min(block.former.bounds[0], 0.0) - 8.0, solid.bounding_box()[3])
    return pieces_of(name, solid, printer, band_mm=band, keep_mm=keep)


def _findings(block: Block, spec: JigSpec, n_bodies: int) -> list[Finding]:
    name = f"jig {block.held.number}"
    findings = [
        *check_fence(
            block.fence_mm, name, basis=_GEOMETRY,
            advice="Lay the mark at the front edge of the base by eye before folding.",
        ),
        *check_below(
            block.held, spec.base_mm, name, floor="base", basis=_GEOMETRY,
            advice="Clamp the jig at the edge of the bench, or on a block as high.",
        ),
    ]  # fmt: skip
    if block.shelf_mm == 0.0:
        findings.append(
            Finding(
                code="jig-without-shelf",
                severity=Severity.NOTE,
                says="there is no room for a weight on the block",
                subject=name,
                basis=_GEOMETRY,
                advice="Clamp the base to the bench.",
            )
        )
    if n_bodies > 1:
        findings.append(
            Finding(
                code="jig-in-pieces",
                severity=Severity.NOTE,
                says="is longer or wider than the printer and comes in pieces",
                measured=float(n_bodies),
                subject=name,
                basis=_GEOMETRY,
                advice="Glue the pieces on a flat table, keys in sockets, pins in holes.",
            )
        )
    return findings
