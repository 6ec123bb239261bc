"""Where the molds of an arrangement lay, kept for the next one of the same molds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from moldgen.lesson.arrange.molds import ArrangedMold
from moldgen.lesson.arrange.plates import Plates, body_marks
from moldgen.lesson.arrange.shots import ShotLayout
from moldgen.lesson.layout.distance import Pair
from moldgen.lesson.layout.keep import EarlierPlace, EarlierShots, places_of


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierArrangement:
    """Where everything lay.

    Attributes
    ----------
    shots : mapping of str to EarlierShots
        On the forming table, by the mark of their sheet.
    plates : mapping of str to EarlierShots
        On the printers' beds, by printer and filament.
    added_mm : mapping of pairs of names to float
        How much farther apart two molds had to be because the sheet webbed. [mm]
    """

    shots: Mapping[str, EarlierShots] = field(default_factory=dict)
    plates: Mapping[str, EarlierShots] = field(default_factory=dict)
    added_mm: Mapping[Pair, float] = field(default_factory=dict)

    def shots_of(self, sheet_mark: str) -> EarlierShots:
        """Return where the molds of one sheet lay."""
        return self.shots.get(sheet_mark, ())


def earlier_of(
    shots: Sequence[ShotLayout], plates: Sequence[Plates], printed: Sequence[ArrangedMold]
) -> EarlierArrangement:
    """Return where everything lies, for the next arrangement.

    Parameters
    ----------
    shots : sequence of ShotLayout
        The molds on the forming table.
    plates, printed : sequence of Plates, sequence of ArrangedMold
        Their bodies on the printer's beds.
    """
    return EarlierArrangement(
        shots={
            one.molds[0].sheet_mark: places_of(one.layout, [mold.mark for mold in one.molds])
            for one in shots
        },
        plates={one.mark: places_of(one.layout, body_marks(printed, one.owners)) for one in plates},
        added_mm={gap.pair: gap.gap_mm - gap.rule_mm for one in shots for gap in one.wider},
    )


def earlier_words(earlier: EarlierArrangement) -> dict[str, Any]:
    """Return an earlier arrangement in plain values."""
    return {
        "shots": {sheet: _shots_words(shots) for sheet, shots in earlier.shots.items()},
        "plates": {mark: _shots_words(plates) for mark, plates in earlier.plates.items()},
        "added_mm": [[*pair, more] for pair, more in earlier.added_mm.items()],
    }


def earlier_from(words: Mapping[str, Any]) -> EarlierArrangement:
    """Return an earlier arrangement from plain values.

    Raises
    ------
    KeyError, TypeError, ValueError
        If they are not those of one.
    """
    return EarlierArrangement(
        shots={sheet: _shots(shots) for sheet, shots in words["shots"].items()},
        plates={mark: _shots(plates) for mark, plates in words["plates"].items()},
        added_mm={(one, other): float(more) for one, other, more in words["added_mm"]},
    )


def _shots_words(shots: EarlierShots) -> list[list[list[Any]]]:
    return [
        [[one.mark, one.x_mm, one.y_mm, one.turn_deg, *one.middle_mm] for one in shot]
        for shot in shots
    ]


def _shots(words: Any) -> EarlierShots:
    return tuple(tuple(_place(*one) for one in shot) for shot in words)


def _place(mark: str, *sizes: float) -> EarlierPlace:
    x_mm, y_mm, turn_deg, *middle = map(float, sizes)
    x, y = middle
    return EarlierPlace(mark=str(mark), x_mm=x_mm, y_mm=y_mm, turn_deg=turn_deg, middle_mm=(x, y))
