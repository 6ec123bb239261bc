"""The commands about printing: measure, refit, split, coupon."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from moldgen.cli.deliver import Wish
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Made, Screen
from moldgen.job.command.printing import CouponWords, MeasureWords, RefitWords, SplitWords


def do_measure(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Measure a part that somebody brings."""

    def run(words: Any, shop: Any, progress: Progress) -> Made:
        from moldgen.pipeline.printing.measure import measure

        return measure(Path(words.file), words=words, shop=shop, progress=progress)

    return do_words(MeasureWords, run, given, wish, screen)


def do_refit(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Change a part that somebody brings."""

    def run(words: Any, shop: Any, progress: Progress) -> Made:
        from moldgen.pipeline.printing.refit import refit

        return refit(Path(words.file), words=words, shop=shop, progress=progress)

    return do_words(RefitWords, run, given, wish, screen)


def do_split(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Cut a part to the printer's bed."""

    def run(words: Any, shop: Any, progress: Progress) -> Made:
        from moldgen.pipeline.printing.split import split

        return split(Path(words.file), words=words, shop=shop, progress=progress)

    return do_words(SplitWords, run, given, wish, screen)


def do_coupon(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make the small test prints."""

    def run(words: Any, shop: Any, progress: Progress) -> Made:
        from moldgen.pipeline.printing.coupon import coupon

        return coupon(words=words, shop=shop, progress=progress)

    return do_words(CouponWords, run, given, wish, screen)
