"""The other end of a worker: a process that does one piece of work after another."""

from __future__ import annotations

import ctypes
import os
import queue
import sys
import threading
import traceback
from collections.abc import Callable, Sequence
from contextlib import suppress
from importlib import import_module
from typing import IO, Any

from moldgen.errors import MoldgenError
from moldgen.execution import Cancel, run_with
from moldgen.sandbox.confine import allow_processor_time, confine
from moldgen.sandbox.messages import Message, MessageError, read_message, write_message
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.refusal import refusal_words

Tell = Callable[[dict[str, Any]], None]
"""Hears how far the work is."""
Work = Callable[[dict[str, Any], Sequence[bytes], Tell], Message]
"""A piece of work: words, bytes, who hears of its progress; and the answer."""

ENDED_BY_PARENT = 70
"""Exit code when there is nobody left to work for."""


def serve(limits_text: str, homes: Sequence[str]) -> None:
    """Do what arrives on the standard input, until it ends.

    Parameters
    ----------
    limits_text : str
        From `ProcessLimits.as_text`.
    homes : sequence of str
        Modules whose functions may be asked for by name; nothing else is.
    """
    limits = ProcessLimits.from_text(limits_text)
    orders, answers = _own_streams()
    in_force = confine(limits)
    write_message(answers, Message({"ready": list(in_force)}))
    waiting: queue.SimpleQueue[Message] = queue.SimpleQueue()
    cancels: dict[int, Cancel] = {}
    threading.Thread(target=_listen, args=(orders, waiting, cancels), daemon=True).start()
    while True:
        order = waiting.get()
        number = int(order.words["number"])
        answer = _answer(order, cancels[number], answers, limits, homes)
        del cancels[number]
        write_message(answers, Message({"number": number, **answer.words}, answer.blocks))
        del order, answer
        _give_back()


def _give_back() -> None:
    """Give memory that is free to the system, where its library can: others wait for it."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)


def _own_streams() -> tuple[IO[bytes], IO[bytes]]:
    """Take the pipes for messages alone: whatever prints, prints elsewhere."""
    orders, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    os.dup2(nothing, 0)
    os.dup2(2, 1)
    os.close(nothing)
    return orders, answers


def _listen(
    orders: IO[bytes], waiting: queue.SimpleQueue[Message], cancels: dict[int, Cancel]
) -> None:
    """Take orders, and end this process with whoever gave them, in the midst of work as well."""
    try:
        while (order := read_message(orders)) is not None:
            number = int(order.words["number"])
            if "cancel" in order.words:
                if number in cancels:
                    cancels[number].request()
            else:
                cancels[number] = Cancel()
                waiting.put(order)
    except (OSError, MessageError):
        pass
    finally:
        os._exit(ENDED_BY_PARENT)


def _answer(
    order: Message, cancel: Cancel, answers: IO[bytes], limits: ProcessLimits, homes: Sequence[str]
) -> Message:
    def tell(words: dict[str, Any]) -> None:
        write_message(answers, Message({"number": order.words["number"], "progress": words}))

    try:
        allow_processor_time(limits.processor_s)
        work = _work(str(order.words["work"]), homes)
        with run_with(cancel, threads=1):
            done = work(order.words["words"], order.blocks, tell)
        return Message({"done": done.words}, done.blocks)
    except MoldgenError as problem:
        return Message({"refused": refusal_words(problem)})
    except MemoryError:
        return Message({"failed": "memory"})
    except Exception:  # the parent tells it in one sentence, and this process goes on
        traceback.print_exc(file=sys.stderr)
        return Message({"failed": "fault"})


def _work(name: str, homes: Sequence[str]) -> Work:
    module, _, function = name.partition(":")
    if module not in homes or not function.isidentifier() or function.startswith("_"):
        raise LookupError(f"{name} is no work of this process")
    work: Work = getattr(import_module(module), function)
    return work
