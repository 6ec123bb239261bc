"""The commands about printing: measure, refit, split, test piece."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Delivery
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Screen
from moldgen.job.command.printing import (
    MeasureCommand,
    RefitCommand,
    SplitCommand,
    TestPieceCommand,
)

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result


def do_measure(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Measure a part that somebody brings."""

    def run(words: Any, shop: Any, progress: Progress) -> Result:
        from moldgen.pipeline.printing.measure import measure

        return measure(Path(words.file), words=words, shop=shop, progress=progress)

    return do_words(MeasureCommand, run, given, delivery, screen)


def do_refit(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Change a part that somebody brings."""

    def run(words: Any, shop: Any, progress: Progress) -> Result:
        from moldgen.pipeline.printing.refit import refit

        return refit(Path(words.file), command=words, shop=shop, progress=progress)

    return do_words(RefitCommand, run, given, delivery, screen)


def do_split(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Cut a part to the printer's bed."""

    def run(words: Any, shop: Any, progress: Progress) -> Result:
        from moldgen.pipeline.printing.split import split

        return split(Path(words.file), command=words, shop=shop, progress=progress)

    return do_words(SplitCommand, run, given, delivery, screen)


def do_test_piece(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make the small test prints."""

    def run(words: Any, shop: Any, progress: Progress) -> Result:
        from moldgen.pipeline.printing.test_piece import make_test_pieces

        return make_test_pieces(command=words, shop=shop, progress=progress)

    return do_words(TestPieceCommand, run, given, delivery, screen)
