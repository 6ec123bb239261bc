"""What the log teaches: of each table, and of a part with trouble."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from moldgen.cli.deliver import OUTPUTS
from moldgen.cli.options import as_option, spec_from_options
from moldgen.cli.screen import Screen, show_table, show_words
from moldgen.errors import SpecError
from moldgen.language import in_words
from moldgen.lesson.log.call import chosen_notes
from moldgen.lesson.log.command import LogCausesCommand, LogTellCommand
from moldgen.lesson.log.learn import experience_of
from moldgen.lesson.log.learned_rows import HEAT_HEAD, table_sentences
from moldgen.lesson.log.made_mold import trouble_case
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.store import find_note, notes_beside
from moldgen.lesson.log.trouble import likely_causes
from moldgen.lesson.log.trouble_case import cause_rows
from moldgen.named_file import place_to_write
from moldgen.pipeline.heat.experience_rows import printing_sentence
from moldgen.stock import load_shop
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
    tables = tuple(table_sentences(notes, experience, shop))
    if not tables:
        screen.say(in_words("The notes say nothing of a table yet."))
    for known in tables:
        screen.say("", screen.painted(known.title, "1"))
        for one in known.sentences:
            show_words(one, screen)
        if known.rows:
            show_table([tuple(map(in_words, HEAT_HEAD)), *known.rows], screen)
    for printer in experience.printers:
        screen.say("", screen.painted(shop.printer(printer.printer).title or printer.printer, "1"))
        show_words(as_read(printing_sentence(printer.printing)), screen)
    return 0


def do_causes(given: Mapping[str, Any], screen: Screen) -> int:
    """Tell likely causes of what a note saw."""
    words = spec_from_options(LogCausesCommand, given)
    try:
        with ShotLog(_folder(words.data)) as log:
            stored = log.read(lambda reader: find_note(reader, int(words.number)))
            others = chosen_notes(log, job="", machine="", plastic="")
        shop = load_shop()
        shop = replace(shop, experience=experience_of(notes_beside(stored, others), shop))
        case = trouble_case(stored.note, words.file, shop=shop, outputs=Path(OUTPUTS))
    except SpecError as problem:
        raise as_option(problem, LogCausesCommand) from None
    causes = likely_causes(case)
    if not causes:
        screen.say(in_words("Nothing was wrong with that part."))
    told = zip(cause_rows(causes), causes, strict=True)
    for number, ((trouble, says, because, advice), cause) in enumerate(told, start=1):
        screen.say(f"{number}. {trouble}: {says}")
        show_words(f"{because}. {advice}", screen, indent="   ")
        screen.say(f"   {cause.command}")
    return 0


def _folder(data: str) -> Path | None:
    return place_to_write(data, field="data") if data else None
