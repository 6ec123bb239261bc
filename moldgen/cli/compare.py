"""The compare command: one job in several sheets, tables or filaments."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldgen.cli.deliver import Delivery, shop_of
from moldgen.cli.first_use import prepare_use
from moldgen.cli.progress import Progress
from moldgen.cli.run import do_words
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.job import Job, load_job
from moldgen.job.command.compare import CompareCommand, variants_of
from moldgen.job.room import load_room
from moldgen.language import Language, language_now, speak
from moldgen.named_file import path_in
from moldgen.units_text import Units

if TYPE_CHECKING:
    from moldgen.pipeline.result import Result
    from moldgen.stock import Shop


def do_compare(given: Mapping[str, Any], delivery: Delivery, screen: Screen) -> int:
    """Compare what a job becomes in several sheets, on several tables, of several filaments."""

    def run(words: CompareCommand, shop: Shop, progress: Progress) -> Result:
        from moldgen.pipeline.mold.compare import LEAST_SIDE_BY_SIDE, compare_job
        from moldgen.pool.workers import chosen_workers, usual_workers
        from moldgen.stock.shop import own_stock_texts

        path = Path(words.file)
        job = load_job(path)
        if not isinstance(job, Job):
            raise SpecError("file", "the job of a mold", "a bent strip", "Give another file.")
        if job.stock and not words.stock:
            shop = shop_of(job.stock, path.parent, use_log=delivery.use_log)
        room = load_room()
        variants = variants_of(words, job, room)
        prepare_use("mold", screen, formats=(), look=words.forming)
        own = Path(words.stock) if words.stock else None
        if own is None and job.stock:
            own = path_in(path.parent, job.stock, field="stock")
        usual = usual_workers(len(variants), least=LEAST_SIDE_BY_SIDE)
        with chosen_workers(words, usual=usual) as pool:
            compared = compare_job(
                job, variants, folder=path.parent, shop=shop, room=room, look=words.forming,
                progress=progress, pool=pool, stock=own_stock_texts([own] if own else []),
            )  # fmt: skip
        # What programs read stays in millimeters and in English.
        units = Units.MM if delivery.as_json else words.units
        with speak(Language.EN if delivery.as_json else language_now()):
            return compared.result(words.formats, units=units)

    return do_words(CompareCommand, run, given, delivery, screen)
