"""What the notes of the page's log say, learned once for each change of notes or stock."""

from __future__ import annotations

import asyncio
from typing import Any

from moldgen.lesson.log.note_text import note_words
from moldgen.lesson.log.store import StoredNote, find_notes, log_mark, notes_beside
from moldgen.sandbox.messages import Message
from moldgen.web.page_stock import EXPERIENCE, PageStock
from moldgen.web.store.database import Database
from moldgen.web.store.designs import new_id
from moldgen.web.work_queue import Lane, WorkQueue


class PageExperience:
    """What the log says that lies in the page's own file: that of the workshop, for all classes.

    Whoever notes a shot, on the page or by the command, is heard at the next question. Workers
    learn; this process loads no numbers.

    Parameters
    ----------
    database : Database
        With the notes.
    stock : PageStock
        Tables and plastics that they are held against.
    queue : WorkQueue
        Who learns.
    """

    def __init__(self, database: Database, stock: PageStock, queue: WorkQueue) -> None:
        self._database, self._stock, self._queue = database, stock, queue
        self._learned_of: object = None
        self._words: dict[str, Any] = {}

    async def words(self) -> dict[str, Any]:
        """Return what the notes say of molds, as `experience_words` tells it.

        Raises
        ------
        MoldgenError
            If the worker fails that learns it.
        """
        mark = await asyncio.to_thread(self._database.read_with, log_mark)
        now = mark, self._stock.texts
        if now != self._learned_of:
            answer = await self.compute("learned")
            self._words, self._learned_of = answer.words[EXPERIENCE], now
        return self._words

    async def compute(self, work: str, **more: Any) -> Message:
        """Return what a worker reads off all notes."""
        notes = await asyncio.to_thread(self.notes)
        words = {"stock": self._stock.texts, "notes": notes, **more}
        return await asyncio.wrap_future(self._queue.submit(Lane.REST, new_id(), work, words))

    def notes(self, *, but: StoredNote | None = None) -> list[dict[str, Any]]:
        """Return all notes in words, or all but one."""
        stored = self._database.read_with(find_notes)
        return [note_words(one) for one in notes_beside(but, stored)]
