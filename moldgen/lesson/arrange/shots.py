"""Molds on forming shots: laid out by the rules, and moved apart until neighbors do not web."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from shapely import box

from moldgen.lesson.arrange.molds import ArrangedMold
from moldgen.lesson.arrange.webs import FormsShots, ShotWeb, WebCheck
from moldgen.lesson.layout.distance import Pair, edge_mm, gap_mm, gaps_of
from moldgen.lesson.layout.keep import EarlierShots, Stay, stayed
from moldgen.lesson.layout.piece import LayoutArea, LayoutPiece, LayoutTask, PieceLayout
from moldgen.lesson.layout.search import lay_out, lay_out_tighter
from moldgen.mold.choices import FormingLook
from moldgen.stock import FormingMachine, Sheet

ROUNDS = 5
"""How often molds are moved apart and the sheet is formed anew. [-]."""
_GROWTH = 0.25
"""By what share of their distance two molds are moved apart where the sheet webs. [-]."""
_LEAST_GROWTH_MM = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotRules:
    """What a layout of shots must keep beside what the molds ask for.

    Attributes
    ----------
    turns_deg : tuple of float
        Turns that a mold may have. [°]
    share_flange : bool
        Whether one cut between two parts is enough.
    gap_mm : float
        Least distance of all molds. [mm]
    keep_outs_mm : tuple of (x, y, width, depth)
        Where no mold may stand. [mm]
    tighter : bool
        Whether fewer sheets are searched for.
    seed : int
        Of that search.
    look : FormingLook
        How closely the sheet is formed over each shot, to find webs.
    """

    turns_deg: tuple[float, ...]
    share_flange: bool = False
    gap_mm: float = 0.0
    keep_outs_mm: tuple[tuple[float, float, float, float], ...] = ()
    tighter: bool = False
    seed: int = 0
    look: FormingLook = FormingLook.PREVIEW


@dataclass(frozen=True, slots=True, kw_only=True)
class WiderGap:
    """Two molds that were moved apart, because the sheet webbed between them.

    Attributes
    ----------
    pair : (name, name)
        The molds.
    rule_mm, gap_mm : float
        What the rule asks for, and what is kept now. [mm]
    """

    pair: Pair
    rule_mm: float
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShotLayout:
    """Molds of one sheet, laid out on shots.

    Attributes
    ----------
    molds : tuple of ArrangedMold
        By the numbers of the layout's pieces.
    layout : PieceLayout
        Where they lie.
    formed : bool
        Whether the sheet was formed over each shot, to find webs.
    wider : tuple of WiderGap
        Pairs that stand farther apart than the rule asks for.
    left : tuple of (pair of names, ShotWeb)
        Where the sheet still webs between neighbors.
    stay : Stay
        What became of the places of an earlier arrangement.
    """

    molds: tuple[ArrangedMold, ...]
    layout: PieceLayout
    formed: bool
    wider: tuple[WiderGap, ...] = ()
    left: tuple[tuple[Pair, ShotWeb], ...] = ()
    stay: Stay = Stay.FIRST

    @property
    def sheet(self) -> Sheet:
        """What all of them are formed from."""
        return self.molds[0].setting.sheet

    @property
    def sheet_words(self) -> str:
        """The same with its color, as it is told."""
        return self.molds[0].sheet_words


def arrange_shots(
    molds: Sequence[ArrangedMold],
    machine: FormingMachine,
    rules: ShotRules,
    *,
    before: EarlierShots = (),
    added_mm: Mapping[Pair, float] | None = None,
    remember: Callable[[FormsShots], FormsShots] = lambda forms: forms,
    tell: Callable[[str, float], None] = lambda words, share: None,
) -> ShotLayout:
    """Lay molds of one sheet out on as few shots as are found.

    Parameters
    ----------
    molds : sequence of ArrangedMold
        All of the same plastic and gauge.
    machine : FormingMachine
        The forming table.
    rules : ShotRules
        What else is to be kept.
    before : EarlierShots
        Where they lay in an earlier arrangement.
    added_mm : mapping of pairs of names, optional
        How much farther apart two of them had to be then. [mm]
    remember : callable
        Given what forms the sheet over a shot, returns what may know the answer already.
    tell : callable
        Told what is done, and which share of it.

    Notes
    -----
    A pair between which the quick run finds a web is moved apart by a quarter, and all is laid
    out and formed again, a few times at most.
    """
    check = remember(WebCheck(machine, rules.look).crowded) if rules.look.is_asked else None
    names = {mold.piece.name for mold in molds}
    added = {pair: more for pair, more in (added_mm or {}).items() if names.issuperset(pair)}
    left: dict[Pair, ShotWeb] = {}
    for number in range(ROUNDS):
        fresh = _laid_out(molds, machine, rules, added, tell)
        layout, stay = stayed(fresh, [mold.mark for mold in molds], before)
        tell("forming the sheet over each shot", number / ROUNDS)
        left = _crowded(check, layout, molds)
        if not left or number == ROUNDS - 1:
            break
        for pair in left:
            now_mm = _gap_between(molds, pair, rules) + added.get(pair, 0.0)
            added[pair] = added.get(pair, 0.0) + max(_GROWTH * now_mm, _LEAST_GROWTH_MM)
    return ShotLayout(
        molds=tuple(molds), layout=layout, formed=check is not None,
        wider=tuple(_wider(molds, pair, rules, added) for pair in sorted(added)),
        left=tuple(sorted(left.items(), key=lambda item: item[0])),
        stay=stay,
    )  # fmt: skip


def task_of(
    pieces: Sequence[LayoutPiece],
    machine: FormingMachine,
    rules: ShotRules,
    *,
    gauge_mm: float,
    added_mm: dict[Pair, float] | None = None,
) -> LayoutTask:
    """Return what is laid out on the clear opening of a table, and what must be kept."""
    gaps = gaps_of(pieces, gauge_mm=gauge_mm, share_flange=rules.share_flange, added_mm=added_mm)
    return LayoutTask(
        area=LayoutArea(
            name="the clear opening",
            width_mm=machine.opening_width_mm,
            depth_mm=machine.opening_depth_mm,
            keep_outs=tuple(box(x, y, x + w, y + d) for x, y, w, d in rules.keep_outs_mm),
        ),
        pieces=tuple(pieces),
        gaps_mm=tuple(tuple(max(gap, rules.gap_mm) for gap in row) for row in gaps),
        edges_mm=tuple(edge_mm(piece) for piece in pieces),
        turns_deg=rules.turns_deg,
    )


def _laid_out(
    molds: Sequence[ArrangedMold],
    machine: FormingMachine,
    rules: ShotRules,
    added: dict[Pair, float],
    tell: Callable[[str, float], None],
) -> PieceLayout:
    task = task_of(
        [mold.piece for mold in molds], machine, rules,
        gauge_mm=molds[0].setting.sheet.gauge_mm, added_mm=added,
    )  # fmt: skip
    if not rules.tighter:
        return lay_out(task)
    return lay_out_tighter(
        task, seed=rules.seed, tell=lambda share: tell("laying the molds out", share)
    )


def _crowded(
    check: FormsShots | None, layout: PieceLayout, molds: Sequence[ArrangedMold]
) -> dict[Pair, ShotWeb]:
    """Return the pairs between which the sheet webs, over all shots."""
    if check is None:
        return {}
    several = [shot for shot in layout.shots if len(shot.placings) > 1]
    return {pair: web for shot in several for pair, web in check(layout, shot, molds)}


def _gap_between(molds: Sequence[ArrangedMold], pair: Pair, rules: ShotRules) -> float:
    by_name = {mold.piece.name: mold for mold in molds}
    one, other = (by_name[name] for name in pair)
    gauge_mm = one.setting.sheet.gauge_mm
    rule = gap_mm(one.piece, other.piece, gauge_mm=gauge_mm, share_flange=rules.share_flange)
    return max(rule, rules.gap_mm)


def _wider(
    molds: Sequence[ArrangedMold], pair: Pair, rules: ShotRules, added: dict[Pair, float]
) -> WiderGap:
    rule = _gap_between(molds, pair, rules)
    return WiderGap(pair=pair, rule_mm=rule, gap_mm=rule + added[pair])
