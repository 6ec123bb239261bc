"""Carry out a command that is one form and one function."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Delivery, check_out, deliver, shop_of
from moldgen.cli.first_use import prepare_command
from moldgen.cli.old_options import tell_old_words
from moldgen.cli.options import as_option, spec_from_options
from moldgen.cli.progress import Progress
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.quantity import Spec

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result
    from moldgen.stock import Shop


def do_words(
    spec: type[Spec],
    run: Callable[[Any, Shop, Progress], Result],
    given: Mapping[str, Any],
    delivery: Delivery,
    screen: Screen,
    *,
    title: Callable[[Any, Result], str] = lambda words, made: made.title,
) -> int:
    """Read words into their specification, carry them out in this shop, and deliver the files.

    What carries them out is imported by ``run``, once the words are known to be good.

    Parameters
    ----------
    spec : type[Spec]
        What the command can say.
    run : Callable[[Any, Shop, Progress], Result]
        Carries it out: specification, shop and progress.
    given : Mapping[str, Any]
        What was typed, by field.
    delivery : Delivery
        Where the result goes.
    screen : Screen
        Where it is shown.
    title : Callable[[Any, Result], str]
        Names the folder; left out, by the title of the result.
    """
    words: Any = spec_from_options(spec, given)
    check_out(delivery, screen)
    try:
        shop = shop_of(words.stock, Path(), use_log=delivery.use_log)
        tell_old_words(shop.old_words, screen)
        prepare_command(spec, words, screen)
        with Progress(screen) as progress:
            made = run(words, shop, progress)
    except SpecError as problem:
        raise as_option(problem, spec) from None
    return deliver(made, title(words, made), delivery, screen)
