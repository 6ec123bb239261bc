"""The adapt command: a part, a picture or a height map made formable."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from moldgen.cli_do import Wish, deliver, shop_of
from moldgen.cli_show import Progress, Screen
from moldgen.cli_words import as_option, spec_from_options
from moldgen.errors import SpecError
from moldgen.job.adapt_words import AdaptWords


def do_adapt(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make what somebody brings formable, and the mold of it."""
    words = spec_from_options(AdaptWords, given)
    try:
        shop = shop_of(words.stock, Path())
        from moldgen.pipeline.adapt import adapt  # only now: it brings all the geometry along

        with Progress(screen) as progress:
            made = adapt(Path(words.file), words=words, shop=shop, progress=progress)
    except SpecError as problem:
        raise as_option(problem, AdaptWords) from None
    return deliver(made, made.title, wish, screen)
