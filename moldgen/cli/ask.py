"""Questions on the screen: each with a usual answer, each answer checked at once."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TextIO

from moldgen.cli.parser import UsageError
from moldgen.cli.screen import Screen
from moldgen.errors import MoldgenError

_MOST_LETTERS = 2000


def ask(
    question: str,
    usual: str,
    screen: Screen,
    *,
    check: Callable[[str], None] = lambda answer: None,
    answers: TextIO | None = None,
) -> str:
    """Return an answer that passes its check; an empty line is the usual answer.

    A wrong answer is told in the sentence of its failure, and the question asked again.

    Parameters
    ----------
    question : str
        What is asked.
    usual : str
        What an empty line stands for; shown in brackets.
    screen : Screen
        Where the question is shown.
    check : callable
        Raises `MoldgenError` if an answer will not do.
    answers : stream, optional
        Where answers come from, a line each; the standard input if left out.

    Raises
    ------
    UsageError
        If there is no line any more.
    """
    while True:
        screen.err.write(f"{question} [{usual}]: " if usual else f"{question}: ")
        screen.err.flush()
        stream = answers or sys.stdin
        line = stream.readline(_MOST_LETTERS) if stream else ""
        if not line:
            screen.err.write("\n")
            raise UsageError(
                f"nobody answers here ({question}). Type a command with options instead."
            )
        answer = line.strip() or usual
        try:
            check(answer)
        except MoldgenError as problem:
            screen.err.write(f"  {problem}\n")
        else:
            return answer
