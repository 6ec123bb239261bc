"""The commands for what lies beside the mold: fixtures, trimming, letter sets."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from moldgen.cli_do import Wish, deliver, shop_of
from moldgen.cli_show import Progress, Screen, show_table
from moldgen.cli_words import as_option, spec_from_options
from moldgen.errors import SpecError
from moldgen.job.fixture_words import FixtureWords, TrimWords
from moldgen.job.letter_words import LettersWords


def do_fixture(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """List the fixtures, or make one."""
    if not given.get("fixture"):
        return _list(wish, screen)
    words: Any = spec_from_options(FixtureWords, given)
    try:
        shop = shop_of(words.stock, Path())
        from moldgen.pipeline.fixture import make_fixture

        with Progress(screen) as progress:
            made = make_fixture(words, shop=shop, progress=progress)
    except SpecError as problem:
        raise as_option(problem, FixtureWords) from None
    return deliver(made, made.title, wish, screen)


def _list(wish: Wish, screen: Screen) -> int:
    from moldgen.fixture.kinds import KINDS

    if wish.as_json:
        import json

        rows = [{"name": k.name, "title": k.title, "use": k.use, "safety": k.safety} for k in KINDS]
        screen.out.write(json.dumps(rows, indent=2, ensure_ascii=False) + "\n")
        return 0
    show_table([(kind.name, f"{kind.use} {kind.safety}") for kind in KINDS], screen)
    screen.say("", "moldgen fixture NAME makes one; moldgen fixture --help lists its sizes.")
    return 0


def do_trim(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make the trim lines of a part, and what is printed to trim by."""
    words = spec_from_options(TrimWords, given)
    try:
        shop = shop_of(words.stock, Path())
        from moldgen.pipeline.trim import make_trim

        with Progress(screen) as progress:
            made = make_trim(words, shop=shop, progress=progress)
    except SpecError as problem:
        raise as_option(problem, TrimWords) from None
    return deliver(made, made.title, wish, screen)


def do_letters(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make a letter set."""
    words = spec_from_options(LettersWords, given)
    try:
        shop = shop_of(words.stock, Path())
        from moldgen.pipeline.letters import make_letters

        with Progress(screen) as progress:
            made = make_letters(words, shop=shop, progress=progress)
    except SpecError as problem:
        raise as_option(problem, LettersWords) from None
    return deliver(made, made.title, wish, screen)
