"""The commands for what somebody brings: check a part, adapt a shape."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Delivery
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Screen
from moldgen.job import (
    CheckCommand,
)
from moldgen.job.command.adapt import AdaptCommand

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result
    from moldgen.stock import Shop

if TYPE_CHECKING:
    from moldgen.stock import Shop


def do_adapt(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make what somebody brings formable, and the mold of it."""

    def run(words: AdaptCommand, shop: Shop, progress: Progress) -> Result:
        from moldgen.pipeline.brought.adapt import (
            adapt,  # only now: it brings all the geometry along
        )

        return adapt(Path(words.file), command=words, shop=shop, progress=progress)

    return do_words(AdaptCommand, run, given, delivery, screen)


def do_check(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Check a part that somebody else made."""

    def run(words: CheckCommand, shop: Shop, progress: Progress) -> Result:
        from moldgen.pipeline.brought.check import check

        return check(Path(words.file), command=words, shop=shop, progress=progress)

    def title(command: CheckCommand, made: Result) -> str:
        return f"{Path(command.file).stem} check"

    return do_words(CheckCommand, run, given, delivery, screen, title=title)
