"""What the notes of the page's log say, learned once for each change of notes or stock."""

from __future__ import annotations

import threading

from moldgen.lesson.log.learn import experience_of
from moldgen.lesson.log.store import find_notes, log_mark
from moldgen.stock import Shop
from moldgen.stock.experience import NO_NOTES, Experience
from moldgen.web.page_stock import PageStock
from moldgen.web.store.database import Database


class PageExperience:
    """What the log says that lies in the page's own file: that of the workshop, for all classes.

    Whoever notes a shot, on the page or by the command, is heard at the next question.

    Parameters
    ----------
    database : Database
        With the notes.
    stock : PageStock
        Tables and plastics that they are held against.
    """

    def __init__(self, database: Database, stock: PageStock) -> None:
        self._database, self._stock = database, stock
        self._learning = threading.Lock()
        self._mark: tuple[int, ...] = ()
        self._shop: Shop | None = None
        self._known = NO_NOTES

    def now(self) -> Experience:
        """Return what the notes say."""
        with self._learning:
            mark, shop = self._database.read_with(log_mark), self._stock.shop
            if mark != self._mark or shop is not self._shop:
                notes = [one.note for one in self._database.read_with(find_notes)]
                self._known = experience_of(notes, shop)
                self._mark, self._shop = mark, shop
            return self._known
