"""What forming the sheet over the shots of a class has shown, kept for shots that stay."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from moldgen.lesson.arrange.molds import ArrangedMold
from moldgen.lesson.arrange.webs import FormsShots, ShotWeb
from moldgen.lesson.class_work.kept_words import read_kept, write_kept
from moldgen.lesson.layout.distance import Pair
from moldgen.lesson.layout.piece import PieceLayout, Shot
from moldgen.memo import content_key
from moldgen.mold.choices import FormingLook
from moldgen.version import __version__

_FILE = "webs.kept"

Webs = tuple[tuple[Pair, ShotWeb], ...]


class KeptWebs:
    """Webs between neighbors, by the molds of a shot and their places.

    Parameters
    ----------
    records : Path
        Folder in which they are kept.
    look : FormingLook
        How closely the sheet is formed.
    """

    def __init__(self, records: Path, look: FormingLook) -> None:
        self._records, self._look = records, look
        self._earlier = read_kept(records / _FILE, _webs) or {}
        self._now: dict[str, Webs] = {}

    def remember(self, forms: FormsShots) -> FormsShots:
        """Return what forms a shot only if nothing is known of it."""

        def known(layout: PieceLayout, shot: Shot, molds: Sequence[ArrangedMold]) -> Webs:
            key = self._key(layout, shot, molds)
            if key not in self._now:
                earlier = self._earlier.get(key)
                self._now[key] = forms(layout, shot, molds) if earlier is None else earlier
            return self._now[key]

        return known

    def keep(self) -> None:
        """Write what was found.

        Raises
        ------
        FileError
            If it cannot be written.
        """
        words = {key: list(map(_words, webs)) for key, webs in self._now.items()}
        write_kept(self._records / _FILE, words)

    def _key(self, layout: PieceLayout, shot: Shot, molds: Sequence[ArrangedMold]) -> str:
        there = [(molds[one.piece], one) for one in shot.placings]
        setting = there[0][0].setting
        # How near a web must lie to be a neighbor's goes by the distance that was asked for.
        gaps = [[layout.task.gaps_mm[i][j] for j in shot.pieces] for i in shot.pieces]
        return content_key(
            __version__, self._look, setting.sheet, setting.machine, gaps,
            [(mold.mark, mold.piece.name, mold.shape.sag_mm) for mold, _ in there],
            [(one.x_mm, one.y_mm, one.turn_deg) for _, one in there],
        ).hex()  # fmt: skip


def _words(found: tuple[Pair, ShotWeb]) -> list[Any]:
    pair, web = found
    return [pair, web.where_mm, web.height_mm, web.length_mm, web.near]


def _webs(words: Any) -> dict[str, Webs]:
    return {key: tuple(_web(*one) for one in webs) for key, webs in words.items()}


def _web(
    pair: Any, where_mm: Any, height_mm: Any, length_mm: Any, near: Any
) -> tuple[Pair, ShotWeb]:
    one, other = map(str, pair)
    x_mm, y_mm = map(float, where_mm)
    web = ShotWeb(
        where_mm=(x_mm, y_mm), height_mm=float(height_mm), length_mm=float(length_mm),
        near=tuple(map(int, near)),
    )  # fmt: skip
    return (one, other), web
