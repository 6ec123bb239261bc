"""Compiling ahead of need, for programs that do not want to wait in the midst of their work."""

from __future__ import annotations

from collections.abc import Callable, Iterable


def prepare_loops(
    uses: Iterable[str] = ("mold", "mold-pictures", "forming"),
    *,
    tell: Callable[[float, float], None] = lambda share, left_s: None,
) -> int:
    """Compile what some work needs and this machine has not kept, in processes side by side.

    The command line does so by itself; a program has to ask, because nothing that is imported
    should start processes. Without it each loop is compiled where it is called first.

    Parameters
    ----------
    uses : iterable of str
        ``mold``, ``mold-pictures`` (and the report), ``forming``; for other work the name of its
        command, such as ``adapt``, and ``adapt-pictures``.
    tell : callable
        Told the share that is done, from 0 to 1, and how many seconds the rest will take.
        [-], [s]

    Returns
    -------
    int
        How many loops were missing; 0 also if that was too few to be worth a process, and -1 if
        nothing can be kept here.

    Raises
    ------
    SpecError
        If a use is not one of those.
    """
    from moldgen.errors import SpecError
    from moldgen.pipeline.loops.prepare import prepare
    from moldgen.pipeline.loops.table import known_uses
    from moldgen.wording import one_of

    wanted = tuple(uses)
    for use in wanted:
        if use not in known_uses():
            raise SpecError("uses", one_of(known_uses()), use, "Leave it out.")
    return prepare(wanted, tell)
