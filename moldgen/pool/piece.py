"""A piece of work as bytes, carried out wherever it arrives, and its answer as bytes.

Nothing but words and bytes goes from one process to another, so that none has to believe the
objects of another version. The same words are the same bytes, and the same work.
"""

from __future__ import annotations

import hashlib
import io
import os
from collections.abc import Mapping, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

from moldgen.errors import MoldgenError
from moldgen.execution import run_with
from moldgen.pool.results import RESULTS, keep_result, kept_result
from moldgen.sandbox.child import Work
from moldgen.sandbox.messages import Message, MessageError, read_message, write_message
from moldgen.sandbox.refusal import read_refusal, refusal_words
from moldgen.version import __version__

_PACKAGE = "moldgen."


class PieceError(MoldgenError):
    """A piece of work was lost on its way; it can be tried again."""


def piece_bytes(work: str, words: Mapping[str, Any], blocks: Sequence[bytes] = ()) -> bytes:
    """Return a piece of work as bytes.

    Parameters
    ----------
    work : str
        ``module:function`` of moldgen, a public function ``(words, blocks, tell) -> Message`` whose
        answer depends on nothing else.
    words : mapping of str
        What JSON can hold.
    blocks : sequence of bytes
        What it cannot.
    """
    order = {"version": __version__, "work": work, "words": dict(words)}
    return _as_bytes(Message(order, blocks))


def mark_of(piece: bytes) -> str:
    """Return the mark of a piece of work: other words, bytes or version have another."""
    return hashlib.sha256(piece).hexdigest()


def carry_out(piece: bytes, threads: int = 1) -> bytes:
    """Do a piece of work and return its answer; what is refused is an answer too.

    On how many threads makes no difference to it. Where the environment names a folder for results,
    an answer that is there is not computed again.
    """
    order = _message(piece)
    told = order.words.get("version")
    if told != __version__:
        problem = MoldgenError(
            f"this worker runs moldgen {__version__}, not {told}: install the same version on all "
            "machines"
        )
        return _as_bytes(Message({"refused": refusal_words(problem)}))
    folder = os.environ.get(RESULTS)
    if folder and (kept := kept_result(Path(folder), mark_of(piece))) is not None:
        return kept
    done = _answer(order, threads)
    answer = _as_bytes(done)
    if folder and "done" in done.words:  # what one machine lacks, another may have
        keep_result(Path(folder), mark_of(piece), answer)
    return answer


def answer_of(answer: bytes) -> Message:
    """Return what a piece of work answered.

    Raises
    ------
    MoldgenError
        As the work raised it, with the same sentence.
    PieceError
        If it is no answer.
    """
    words, blocks = _message(answer)
    if "refused" in words:
        raise read_refusal(words["refused"])
    if "done" not in words:
        raise PieceError("An answer of a worker is not whole. Run the same command again.")
    return Message(words["done"], blocks)


def _answer(order: Message, threads: int) -> Message:
    try:
        work = _work(str(order.words["work"]))
        with run_with(threads=threads):
            done = work(order.words["words"], order.blocks, _tell_nobody)
        return Message({"done": done.words}, done.blocks)
    except MoldgenError as problem:
        return Message({"refused": refusal_words(problem)})


def _work(name: str) -> Work:
    module, _, function = name.partition(":")
    if not module.startswith(_PACKAGE) or not function.isidentifier() or function.startswith("_"):
        raise PieceError(f"{name} is no work of moldgen")
    work: Work = getattr(import_module(module), function)
    return work


def _tell_nobody(words: dict[str, Any]) -> None:
    """Hear how far the work is, and keep it."""


def _as_bytes(message: Message) -> bytes:
    stream = io.BytesIO()
    write_message(stream, message)
    return stream.getvalue()


def _message(data: bytes) -> Message:
    try:
        message = read_message(io.BytesIO(data))
    except MessageError:
        message = None
    if message is None:
        raise PieceError("A piece of work did not arrive whole. Run the same command again.")
    return message
