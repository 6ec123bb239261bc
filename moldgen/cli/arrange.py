"""The arrange command: molds of several jobs on shots, beds and stock sheets."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Delivery
from moldgen.cli.first_use import prepare_use
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Screen
from moldgen.job.command.arrange import ArrangeCommand

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result
    from moldgen.stock import Shop


def do_arrange(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Arrange the molds of job files."""

    def run(words: ArrangeCommand, shop: Shop, progress: Progress) -> Result:
        from moldgen.lesson.arrange.files import arrangement_output
        from moldgen.lesson.arrange.make import arrange_files

        prepare_use("mold", screen, formats=(), look=words.forming)
        work = arrange_files(words, shop=shop, folder=Path(), progress=progress)
        return arrangement_output(work).render(progress=progress)

    return do_words(ArrangeCommand, run, given, delivery, screen)
