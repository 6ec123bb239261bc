"""Whether neighbors web: the sheet formed quickly over a whole shot."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import Point

from moldgen.lesson.arrange.molds import ArrangedMold
from moldgen.lesson.layout.distance import Pair, pair_of
from moldgen.lesson.layout.piece import PieceLayout, Placing, Shot
from moldgen.mold.choices import FormingLook
from moldgen.pipeline.mold.forming import run_forming
from moldgen.pipeline.stage import quiet
from moldgen.solid.height.relief import relief_of
from moldgen.solid.mesh import joined
from moldgen.solid.polygons import polygons_of
from moldgen.stock import FormingMachine

CELL_MM = 1.0
_SAME_PLACE_MM = 8.0
"""How near a web must be to one of the mold formed alone to be that mold's own. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotWeb:
    """A fold of the sheet that reaches into a part of a shot.

    Attributes
    ----------
    where_mm : (x, y)
        Its middle, from the lower left corner of the opening. [mm]
    height_mm, length_mm : float
        How tall and how long it is. [mm]
    near : tuple of int
        Places in the shot's list of the molds it lies between, the nearest first; one alone where
        no other is so near that it could cause it.
    """

    where_mm: tuple[float, float]
    height_mm: float
    length_mm: float
    near: tuple[int, ...]


FormsShots = Callable[[PieceLayout, Shot, Sequence[ArrangedMold]], tuple[tuple[Pair, ShotWeb], ...]]
"""Tells the pairs of a shot between which the sheet webs, each with its worst web."""


class WebCheck:
    """Forms the sheet over shots, and over single molds where one may web by itself.

    Parameters
    ----------
    machine : FormingMachine
        Where the shots are formed.
    look : FormingLook
        How closely.
    """

    def __init__(self, machine: FormingMachine, look: FormingLook) -> None:
        self._machine, self._look = machine, look
        self._alone: dict[str, tuple[tuple[float, float], ...]] = {}

    def webs(
        self, layout: PieceLayout, shot: Shot, molds: Sequence[ArrangedMold]
    ) -> tuple[ShotWeb, ...]:
        """Return the folds of the sheet over a shot that reach into a part.

        Parameters
        ----------
        layout, shot : PieceLayout, Shot
            Where the molds lie.
        molds : sequence of ArrangedMold
            The molds of the layout, by the numbers of their pieces.
        """
        return tuple(self._near(layout, shot, self._folds(shot.placings, molds)))

    def crowded(
        self, layout: PieceLayout, shot: Shot, molds: Sequence[ArrangedMold]
    ) -> tuple[tuple[Pair, ShotWeb], ...]:
        """Return the pairs of neighbors between which the sheet webs, each with its worst web.

        A web that a mold has when it is formed alone is its own and not its neighbor's.
        """
        worst: dict[Pair, ShotWeb] = {}
        for web in self.webs(layout, shot, molds):
            if len(web.near) < 2 or self._is_own(web, shot, molds):
                continue
            pair = pair_of(*(molds[shot.placings[k].piece].piece for k in web.near[:2]))
            if pair not in worst or worst[pair].length_mm < web.length_mm:
                worst[pair] = web
        return tuple(sorted(worst.items(), key=lambda item: item[0]))

    def _folds(
        self, placings: Sequence[Placing], molds: Sequence[ArrangedMold]
    ) -> Iterator[ShotWeb]:
        """Yield the folds of the sheet over molds where they are placed."""
        from moldgen.mold.sheet.formed import read_run

        there = [(molds[one.piece], one) for one in placings]
        setting = there[0][0].setting
        mesh = joined([mold.mesh_at(one) for mold, one in there])
        run = run_forming(
            mesh, look=self._look, sheet=setting.sheet, machine=self._machine, progress=quiet,
            sag_mm=max(mold.shape.sag_mm for mold, _ in there),
            middle_mm=(self._machine.opening_width_mm / 2, self._machine.opening_depth_mm / 2),
        )  # fmt: skip
        if run is None:
            return
        formed = read_run(
            run, sheet=setting.sheet, relief=relief_of(mesh, cell_mm=CELL_MM),
            trim=polygons_of(shapely.union_all([mold.trim_at(one) for mold, one in there])),
        )  # fmt: skip
        for web in formed.folds:
            yield ShotWeb(
                where_mm=web.where_mm[:2], height_mm=web.height_mm, length_mm=web.length_mm,
                near=(),
            )  # fmt: skip

    def _near(self, layout: PieceLayout, shot: Shot, webs: Iterator[ShotWeb]) -> Iterator[ShotWeb]:
        regions = layout.regions(shot)
        for web in webs:
            far = shapely.distance(regions, Point(web.where_mm))
            order = sorted(range(len(regions)), key=lambda k: (float(far[k]), k))
            first = order[0]
            asked = layout.task.gaps_mm[shot.pieces[first]]
            near = [first, *(k for k in order[1:] if far[k] <= asked[shot.pieces[k]] + CELL_MM)]
            yield ShotWeb(
                where_mm=web.where_mm, height_mm=web.height_mm, length_mm=web.length_mm,
                near=tuple(near),
            )  # fmt: skip

    def _is_own(self, web: ShotWeb, shot: Shot, molds: Sequence[ArrangedMold]) -> bool:
        """Return whether the mold next to a web has it when it is formed alone."""
        place = shot.placings[web.near[0]]
        own = self._own_folds(molds[place.piece])
        # Where the web would lie if the mold stood alone, unturned, in the middle.
        there = [_placed(at, place) for at in own]
        return any(Point(at).distance(Point(web.where_mm)) <= _SAME_PLACE_MM for at in there)

    def _own_folds(self, mold: ArrangedMold) -> tuple[tuple[float, float], ...]:
        """Return where the sheet folds over a mold alone, in the job's own coordinates. [mm]."""
        name = mold.piece.name
        if name not in self._alone:
            x0, y0, x1, y1 = mold.piece.outline.bounds
            middle = (
                self._machine.opening_width_mm / 2 - (x0 + x1) / 2,
                self._machine.opening_depth_mm / 2 - (y0 + y1) / 2,
            )
            alone = Placing(piece=0, x_mm=middle[0], y_mm=middle[1], turn_deg=0.0)
            self._alone[name] = tuple(
                (web.where_mm[0] - middle[0], web.where_mm[1] - middle[1])
                for web in self._folds([alone], [mold])
            )
        return self._alone[name]


def _placed(at_mm: tuple[float, float], placing: Placing) -> tuple[float, float]:
    from shapely.affinity import rotate

    turned = rotate(Point(at_mm), placing.turn_deg, origin=(0.0, 0.0))
    return turned.x + placing.x_mm, turned.y + placing.y_mm
