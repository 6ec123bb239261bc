"""The adapt command: a part, a picture or a height map made formable."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli_do import Wish, do_words
from moldgen.cli_show import Made, Progress, Screen
from moldgen.job.adapt_words import AdaptWords

if TYPE_CHECKING:
    from moldgen.stock import Shop


def do_adapt(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make what somebody brings formable, and the mold of it."""

    def run(words: AdaptWords, shop: Shop, progress: Progress) -> Made:
        from moldgen.pipeline.adapt import adapt  # only now: it brings all the geometry along

        return adapt(Path(words.file), words=words, shop=shop, progress=progress)

    return do_words(AdaptWords, run, given, wish, screen)
