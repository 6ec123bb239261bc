"""Order: in which order to make the bends, so that each line reaches the element."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from moldgen.bend.order.order_search import MOST_SWINGS, Search
from moldgen.bend.order.reach import StripAtHeater
from moldgen.bend.order.swing import Swing
from moldgen.bend.strip.choices import Turn
from moldgen.bend.strip.layout import Layout
from moldgen.bend.strip.part import StripSpec
from moldgen.bend.strip.shape import formed
from moldgen.bend.strip.shape_checks import check_clashes
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.stock.strip_heater import StripHeater

_CHORD_MM = 0.2
MOST_BENDS = 12
"""More bends are more sets of bent ones than can be looked at while a person waits."""
_PRACTICE = "geometry of strip, heater bed and jig in the side view"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderStep:
    """One bend in its turn.

    Attributes
    ----------
    number : int
        Which bend, 1 for the leftmost.
    turn : Turn
        Which way it goes.
    marks_up, marks_down : bool
        Whether the line can lie over the element with the marks up, and with the marks down.
    why : tuple of str
        What would be wrong if it came later; a sentence for each other bend.
    """

    number: int
    turn: Turn
    marks_up: bool
    marks_down: bool
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BendOrder:
    """An order of bends, or why there is none.

    Attributes
    ----------
    steps : tuple of OrderStep
        First to last; empty if there is no order.
    n_turn_overs : int
        How often the strip is turned over between bends of different turn.
    findings : tuple of Finding
        Lines that can be heated from one face only; or what keeps the strip from being bent.
    """

    steps: tuple[OrderStep, ...]
    n_turn_overs: int
    findings: tuple[Finding, ...]

    @property
    def numbers(self) -> tuple[int, ...]:
        """The bends by their numbers, first to last."""
        return tuple(step.number for step in self.steps)

    @property
    def found(self) -> bool:
        """Whether the strip can be bent."""
        return not any(finding.severity is Severity.STOP for finding in self.findings)


def best_order(
    strip: StripSpec, layout: Layout, heater: StripHeater, *, both_faces: bool = False
) -> BendOrder:
    """Search the order in which the bends can be made.

    Parameters
    ----------
    both_faces : bool
        Whether each line should be heated from one face, then from the other.

    Returns
    -------
    BendOrder
        Of all orders that hit nothing, one with the fewest lines heated from one face only,
        then the fewest times of turning over, then from left to right.

    Raises
    ------
    SpecError
        If there are more than twelve bends.

    Notes
    -----
    The strip is unbent from its finished shape, because that is where it is tightest. What each
    set of bent bends does over the bed is a table; the cheapest way through it, as if the strip
    never hit itself, guides the search (A*), and only bends on the way are swung. A strip that
    hits itself nearly everywhere is given the first order that is found, with a note.
    """
    if len(strip.bends) > MOST_BENDS:
        raise SpecError("bends", f"at most {MOST_BENDS}", f"{len(strip.bends)}", "Join two strips.")
    final = formed(strip, layout, chord_mm=_CHORD_MM)
    clashes = check_clashes(final)
    if clashes:
        return BendOrder(steps=(), n_turn_overs=0, findings=clashes)
    search = Search(StripAtHeater(Swing(final), heater), both_faces)
    numbers = search.best()
    if numbers is None:
        return BendOrder(steps=(), n_turn_overs=0, findings=(_why_none(search),))
    return _told(search, numbers)


def _obstacle(search: Search, mask: int, bend: int) -> str:
    """Return in words why a bend cannot be made when a set is bent; empty if it can."""
    bench = search.bench
    for side, run in zip((bend + 1, bend + 2), bench.swing.runs_mm(mask, bend), strict=True):
        if run < bench.heater.least_leg_mm - 1e-6:
            return (
                f"leg {side} gives only {run:.0f} mm to lie on the bed, which needs "
                f"{bench.heater.least_leg_mm:.0f} mm"
            )
    if not any(bench.faces(mask, bend)):
        return "a leg that is already bent would stand on the heater's bed"
    struck = search.struck(mask, bend)
    return f"the strip would hit {struck.replace('the strip itself', 'itself')}" if struck else ""


def _told(search: Search, numbers: list[int]) -> BendOrder:
    """Return an order with its reasons."""
    steps, findings, mask, overs = [], [], 0, 0
    for place, bend in enumerate(numbers):
        up, down = search.bench.faces(mask, bend)
        steps.append(
            OrderStep(
                number=bend + 1,
                turn=search.bench.swing.shape.strip.bends[bend].turn,
                marks_up=up,
                marks_down=down,
                why=tuple(_whys(search, bend, numbers[place + 1 :])),
            )
        )
        if search.both_faces and not (up and down):
            findings.append(_one_face(bend + 1, "up" if up else "down"))
        overs += place > 0 and search.turns[bend] != search.turns[numbers[place - 1]]
        mask |= 1 << bend
    if search.hurried:
        findings.append(_hurried())
    return BendOrder(steps=tuple(steps), n_turn_overs=overs, findings=tuple(findings))


def _whys(search: Search, bend: int, later: list[int]) -> Iterator[str]:
    for other in sorted(later):
        reason = _obstacle(search, 1 << other, bend)
        if reason:
            yield f"Before bend {other + 1}: afterward {reason}."


def _why_none(search: Search) -> Finding:
    """Return what keeps the strip from being bent, and what to change."""
    for bend in range(search.n):
        reason = _obstacle(search, 0, bend)
        if reason:
            return _none(f"bend {bend + 1} cannot be made even on the flat strip: {reason}")
    for bend in range(search.n):
        for other in range(bend):
            first, second = _obstacle(search, 1 << other, bend), _obstacle(search, 1 << bend, other)
            if first and second:
                return _none(
                    f"bends {other + 1} and {bend + 1} are in each other's way: after bend "
                    f"{other + 1}, {first}; after bend {bend + 1}, {second}"
                )
    return _none(_last_resort(search))


def _last_resort(search: Search) -> str:
    if len(search.hits) >= MOST_SWINGS:
        return f"none was found in {MOST_SWINGS} tries at swinging a leg clear of the others"
    left = [bend for bend in range(search.n) if search.stuck >> bend & 1]
    reasons = [
        f"bend {bend + 1}, because {_obstacle(search, search.stuck & ~(1 << bend), bend)}"
        for bend in left
    ]
    bends = " and ".join(str(bend + 1) for bend in left)
    worst = [reason for reason in reasons if not reason.endswith("because ")] or reasons
    return f"of bends {bends} none can be made last: " + "; ".join(worst[:3])


def _one_face(number: int, face: str) -> Finding:
    return Finding(
        code="heated-from-one-face",
        severity=Severity.CAUTION,
        says=f"its line can lie over the element with the marks {face} only",
        subject=f"bend {number}",
        basis=_PRACTICE,
        advice="Heat it longer and more gently from that face, instead of turning it over.",
    )


def _hurried() -> Finding:
    return Finding(
        code="order-not-best",
        severity=Severity.NOTE,
        says="this order can be made, but not all were compared",
        basis=_PRACTICE,
    )


def _none(says: str) -> Finding:
    return Finding(
        code="no-bend-order",
        severity=Severity.STOP,
        says=f"there is no order in which the bends can be made: {says}",
        basis=_PRACTICE,
        advice=(
            "Make that leg longer, take a heater with a shallower bed, or join two strips there."
        ),
    )
