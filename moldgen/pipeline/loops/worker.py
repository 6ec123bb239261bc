"""A process that compiles loops for another one: a line in, a line out, until no more come."""

from __future__ import annotations

import json
import sys
import time
from importlib import import_module

from moldgen.pipeline.loops.signature import signature_types


def work() -> None:
    """Compile and keep the loop of each line of the standard input; answer with its seconds.

    The end of the input ends it, so it does not outlive the process that feeds it. A loop that
    does not compile is answered with ``failed``: whoever calls it will hear why.
    """
    answers, sys.stdout = sys.stdout, sys.stderr
    try:
        for line in sys.stdin:
            answers.write(f"{_answer(line)}\n")
            answers.flush()
    except (KeyboardInterrupt, BrokenPipeError):
        sys.exit(1)


def _answer(line: str) -> str:
    try:
        module, name, signature = json.loads(line)
    except ValueError:
        return "failed"
    took_s = compile_loop(module, name, signature)
    return "failed" if took_s is None else f"{took_s:.4f}"


def compile_loop(module: str, name: str, signature: str) -> float | None:
    """Compile and keep a loop; return how long it took, or None if it does not compile. [s]."""
    start = time.perf_counter()
    try:
        dispatcher = getattr(import_module(module), name)
        dispatcher._cache.drop_outdated()
        dispatcher.compile(signature_types(signature))
    except Exception:
        return None
    return time.perf_counter() - start
