"""The class command: a roster in, a folder of molds, lists and cards out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import OUTPUTS, Delivery, shop_of
from moldgen.cli.first_use import prepare_use
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.job import Job, load_job
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.room import load_room

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result
    from moldgen.stock import Shop


def do_class(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Make what each person of a class makes, with the lists and cards of the lesson."""

    def run(words: ClassCommand, shop: Shop, progress: Progress) -> Result:
        from moldgen.lesson.class_work.make import build_class
        from moldgen.lesson.roster.roster import read_roster
        from moldgen.pipeline.file_name import file_name

        roster = read_roster(Path(words.file))
        path = Path(words.like)
        like = load_job(path)
        if not isinstance(like, Job):
            raise SpecError("like", "the job of a mold", "a bent strip", "Give another file.")
        if like.stock and not words.stock:
            words = replace(words, stock=str(path.parent / like.stock))
            shop = shop_of(words.stock, Path(), use_log=delivery.use_log)
        prepare_use("mold", screen, formats=words.formats)
        out = Path(delivery.out) if delivery.out else Path(OUTPUTS) / file_name(_title(like))
        made, _ = build_class(
            roster,
            like,
            words,
            folder=path.parent,
            out=out,
            shop=shop,
            progress=progress,
            room=load_room(),
        )
        return made

    return do_words(ClassCommand, run, given, delivery, screen)


def _title(like: Job) -> str:
    from moldgen.lesson.class_work.make import class_title

    return class_title(like)
