"""What workers make of the log: what its notes say, causes of trouble, a chart, a file of notes.

Each function takes words and bytes and returns a `Message`, as those of `moldgen.web.work` do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from moldgen.language import Language, in_words, speak
from moldgen.sandbox.child import Tell
from moldgen.sandbox.messages import Message
from moldgen.stock import Shop
from moldgen.web.order import WishOrder
from moldgen.web.page_stock import EXPERIENCE, shop_of

if TYPE_CHECKING:
    from moldgen.lesson.log.shot_note import ShotNote
    from moldgen.lesson.log.trouble_case import TroubleCase


def learned(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return what notes say of molds, as `experience_words` tells it."""
    from moldgen.stock.experience import experience_words

    shop = _taught(words, shop_of(words["stock"]))
    return Message({EXPERIENCE: experience_words(shop.experience)})


def log_tables(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return what notes say of each table, as it is read, and the head of the rows."""
    from moldgen.lesson.log.learned_rows import HEAT_HEAD, table_sentences

    shop = _taught(words, shop_of(words["stock"]))
    with speak(Language(words["language"])):
        told = [
            {"title": one.title, "sentences": one.sentences, "rows": one.rows}
            for one in table_sentences(_notes(words), shop.experience, shop)
        ]
        return Message({"tables": told, "heat_head": list(map(in_words, HEAT_HEAD))})


def causes(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return what may have caused what a note of a wish saw, a row for each, as it is read."""
    from moldgen.lesson.log.note_text import stored_note
    from moldgen.lesson.log.trouble_case import TroubleCase
    from moldgen.pipeline.mold.plan import drill_list
    from moldgen.pipeline.mold.rows import numbers_of

    order = WishOrder.from_message(words, blocks)
    order = replace(order, shop=_taught(words, order.shop))
    design = order.design()
    case = TroubleCase(
        note=stored_note(words["note"]), shop=order.shop, findings=design.mold.findings,
        numbers=numbers_of(design.mold, drill_list(design.mold), design.day),
    )  # fmt: skip
    return _cause_rows(case, order.language)


def causes_alone(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return the same of a note whose mold is not at hand."""
    from moldgen.lesson.log.made_mold import case_alone
    from moldgen.lesson.log.note_text import stored_note

    shop = _taught(words, shop_of(words["stock"]))
    case = case_alone(stored_note(words["note"]), shop=shop)
    return _cause_rows(case, Language(words["language"]))


def _cause_rows(case: TroubleCase, language: Language) -> Message:
    from moldgen.lesson.log.trouble import likely_causes
    from moldgen.lesson.log.trouble_case import cause_rows

    with speak(language):
        return Message({"rows": list(cause_rows(likely_causes(case)))})


def chart(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return the wall chart of the heating times of a table, one page as PDF."""
    from moldgen.job.command.chart import ChartCommand
    from moldgen.job.formats import Format
    from moldgen.pipeline.heat.chart_files import design_chart

    shop = shop_of(words["stock"], words[EXPERIENCE])
    with speak(Language(words["language"])):
        made = design_chart(ChartCommand(**words["chart"]), shop=shop).render([Format.PDF])
    return Message({}, list(made.files.values()))


def log_notes(words: dict[str, Any], blocks: Sequence[bytes], tell: Tell) -> Message:
    """Return the notes in a file that ``log export`` or the page wrote, in the order of time."""
    from moldgen.lesson.log.exchange import notes_of_bytes
    from moldgen.lesson.log.note_text import note_words

    notes = notes_of_bytes(blocks[0], name="The file")
    return Message({"notes": [note_words(one) for one in notes]})


def _taught(words: Mapping[str, Any], shop: Shop) -> Shop:
    """Return a stock with what the notes of an order say."""
    from moldgen.lesson.log.learn import experience_of

    return replace(shop, experience=experience_of(_notes(words), shop))


def _notes(words: Mapping[str, Any]) -> list[ShotNote]:
    from moldgen.lesson.log.note_text import stored_note

    return [stored_note(one) for one in words["notes"]]
