"""The commands for what lies beside the mold: fixtures, trimming, letter sets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Delivery
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Screen, show_table
from moldgen.job.command.fixture import FixtureCommand, TrimCommand
from moldgen.job.command.letters import LettersCommand

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result
    from moldgen.stock import Shop


def do_fixture(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """List the fixtures, or make one."""
    if not given.get("fixture"):
        return _list(delivery, screen)

    def run(words: Any, shop: Shop, progress: Progress) -> Result:
        from moldgen.pipeline.fixture.make import make_fixture

        return make_fixture(words, shop=shop, progress=progress)

    return do_words(FixtureCommand, run, given, delivery, screen)


def _list(delivery: Delivery, screen: Screen) -> int:
    from moldgen.fixture.kinds import KINDS

    if delivery.as_json:
        import json

        rows = [{"name": k.name, "title": k.title, "use": k.use, "safety": k.safety} for k in KINDS]
        screen.out.write(json.dumps(rows, indent=2, ensure_ascii=False) + "\n")
        return 0
    show_table([(kind.name, f"{kind.use} {kind.safety}") for kind in KINDS], screen)
    screen.say("", "moldgen fixture NAME makes one; moldgen fixture --help lists its sizes.")
    return 0


def do_trim(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make the trim lines of a part, and what is printed to trim by."""

    def run(words: TrimCommand, shop: Shop, progress: Progress) -> Result:
        from moldgen.pipeline.trim.make import make_trim

        return make_trim(words, shop=shop, progress=progress)

    return do_words(TrimCommand, run, given, delivery, screen)


def do_letters(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make a letter set."""

    def run(words: LettersCommand, shop: Shop, progress: Progress) -> Result:
        from moldgen.pipeline.letters.make import make_letters

        return make_letters(words, shop=shop, progress=progress)

    return do_words(LettersCommand, run, given, delivery, screen)
