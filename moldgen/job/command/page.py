"""What can be typed after the page command."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.quantity import Meaning, Quantity, Spec


@dataclass(frozen=True, slots=True, kw_only=True)
class PageCommand(Spec):
    """What the page command can say."""

    lan: Annotated[bool, Meaning("let students in: other machines of the network reach it")] = False
    data: Annotated[
        str, Meaning("folder in which it keeps classes and designs; your own if left out")
    ] = ""
    port: Annotated[float, Quantity("", "where it listens", at_least=1024, at_most=65535)] = 8470
    workers: Annotated[
        float | None,
        Quantity(
            "",
            "processes that compute, one of them pictures alone; processors and one if left out",
            at_least=1,
            at_most=64,
        ),
    ] = None
    no_browser: Annotated[bool, Meaning("do not open the browser")] = False
