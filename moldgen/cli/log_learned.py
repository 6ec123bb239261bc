"""What the log teaches: of each table, and of a part with trouble."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from moldgen.cli.deliver import OUTPUTS
from moldgen.cli.options import as_option, spec_from_options
from moldgen.cli.screen import Screen, show_table, show_words
from moldgen.errors import SpecError
from moldgen.finding import sentence
from moldgen.language import in_words
from moldgen.lesson.log.call import chosen_notes
from moldgen.lesson.log.command import LogCausesCommand, LogTellCommand
from moldgen.lesson.log.learn import experience_of
from moldgen.lesson.log.learned_rows import HEAT_HEAD, heat_rows
from moldgen.lesson.log.made_mold import trouble_case
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.store import find_note
from moldgen.lesson.log.trouble import likely_causes
from moldgen.lesson.log.trouble_case import LikelyCause
from moldgen.named_file import place_to_write
from moldgen.pipeline.heat.experience_rows import (
    contradiction_findings,
    experience_rows,
    printing_sentence,
)
from moldgen.stock import load_shop
from moldgen.stock.experience import TableExperience
from moldgen.units_text import as_read


def do_tell(given: Mapping[str, Any], screen: Screen) -> int:
    """Tell what the notes say of each table."""
    words = spec_from_options(LogTellCommand, given)
    try:
        with ShotLog(_folder(words.data)) as log:
            stored = chosen_notes(log, job="", machine=words.machine, plastic="")
    except SpecError as problem:
        raise as_option(problem, LogTellCommand) from None
    notes, shop = [one.note for one in stored], load_shop()
    experience = experience_of(notes, shop)
    if not experience.tables:
        screen.say(in_words("The notes say nothing of a table yet."))
    for known in experience.tables:
        screen.say("", screen.painted(shop.machine(known.machine).title or known.machine, "1"))
        _tell(known, heat_rows(known, notes, shop), screen)
    for one in experience.printers:
        screen.say("", screen.painted(shop.printer(one.printer).title or one.printer, "1"))
        show_words(as_read(printing_sentence(one.printing)), screen)
    return 0


def _tell(known: TableExperience, heated: Sequence[tuple[str, ...]], screen: Screen) -> None:
    for _, text in experience_rows(known):
        show_words(as_read(text), screen)
    for finding in contradiction_findings(known):
        show_words(sentence(finding, words=as_read, names=in_words), screen)
    if heated:
        show_table([tuple(map(in_words, HEAT_HEAD)), *heated], screen)


def do_causes(given: Mapping[str, Any], screen: Screen) -> int:
    """Tell likely causes of what a note saw."""
    words = spec_from_options(LogCausesCommand, given)
    try:
        with ShotLog(_folder(words.data)) as log:
            stored = log.read(lambda reader: find_note(reader, int(words.number)))
            others = chosen_notes(log, job="", machine="", plastic="")
        shop = load_shop()
        # A part is held against what the other notes say, not against itself.
        told = [one.note for one in others if one.number != stored.number]
        shop = replace(shop, experience=experience_of(told, shop))
        case = trouble_case(stored.note, words.file, shop=shop, outputs=Path(OUTPUTS))
    except SpecError as problem:
        raise as_option(problem, LogCausesCommand) from None
    causes = likely_causes(case)
    if not causes:
        screen.say(in_words("Nothing was wrong with that part."))
    for number, cause in enumerate(causes, start=1):
        _tell_cause(number, cause, screen)
    return 0


def _tell_cause(number: int, cause: LikelyCause, screen: Screen) -> None:
    trouble = in_words(cause.trouble.value.replace("-", " "))
    screen.say(f"{number}. {trouble}: {as_read(cause.says)}")
    show_words(f"{as_read(cause.because)}. {as_read(cause.advice)}", screen, indent="   ")
    screen.say(f"   {cause.command}")


def _folder(data: str) -> Path | None:
    return place_to_write(data, field="data") if data else None
