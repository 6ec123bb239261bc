"""The commands for what somebody brings: check a part, adapt a shape."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Wish
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Made, Screen
from moldgen.job import (
    CheckWords,
)
from moldgen.job.command.adapt import AdaptWords

if TYPE_CHECKING:
    from moldgen.stock import Shop

if TYPE_CHECKING:
    from moldgen.stock import Shop


def do_adapt(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make what somebody brings formable, and the mold of it."""

    def run(words: AdaptWords, shop: Shop, progress: Progress) -> Made:
        from moldgen.pipeline.brought.adapt import (
            adapt,  # only now: it brings all the geometry along
        )

        return adapt(Path(words.file), words=words, shop=shop, progress=progress)

    return do_words(AdaptWords, run, given, wish, screen)


def do_check(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Check a part that somebody else made."""

    def run(words: CheckWords, shop: Shop, progress: Progress) -> Made:
        from moldgen.pipeline.brought.check import check

        return check(Path(words.file), words=words, shop=shop, progress=progress)

    def title(words: CheckWords, made: Made) -> str:
        return f"{Path(words.file).stem} check"

    return do_words(CheckWords, run, given, wish, screen, title=title)
