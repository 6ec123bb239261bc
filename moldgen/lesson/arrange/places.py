"""Where everything lies in an arrangement, for the next one."""

from __future__ import annotations

from moldgen.lesson.arrange.earlier import EarlierArrangement, sheet_mark
from moldgen.lesson.arrange.make import Arrangement
from moldgen.lesson.arrange.plates import body_marks
from moldgen.lesson.layout.keep import places_of


def earlier_of(work: Arrangement) -> EarlierArrangement:
    """Return where everything lies, for the next arrangement."""
    return EarlierArrangement(
        shots={
            sheet_mark(one.sheet): places_of(one.layout, [mold.mark for mold in one.molds])
            for one in work.shots
        },
        plates=places_of(work.plates.layout, body_marks(work.printed, work.plates.owners)),
        added_mm={gap.pair: gap.gap_mm - gap.rule_mm for one in work.shots for gap in one.wider},
    )
