"""Work of many people for few processes: only the latest wish of each counts."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from enum import StrEnum
from hashlib import blake2b
from json import dumps
from typing import Any

from moldgen.errors import CancelError, MoldgenError
from moldgen.sandbox.messages import Message
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.worker import Worker

HOME = "moldgen.web.work"
_KEPT_BYTES = 12 * 2**20
"""Answers that are kept, so that the same wish is computed once. [bytes]."""


class Lane(StrEnum):
    """What somebody waits for: the picture at once, everything else in its turn."""

    PICTURE = "picture"
    REST = "rest"


class SupersededError(CancelError):
    """A newer wish of the same person took the place of this one."""


@dataclass(slots=True, eq=False)
class _Order:
    work: str
    words: dict[str, Any]
    blocks: Sequence[bytes]
    key: tuple[str, str]
    content: bytes
    answer: Future[Message] = field(default_factory=Future)


class WorkQueue:
    """Processes, and what waits for them.

    The first process does pictures alone, so that nobody waits for a picture behind somebody's
    forming run; the others do the rest, and pictures when there is nothing else. What a newer
    wish of the same design makes useless is dropped, or stopped while it is being done.

    Parameters
    ----------
    n_workers : int
        How many processes.
    limits : ProcessLimits
        What each may take and touch.
    """

    def __init__(self, n_workers: int, limits: ProcessLimits) -> None:
        self._changed = threading.Condition()
        self._waiting: dict[Lane, OrderedDict[tuple[str, str], _Order]] = {
            lane: OrderedDict() for lane in Lane
        }
        self._running: dict[Worker, _Order] = {}
        self._kept: OrderedDict[bytes, Message] = OrderedDict()
        self._kept_bytes = 0
        self._closed = False
        self.workers = [Worker([HOME], limits) for _ in range(n_workers)]
        self._threads = [
            threading.Thread(target=self._serve, args=(worker, lanes), daemon=True)
            for worker, lanes in zip(self.workers, _lanes(n_workers), strict=True)
        ]
        for thread in self._threads:
            thread.start()

    def submit(
        self, lane: Lane, owner: str, work: str, words: dict[str, Any], blocks: Sequence[bytes] = ()
    ) -> Future[Message]:
        """Have work done; an earlier order for the same owner and work is dropped.

        Parameters
        ----------
        lane : Lane
            Who is to do it.
        owner : str
            Whose it is: a design.
        work : str
            A function of `moldgen.web.work`.
        words, blocks
            What it gets.

        Returns
        -------
        Future of Message
            Raises what the work raised, or `SupersededError`.
        """
        content = _content(work, words, blocks)
        order = _Order(work, words, blocks, (owner, work), content)
        with self._changed:
            if content in self._kept:
                self._kept.move_to_end(content)
                order.answer.set_result(self._kept[content])
                return order.answer
            self._drop(order.key)
            self._waiting[lane][order.key] = order
            self._changed.notify_all()
        return order.answer

    def close(self) -> None:
        """End all processes; what waits is not done."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        for worker in self.workers:
            worker.kill()

    def _drop(self, key: tuple[str, str]) -> None:
        for orders in self._waiting.values():
            old = orders.pop(key, None)
            if old is not None:
                old.answer.set_exception(SupersededError("A newer one took its place."))
        for worker, order in self._running.items():
            if order.key == key:
                worker.cancel()

    def _serve(self, worker: Worker, lanes: Sequence[Lane]) -> None:
        while (order := self._next(worker, lanes)) is not None:
            try:
                answer = worker.run(f"{HOME}:{order.work}", order.words, order.blocks)
            except CancelError:
                self._done(worker)
                order.answer.set_exception(SupersededError("A newer one took its place."))
            except MoldgenError as problem:
                self._done(worker)
                order.answer.set_exception(problem)
            else:
                self._done(worker)
                self._keep(order.content, answer)
                order.answer.set_result(answer)

    def _next(self, worker: Worker, lanes: Sequence[Lane]) -> _Order | None:
        with self._changed:
            while not self._closed:
                for lane in lanes:
                    if self._waiting[lane]:
                        _, order = self._waiting[lane].popitem(last=False)
                        self._running[worker] = order
                        return order
                self._changed.wait()
        return None

    def _done(self, worker: Worker) -> None:
        with self._changed:
            del self._running[worker]

    def _keep(self, content: bytes, answer: Message) -> None:
        size = sum(map(len, answer.blocks))
        with self._changed:
            if content not in self._kept and size < _KEPT_BYTES:
                self._kept[content] = answer
                self._kept_bytes += size
            while self._kept_bytes > _KEPT_BYTES:
                _, old = self._kept.popitem(last=False)
                self._kept_bytes -= sum(map(len, old.blocks))


def _lanes(n_workers: int) -> list[tuple[Lane, ...]]:
    if n_workers == 1:
        return [(Lane.PICTURE, Lane.REST)]
    return [(Lane.PICTURE,), *[(Lane.REST, Lane.PICTURE)] * (n_workers - 1)]


def _content(work: str, words: dict[str, Any], blocks: Sequence[bytes]) -> bytes:
    digest = blake2b(digest_size=16)
    digest.update(dumps([work, words], sort_keys=True).encode())
    for block in blocks:
        digest.update(blake2b(block, digest_size=16).digest())
    return digest.digest()
