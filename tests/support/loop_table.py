"""The table of compiled loops, measured anew when loops or what they are called with change.

``python -m tests.support.loop_table`` carries out one small job of each kind, with nothing
compiled to begin with, and writes ``moldgen/pipeline/loops/loops.csv``. It takes some minutes.
"""

from __future__ import annotations

import csv
import io
import json
import os
import shlex
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from numba.core import event
from numba.core.dispatcher import Dispatcher

from moldgen.pipeline.loops import table
from moldgen.pipeline.loops.signature import signature_text
from moldgen.pipeline.loops.table import CompiledLoop, called_loops

ROOT = Path(__file__).resolve().parents[2]
TARGET = ROOT / "moldgen/pipeline/loops/loops.csv"

_SIGN = str(ROOT / "examples/tide-sign.toml")
# In this order: what an earlier one has compiled is not measured again.
JOBS: tuple[tuple[str, str], ...] = (
    ("mold", "sign 'HIGH / TIDE' --out plain --formats stl"),
    ("forming", f"make {_SIGN} --out sign --formats stl"),
    ("mold-pictures", f"make {_SIGN} --out sign"),
    ("adapt", "adapt plain/high-tide.stl --draft 6 --out adapted --formats stl"),
    ("adapt-pictures", "adapt plain/high-tide.stl --draft 6 --out adapted"),
    ("check", "check plain/high-tide.stl --out checked --formats json"),
    ("check-pictures", "check plain/high-tide.stl --out checked"),
    ("fixture", "fixture plug --count 2 --out plug --formats stl"),
    ("fixture-pictures", "fixture plug --count 2 --out plug"),
    ("trim", "trim plain/high-tide.stl --line rounded --out trimmed --formats svg"),
    ("trim-pictures", "trim plain/high-tide.stl --line rounded --out trimmed"),
    ("letters", "letters --characters AB --out letters --formats stl"),
    ("letters-pictures", "letters --characters AB --out letters"),
    ("measure", "measure plain/high-tide.stl --out measured --formats json"),
    ("measure-pictures", "measure plain/high-tide.stl --out measured"),
    ("refit", "refit plain/high-tide.stl --length 300 --out refitted --formats stl"),
    ("refit-pictures", "refit plain/high-tide.stl --length 300 --out refitted"),
    ("split", "split refitted/high-tide-refit.stl --printer bed-180 --out cut --formats stl"),
    ("split-pictures", "split refitted/high-tide-refit.stl --printer bed-180 --out cut"),
    ("test-piece", "test-piece --out piece --formats stl"),
    ("test-piece-pictures", "test-piece --out piece"),
    ("bend", "bend --legs 80,120,60 --angles 90,110 --width 60 --out bent --formats stl"),
    ("bend-pictures", "bend --legs 80,120,60 --angles 90,110 --width 60 --out bent"),
)

_ONE = (
    "import sys; sys.path.insert(0, sys.argv.pop(1)); "
    "from tests.support.loop_table import one; one(sys.argv[1:])"
)


def main() -> None:
    """Measure, and write the table."""
    loops: dict[tuple[str, str, str], dict[str, Any]] = {}
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {"NUMBA_CACHE_DIR": str(Path(folder) / "kept")}
        for use, line in JOBS:
            sys.stderr.write(f"{use} ...\n")
            command = [sys.executable, "-P", "-c", _ONE, str(ROOT), *shlex.split(line)]
            told = subprocess.run(
                command, cwd=folder, env=environment, stdout=subprocess.PIPE, check=True
            )
            record = json.loads(told.stdout.splitlines()[-1])
            for *key, compiling_s in record["compiled"]:
                row = {"compiling_s": compiling_s, "uses": set()}
                loops.setdefault((key[0], key[1], key[2]), row)
            for module, name, signature in record["called"]:
                loops[module, name, signature]["uses"].add(use)
    _hand_down(loops)
    TARGET.write_text(_text(loops), encoding="utf-8", newline="\n")


def _hand_down(loops: dict[tuple[str, str, str], dict[str, Any]]) -> None:
    """Let every loop be needed by what needs those that call it."""
    for key in reversed(loops):
        called = called_loops(_loop(key).dispatcher)
        for other, row in loops.items():
            if other[:2] in called:
                row["uses"].update(loops[key]["uses"])


def _loop(key: tuple[str, str, str]) -> CompiledLoop:
    module, name, signature = key
    return CompiledLoop(
        module=module, name=name, signature=signature, compiling_s=0.0, uses=frozenset()
    )


def _text(loops: dict[tuple[str, str, str], dict[str, Any]]) -> str:
    written = io.StringIO()
    rows = csv.writer(written, lineterminator="\n")
    rows.writerow(("module", "name", "signature", "compiling_s", "uses"))
    order = [use for use, _ in JOBS]
    for key, row in loops.items():
        uses = " ".join(use for use in order if use in row["uses"])
        rows.writerow((*key, f"{row['compiling_s']:.2f}", uses))
    return written.getvalue()


def one(words: Iterable[str]) -> None:
    """Carry out one command here, and print what it compiled and what it called."""
    from moldgen.cli import app

    table.read_table = lambda: ()  # or it would be done before
    watch = CompilerWatch()
    event.register("numba:compile", watch)
    code = app.main([*words, "--quiet"])
    assert code in (0, 1), f"{' '.join(words)} ended with {code}"
    sys.stdout.write(json.dumps({"compiled": watch.compiled, "called": called()}) + "\n")


def called() -> list[tuple[str, str, str]]:
    """Return every loop of moldgen that has been called or compiled, with its signature."""
    found = {}
    for module in [m for name, m in sys.modules.items() if name.startswith("moldgen.")]:
        for value in vars(module).values():
            if isinstance(value, Dispatcher):
                for signature in value.overloads:
                    place = (value.py_func.__module__, value.py_func.__name__)
                    found[(*place, signature_text(signature))] = None
    return list(found)


class CompilerWatch(event.Listener):
    """Hears of each loop that is compiled, and takes its time.

    Attributes
    ----------
    compiled : list
        Module, name, signature and seconds of processor, in the order in which they were done.
    """

    def __init__(self) -> None:
        self.compiled: list[tuple[str, str, str, float]] = []
        self._open: list[list[float]] = []

    def on_start(self, begun: Any) -> None:
        """Take note that a loop begins."""
        self._open.append([time.process_time(), 0.0])

    def on_end(self, done: Any) -> None:
        """Take note that a loop is done."""
        start_s, inner_s = self._open.pop()
        whole_s = time.process_time() - start_s
        function = done.data["dispatcher"].py_func
        if function.__module__.startswith("moldgen."):
            text = signature_text(done.data["args"])
            place = (function.__module__, function.__name__)
            self.compiled.append((*place, text, whole_s - inner_s))
            # What is not moldgen's counts for the loop that needs it.
            if self._open:
                self._open[-1][1] += whole_s
        elif self._open:
            self._open[-1][1] += inner_s


if __name__ == "__main__":
    main()
