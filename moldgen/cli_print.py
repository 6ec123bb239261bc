"""The commands about printing: measure, refit, split, coupon."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from moldgen.cli_do import Wish, deliver, shop_of
from moldgen.cli_show import Made, Progress, Screen
from moldgen.cli_words import as_option, spec_from_options
from moldgen.errors import SpecError
from moldgen.job.print_words import CouponWords, MeasureWords, RefitWords, SplitWords
from moldgen.quantity import Spec


def do_measure(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Measure a part that somebody brings."""

    def run(words: Any, shop: Any, progress: Progress) -> Made:
        from moldgen.pipeline.measure import measure

        return measure(Path(words.file), words=words, shop=shop, progress=progress)

    return _carried_out(MeasureWords, run, given, wish, screen)


def do_refit(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Change a part that somebody brings."""

    def run(words: Any, shop: Any, progress: Progress) -> Made:
        from moldgen.pipeline.refit import refit

        return refit(Path(words.file), words=words, shop=shop, progress=progress)

    return _carried_out(RefitWords, run, given, wish, screen)


def do_split(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Cut a part to the printer's bed."""

    def run(words: Any, shop: Any, progress: Progress) -> Made:
        from moldgen.pipeline.split import split

        return split(Path(words.file), words=words, shop=shop, progress=progress)

    return _carried_out(SplitWords, run, given, wish, screen)


def do_coupon(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make the small test prints."""

    def run(words: Any, shop: Any, progress: Progress) -> Made:
        from moldgen.pipeline.split import coupon

        return coupon(words=words, shop=shop, progress=progress)

    return _carried_out(CouponWords, run, given, wish, screen)


def _carried_out(
    spec: type[Spec],
    run: Callable[[Any, Any, Progress], Made],
    given: Mapping[str, Any],
    wish: Wish,
    screen: Screen,
) -> int:
    words: Any = spec_from_options(spec, given)
    try:
        shop = shop_of(words.stock, Path())
        with Progress(screen) as progress:
            made = run(words, shop, progress)
    except SpecError as problem:
        raise as_option(problem, spec) from None
    return deliver(made, made.title, wish, screen)
