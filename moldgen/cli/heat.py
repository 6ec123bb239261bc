"""The heat command: a sheet heated, cooled and pulled, in numbers."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Delivery, check_out, deliver, shop_of
from moldgen.cli.old_options import tell_old_words
from moldgen.cli.options import as_option, spec_from_options
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.job.command.chart import ChartCommand
from moldgen.job.command.heat import HeatCommand

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result
    from moldgen.stock import Shop


def do_heat(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Tell how long to heat and cool a sheet, and what the mold stands."""
    words = spec_from_options(HeatCommand, given)
    if with_files := bool(delivery.out or "formats" in given):
        check_out(delivery, screen)
    try:
        shop = shop_of(words.stock, Path(), use_log=delivery.use_log)
        tell_old_words(shop.old_words, screen)
        from moldgen.pipeline.heat.make import heat_sheet  # only now: it brings arrays along

        with Progress(screen) as progress:
            made = heat_sheet(words, shop=shop, with_files=with_files, progress=progress)
    except SpecError as problem:
        raise as_option(problem, HeatCommand) from None
    code = deliver(made, made.title, delivery, screen)
    if not (made.files or delivery.as_json) and "machine_toml" in made.numbers:
        screen.say("", "moldgen log add keeps such times, and every command goes by them.")
        screen.say("", "For your stock file (moldgen stock --user-file says where):", "")
        screen.say(*made.numbers["machine_toml"].splitlines())
    return code


def do_chart(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make a wall chart of heating and cooling times."""

    def run(words: ChartCommand, shop: Shop, progress: Progress) -> Result:
        from moldgen.pipeline.heat.chart_files import design_chart

        return design_chart(words, shop=shop, progress=progress).render(progress=progress)

    return do_words(ChartCommand, run, given, delivery, screen)
