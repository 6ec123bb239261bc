"""Printers that print side by side, written out: ``2 x medium; large``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.job.spec import PrinterName
from moldgen.quantity import Quantity, Spec
from moldgen.wording import shown

_PRINTER = re.compile(r"(?:(?P<count>\d{1,4})\s*[x×*]\s*)?(?P<name>\S.*)")
_PARTED = re.compile(r"\s*[;,]\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPrinter(Spec):
    """Printers of one kind."""

    printer: PrinterName = "medium"
    count: Annotated[int, Quantity("", "printers of that kind", at_least=1, at_most=50)] = 1

    def __str__(self) -> str:
        return self.printer if self.count == 1 else f"{self.count:g} x {self.printer}"


def printers_from(field: str, words: Iterable[str]) -> tuple[RoomPrinter, ...]:
    """Return the printers that are written out.

    Raises
    ------
    SpecError
        If a count is out of range.

    Examples
    --------
    >>> [(one.count, one.printer) for one in printers_from("printers", ["2 x medium; large"])]
    [(2, 'medium'), (1, 'large')]
    """
    found = []
    for part in (part for one in words for part in _PARTED.split(one.strip()) if part):
        match = _PRINTER.fullmatch(part)
        if match is None:
            raise SpecError(field, 'like "2 x medium; large"', shown(part))
        try:
            found.append(RoomPrinter(printer=match["name"], count=int(match["count"] or 1)))
        except SpecError as problem:
            raise problem.at(f"{field}, {problem.field}") from None
    return tuple(found)
