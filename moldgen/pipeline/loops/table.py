"""The table of compiled loops: what each is called with, how long it compiles, what needs it."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module, resources
from typing import Any

from numba.core.dispatcher import Dispatcher

from moldgen.pipeline.loops.signature import signature_types

TABLE = "loops.csv"


@dataclass(frozen=True, kw_only=True)
class CompiledLoop:
    """A compiled loop, as one kind of job calls it.

    Attributes
    ----------
    module, name : str
        Where it is defined.
    signature : str
        What it is called with; see `signature_types`.
    compiling_s : float
        How long compiling it took, beside the loops that it calls. [s]
    uses : frozenset of str
        What needs it: ``mold``, ``forming`` or the name of a command;
        its pictures with ``-pictures`` behind.
    """

    module: str
    name: str
    signature: str
    compiling_s: float
    uses: frozenset[str]

    @cached_property
    def dispatcher(self) -> Any:
        """What compiles it; importing its module compiles nothing."""
        return getattr(import_module(self.module), self.name)

    def is_kept(self) -> bool:
        """Tell whether it need not be compiled any more; so too if the compiler does not say."""
        try:
            kept: bool = self.dispatcher._cache.has(
                signature_types(self.signature), self.dispatcher.targetctx.codegen()
            )
            return kept
        except Exception:  # the compiler's inner parts may change
            return True


def read_table() -> tuple[CompiledLoop, ...]:
    """Return every loop of the table, a loop before those that call it."""
    lines = resources.files(__package__).joinpath(TABLE).read_text(encoding="utf-8").splitlines()
    return tuple(
        CompiledLoop(
            module=row["module"],
            name=row["name"],
            signature=row["signature"],
            compiling_s=float(row["compiling_s"]),
            uses=frozenset(row["uses"].split()),
        )
        for row in csv.DictReader(lines)
    )


def known_uses() -> tuple[str, ...]:
    """Return what loops may be needed for, in the order of the alphabet."""
    return tuple(sorted({use for loop in read_table() for use in loop.uses}))


def missing_loops(uses: Iterable[str]) -> tuple[CompiledLoop, ...]:
    """Return the loops that these uses need and that are not kept on this machine."""
    wanted = frozenset(uses)
    return tuple(loop for loop in read_table() if loop.uses & wanted and not loop.is_kept())


def called_loops(dispatcher: Any) -> set[tuple[str, str]]:
    """Return module and name of the loops that a compiled loop calls and does not take in."""
    function, called = dispatcher.py_func, set()
    for name in function.__code__.co_names:
        other = function.__globals__.get(name)
        if not isinstance(other, Dispatcher):
            continue
        if other.targetoptions.get("inline") == "always":
            called |= called_loops(other)
        elif other is not dispatcher:
            called.add((other.py_func.__module__, other.py_func.__name__))
    return called
