"""The commands for what lies beside the mold: fixtures, trimming, letter sets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Wish
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Made, Screen, show_table
from moldgen.job.command.fixture import FixtureWords, TrimWords
from moldgen.job.command.letters import LettersWords

if TYPE_CHECKING:
    from moldgen.stock import Shop


def do_fixture(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """List the fixtures, or make one."""
    if not given.get("fixture"):
        return _list(wish, screen)

    def run(words: Any, shop: Shop, progress: Progress) -> Made:
        from moldgen.pipeline.fixture.make import make_fixture

        return make_fixture(words, shop=shop, progress=progress)

    return do_words(FixtureWords, run, given, wish, screen)


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

    def run(words: TrimWords, shop: Shop, progress: Progress) -> Made:
        from moldgen.pipeline.trim.make import make_trim

        return make_trim(words, shop=shop, progress=progress)

    return do_words(TrimWords, run, given, wish, screen)


def do_letters(given: Mapping[str, Any], wish: Wish, screen: Screen) -> int:
    """Make a letter set."""

    def run(words: LettersWords, shop: Shop, progress: Progress) -> Made:
        from moldgen.pipeline.letters.make import make_letters

        return make_letters(words, shop=shop, progress=progress)

    return do_words(LettersWords, run, given, wish, screen)
