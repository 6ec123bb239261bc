"""The jigs of a bent strip: what is printed, what each is for, and how to lay the strip in it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from moldgen.bend.jig.angle_gauge import AngleGaugeSpec, build_angle_gauge
from moldgen.bend.jig.fitted import strip_in_jig
from moldgen.bend.jig.held import PressedStrip
from moldgen.bend.jig.jig import JigSpec, build_jig
from moldgen.bend.jig.mark_gauge import MarkGaugeSpec, build_mark_gauge
from moldgen.bend.jig.press import PressSpec, build_press
from moldgen.bend.order.order import BendOrder
from moldgen.bend.strip.flat import Layout
from moldgen.bend.strip.part import StripSpec
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.job.strip_spec import JigKind, StripJob
from moldgen.printing.bed import as_used, laid_out
from moldgen.solid.mesh import Body
from moldgen.stock import Printer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedJig:
    """One jig.

    Attributes
    ----------
    name : str
        For its file: ``block-1``.
    title : str
        What a person calls it.
    use : str
        How it is used, a sentence or two.
    bodies : tuple of Body
        What is printed, flat on z = 0, side by side. [mm]
    shown : tuple of Body
        As it is used, for pictures. [mm]
    strip : Body or None
        The strip in it. [mm]
    bend : int or None
        The bend that is pressed in it; None for a gauge.
    findings : tuple of Finding
        What is doubtful about it.
    """

    name: str
    title: str
    use: str
    bodies: tuple[Body, ...]
    shown: tuple[Body, ...]
    strip: Body | None = None
    bend: int | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def largest_mm(self) -> tuple[float, float, float]:
        """Size of its largest piece. [mm]."""
        boxes = [np.diff(body.mesh.bounds_mm, axis=0)[0] for body in self.bodies]
        x, y, z = max(boxes, key=lambda box: float(np.prod(box)))
        return float(x), float(y), float(z)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Jigs:
    """Everything that is printed for a strip.

    Attributes
    ----------
    printed : tuple of PrintedJig
        In the order they are used.
    findings : tuple of Finding
        What is doubtful about them, and which could not be made.
    """

    printed: tuple[PrintedJig, ...] = ()
    findings: tuple[Finding, ...] = ()

    def for_bend(self, number: int) -> PrintedJig | None:
        """Return what a bend is pressed in."""
        return next((one for one in self.printed if one.bend == number), None)

    def named(self, name: str) -> PrintedJig | None:
        """Return a jig by the word its file is named with."""
        return next((one for one in self.printed if one.name == name), None)


def build_jigs(
    job: StripJob, strip: StripSpec, layout: Layout, order: BendOrder, printer: Printer
) -> Jigs:
    """Build what the job asks for; nothing is built for a strip that cannot be bent.

    Parameters
    ----------
    job : StripJob
        What was asked for.
    strip : StripSpec
        The strip.
    layout : Layout
        Its flat layout.
    order : BendOrder
        The order of its bends.
    printer : Printer
        The printer the jigs must fit.
    """
    if not order.found:
        return Jigs()
    builder = _Builder(job, strip, layout, printer)
    for name, build in builder.wanted(order.numbers):
        builder.attempt(name, build)
    findings = [finding for one in builder.printed for finding in one.findings]
    return Jigs(printed=tuple(builder.printed), findings=(*builder.left_out, *findings))


class _Builder:
    """Builds one jig after the other; what cannot be built becomes a finding."""

    def __init__(self, job: StripJob, strip: StripSpec, layout: Layout, printer: Printer) -> None:
        self.job, self.strip, self.layout, self.printer = job, strip, layout, printer
        self.printed: list[PrintedJig] = []
        self.left_out: list[Finding] = []

    def wanted(self, numbers: Sequence[int]) -> Iterator[tuple[str, Callable[[], PrintedJig]]]:
        kinds = set(self.job.jigs.make)
        if JigKind.MARKING_GAUGE in kinds:
            yield "marking gauge", self.marking_gauge
        for place, number in enumerate(numbers):
            bent = tuple(numbers[:place])
            if self.strip.bends[number - 1].is_fold:
                if JigKind.PRESS in kinds:
                    yield f"press {number}", partial(self.press, number, bent)
            elif JigKind.BLOCK in kinds:
                yield f"jig {number}", partial(self.block, number, bent)
        if JigKind.ANGLE_GAUGE in kinds:
            for alike in self._alike():
                yield f"angle gauge {alike[0]}", partial(self.angle_gauge, alike)

    def attempt(self, name: str, build: Callable[[], PrintedJig]) -> None:
        try:
            self.printed.append(build())
        except SpecError as problem:
            self.left_out.append(_left_out(name, problem))

    def block(self, number: int, bent: Sequence[int]) -> PrintedJig:
        spec = JigSpec(facing_mm=self.job.jigs.facing_mm or 0.0)
        jig = build_jig(self.strip, self.layout, number, spec, self.printer, bent=bent)
        return PrintedJig(
            name=f"block-{number}",
            title=f"bend block {number} ({jig.pressed_deg:g}°)",
            use=f"Push {_laid(jig.block.held, jig.fence_mm)}; fold the other leg up against it.",
            bodies=laid_out(jig.bodies),
            shown=(as_used(jig.whole),),
            strip=as_used(strip_in_jig(jig.block.held, spec.rail_mm)),
            bend=number,
            findings=jig.findings,
        )

    def press(self, number: int, bent: Sequence[int]) -> PrintedJig:
        spec = PressSpec(facing_mm=self.job.jigs.facing_mm or 0.0)
        press = build_press(self.strip, self.layout, number, spec, self.printer, bent=bent)
        laid = _laid(press.held, press.fence_mm)
        other = "board" if spec.facing_mm else "card"
        insert = "the insert" if press.insert_mm else f"a {other} {press.gap_mm:g} mm thick"
        return PrintedJig(
            name=f"press-{number}",
            title=f"press {number} (gap {press.gap_mm:g} mm)",
            use=f"Fold it over {insert} by hand. Lay {laid}; put the lid on, and a weight of a "
            "kilogram or two.",
            bodies=press.bodies,
            shown=(as_used(press.tray),),
            strip=as_used(strip_in_jig(press.held, spec.rail_mm)),
            bend=number,
            findings=press.findings,
        )

    def marking_gauge(self) -> PrintedJig:
        gauge = build_mark_gauge(self.layout, MarkGaugeSpec(), self.printer)
        return PrintedJig(
            name="marking-gauge",
            title="marking gauge",
            use="Hook it over the left end and the edge of the strip, draw along each step, and "
            "lengthen the line with a square.",
            bodies=laid_out(gauge.bodies),
            shown=(gauge.whole,),
            findings=gauge.findings,
        )

    def angle_gauge(self, numbers: Sequence[int]) -> PrintedJig:
        gauge = build_angle_gauge(self.layout, numbers[0], AngleGaugeSpec(), self.printer)
        low, high = gauge.limits
        bends = f"bend{'s' * (len(numbers) > 1)} {' and '.join(map(str, numbers))}"
        if self.strip.bends[numbers[0] - 1].is_fold:
            use = f"The blade of {low:.1f} mm must go into {bends}, that of {high:.1f} mm must not."
        else:
            use = (
                f"The point of {low:g}° must touch {bends} with its sides, that of {high:g}° with "
                "its tip."
            )
        return PrintedJig(
            name=f"angle-gauge-{numbers[0]}",
            title=f"angle gauge for {bends}",
            use=use,
            bodies=laid_out(gauge.bodies),
            shown=gauge.bodies,
            findings=gauge.findings,
        )

    def _alike(self) -> list[tuple[int, ...]]:
        """Return the bends that one gauge serves, in groups of equal angle and radius."""
        groups: dict[tuple[float, float], list[int]] = {}
        for line in self.layout.lines:
            key = (line.bend.angle_deg, round(line.radius_mm, 4))
            groups.setdefault(key, []).append(line.number)
        return [tuple(numbers) for numbers in groups.values()]


def _laid(held: PressedStrip, fence_mm: float | None) -> str:
    leg = held.number if held.left else held.number + 1
    end = "left" if held.left else "right"
    marks = "above" if held.marks_up else "below"
    edge = "far" if held.far_edge else "near"
    fence = f", its {end} end at the fence" if fence_mm is not None else ""
    return (
        f"leg {leg} into the jig{fence}, the {edge} edge of the drawing at the rail, marks {marks}"
    )


def _left_out(name: str, problem: SpecError) -> Finding:
    return Finding(
        code="jig-left-out",
        severity=Severity.CAUTION,
        says=f"cannot be printed: it must be {problem.rule} (got {problem.got})",
        subject=name,
        basis="geometry of the jig",
        advice=problem.hint,
    )
