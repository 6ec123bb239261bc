"""The types of keyword arguments, written from the forms: run it to write them anew.

``python -m tests.support.option_types`` writes ``moldgen/api/options.py``; a test compares.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path
from typing import Any, get_args, get_type_hints

from moldgen.job.command.adapt import AdaptCommand
from moldgen.job.command.arrange import ArrangeCommand
from moldgen.job.command.bend import BendCommand
from moldgen.job.command.chart import ChartCommand
from moldgen.job.command.check import CheckCommand
from moldgen.job.command.compare import CompareCommand
from moldgen.job.command.fixture import FixtureCommand, TrimCommand
from moldgen.job.command.heat import HeatCommand
from moldgen.job.command.letters import LettersCommand
from moldgen.job.command.mold import (
    DrawingCommand,
    MoldOptions,
    PlanCommand,
    SignCommand,
    TrayCommand,
)
from moldgen.job.command.nest import NestCommand
from moldgen.job.command.printing import (
    MeasureCommand,
    RefitCommand,
    SplitCommand,
    TestPieceCommand,
)
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.command.shop import ShopOptions
from moldgen.job.form import Each, FormField, form_of
from moldgen.job.outline import Grid
from moldgen.lesson.log.command import LogAddCommand
from moldgen.quantity import Quantity, Spec

TARGET = Path(__file__).resolve().parents[2] / "moldgen/api/options.py"

KINDS: dict[str, tuple[type[Spec], str, frozenset[str]]] = {
    "ShopArguments": (ShopOptions, "TypedDict", frozenset()),
    "PlanArguments": (PlanCommand, "ShopArguments", frozenset()),
    "MoldArguments": (MoldOptions, "PlanArguments", frozenset()),
    "SignArguments": (SignCommand, "MoldArguments", frozenset({"words"})),
    "TrayArguments": (
        TrayCommand, "MoldArguments", frozenset({"length_mm", "width_mm", "depth_mm"}),
    ),
    "NestArguments": (NestCommand, "MoldArguments", frozenset({"things"})),
    "DrawingArguments": (DrawingCommand, "MoldArguments", frozenset({"file"})),
    "AdaptArguments": (AdaptCommand, "MoldArguments", frozenset({"file"})),
    "CompareArguments": (CompareCommand, "TypedDict", frozenset({"file"})),
    "ArrangeArguments": (ArrangeCommand, "TypedDict", frozenset({"files"})),
    "ClassArguments": (ClassCommand, "TypedDict", frozenset({"file", "like"})),
    "CheckArguments": (CheckCommand, "PlanArguments", frozenset({"file"})),
    "TrimArguments": (TrimCommand, "PlanArguments", frozenset({"file"})),
    "FixtureArguments": (FixtureCommand, "PlanArguments", frozenset({"fixture"})),
    "LettersArguments": (LettersCommand, "ShopArguments", frozenset({"characters"})),
    "MeasureArguments": (MeasureCommand, "ShopArguments", frozenset({"file"})),
    "RefitArguments": (RefitCommand, "ShopArguments", frozenset({"file"})),
    "SplitArguments": (SplitCommand, "TypedDict", frozenset({"file"})),
    "TestPieceArguments": (TestPieceCommand, "TypedDict", frozenset()),
    "HeatArguments": (HeatCommand, "TypedDict", frozenset({"plastic"})),
    "NoteArguments": (LogAddCommand, "TypedDict", frozenset({"file", "from_", "data"})),
    "ChartArguments": (ChartCommand, "TypedDict", frozenset()),
    "StripArguments": (BendCommand, "TypedDict", frozenset()),
}  # fmt: skip
"""Specification, base and the fields that are positional, by the name of their arguments."""

IN_JOBS = {"SignArguments", "TrayArguments", "NestArguments", "DrawingArguments", "StripArguments"}
"""Where the stock file is named by the job; elsewhere it is an argument of its own."""

ABOUT = {
    "ShopArguments": "Sheet and machines: what everything with a sheet can say.",
    "PlanArguments": "What everything with a plan at 1:1 can say.",
    "MoldArguments": "What everything that makes a mold can say.",
}

HEAD = '''"""The types of keyword arguments; written by ``python -m tests.support.option_types``."""

# Every field stands with its unit in its name and without it.

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from typing import Literal, TypedDict

from moldgen.job.outline import Grid

Number = float | str
"""A number in the unit of the field, or a written measure such as ``"1/8 in"``."""
Numbers = str | Sequence[float | str]
"""Numbers with commas between them, or a list."""
FileName = str | PathLike[str]
'''


def module_text() -> str:
    """Return the module, formatted."""
    text = HEAD + "".join(line for name in KINDS for line in class_lines(name))
    done = subprocess.run(
        [sys.executable, "-m", "ruff", "format", "--stdin-filename", str(TARGET), "-"],
        input=text.encode(),
        capture_output=True,
        check=True,
    )
    return done.stdout.decode()


def class_lines(name: str) -> Iterator[str]:
    """Yield the class of one command's arguments."""
    spec, base, positional = KINDS[name]
    known = set() if base == "TypedDict" else {line.field for line in form_of(KINDS[base][0])}
    left_out = (positional | known | {"stock"}) - ({"stock"} if name in IN_JOBS else set())
    yield f"\n\nclass {name}({base}, total=False):\n"
    yield f'    """{ABOUT.get(name, "What can be said to the function of that name.")}"""\n\n'
    for line in form_of(spec):
        if line.field in left_out:
            continue
        yield f"    # {line.about.replace(chr(10), ' ')[:90]}\n"
        for word in dict.fromkeys((argument_name(line), line.field)):
            yield f"    {word}: {type_text(spec, line)}\n"


def argument_name(line: FormField) -> str:
    """Return the word of a line, unless Python keeps it for itself."""
    return line.field if line.word in ("as",) else line.word


def type_text(spec: type[Spec], line: FormField) -> str:
    """Return what may be passed, as an annotation."""
    hint = get_type_hints(spec)[line.field]
    optional = " | None" if type(None) in get_args(hint) else ""
    return f"{_kind_text(line)}{optional}"


def _kind_text(line: FormField) -> str:
    if isinstance(line.mark, Each) or line.field == "angles":
        return "Numbers"
    if isinstance(line.mark, Quantity):
        return "Number"
    if line.kind is Grid:
        return "Grid | str"
    if line.field in ("file", "stock", "font", "own", "photo"):
        return "FileName"
    if line.item is not None:
        return "str | Sequence[str]"
    if isinstance(line.kind, type) and issubclass(line.kind, StrEnum):
        return f"Literal[{', '.join(repr(one.value) for one in line.kind)}]"
    return {"bool": "bool", "str": "str"}[_name_of(line.kind)]


def _name_of(kind: Any) -> str:
    return str(kind.__name__)


if __name__ == "__main__":
    TARGET.write_text(module_text(), encoding="utf-8")
