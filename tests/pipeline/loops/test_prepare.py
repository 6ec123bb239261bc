"""Loops are compiled ahead in other processes, whose failure harms nothing."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
import trimesh
from conftest import ROOT

from moldgen.pipeline.loops import prepare as preparing
from moldgen.pipeline.loops.table import read_table

N_LOOPS = sum("refit" in loop.uses for loop in read_table())
REFIT = ["refit", "block.stl", "--length", "240", "--printer", "large", "--formats", "stl"]
"""What needs few loops, which are still enough for a process of their own."""
PIECE = ["test-piece", "--formats", "stl", "--formats", "png"]
"""What needs many, of which some are left whenever a worker is killed."""

FIRST_USE = """
import sys
from numba.core import event
from moldgen.cli import app
from moldgen.pipeline.loops import prepare

class Watch(event.Listener):
    names = []
    def on_start(self, begun):
        function = begun.data["dispatcher"].py_func
        if function.__module__.startswith("moldgen."):
            self.names.append(function.__name__)
    def on_end(self, done):
        pass

workers = []
start = prepare._started
def started(n):
    workers.extend(start(n))
    {harm}
    return workers
prepare._started = started
event.register("numba:compile", Watch())
assert app.main(sys.argv[1:]) == 0
print(len(workers), [worker.poll() is not None for worker in workers].count(True))
print(len(Watch.names))
"""


def first_use(
    folder: Path, words: list[str], *, harm: str = "pass", out: str = "first"
) -> tuple[list[str], bytes]:
    """Make something where nothing else is kept; what is printed, and the STL."""
    trimesh.creation.box((30, 24, 12)).export(folder / "block.stl")
    told = subprocess.run(
        [sys.executable, "-c", FIRST_USE.format(harm=harm), *words, "--quiet", "--out", out],
        cwd=folder,
        env={**os.environ, "NUMBA_CACHE_DIR": str(folder / "kept"), "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stderr
    return told.stdout.splitlines(), stl_of(folder / out)


def stl_of(folder: Path) -> bytes:
    """The bytes of all meshes that were made."""
    meshes = sorted(folder.glob("*.stl"))
    assert meshes
    return b"".join(mesh.read_bytes() for mesh in meshes)


@pytest.fixture
def made_without_help(tmp_path, monkeypatch):
    """Makes the same as usual."""
    from moldgen.cli import app

    def made(words: list[str]) -> bytes:
        monkeypatch.chdir(tmp_path)
        assert app.main([*words, "--quiet", "--out", str(tmp_path / "usual")]) == 0
        return stl_of(tmp_path / "usual")

    return made


def test_a_first_use_is_prepared_by_others(tmp_path, made_without_help):
    """Loops are shared out, each compiled once; the next has none left; the workers have ended."""
    (workers, compiled), stl = first_use(tmp_path, REFIT)
    (later_workers, later_compiled), again = first_use(tmp_path, REFIT, out="second")

    n_workers, n_ended = map(int, workers.split())
    assert n_ended == n_workers == min(4, preparing._n_processors()) - 1
    assert (0 < int(compiled) < N_LOOPS) == (n_workers > 0)
    assert len(list((tmp_path / "kept").rglob("*.nbc"))) == N_LOOPS
    assert (later_workers, later_compiled) == ("0 0", "0")
    assert stl == again == made_without_help(REFIT)


@pytest.mark.parametrize(
    "harm",
    ["[worker.kill() for worker in workers]", "return []"],
    ids=["all killed", "none to be had"],
)
def test_killed_workers_harm_nothing(harm, tmp_path, made_without_help):
    """What they leave is compiled where it is called, and the bytes are the same."""
    (_, compiled), stl = first_use(tmp_path, REFIT, harm=harm)

    # One loop each may have been given to a worker that was no more.
    assert int(compiled) >= N_LOOPS - (min(4, preparing._n_processors()) - 1)
    assert stl == made_without_help(REFIT)


def test_a_worker_killed_at_work_harms_nothing(tmp_path, made_without_help):
    """Ended in the midst of a loop, it leaves nothing behind that misleads."""
    harm = "import threading; [threading.Timer(3, worker.kill).start() for worker in workers]"
    _, stl = first_use(tmp_path, PIECE, harm=harm)

    assert stl == made_without_help(PIECE)


def test_a_worker_ends_with_its_input():
    """It does not outlive the process that feeds it."""
    [worker] = preparing._started(1)
    worker.stdin.close()

    assert worker.wait(timeout=60) == 0
    worker.stdout.close()


def test_a_worker_says_what_it_cannot_compile(tmp_path, monkeypatch):
    """A loop that there is not is answered like one that does not compile, and the next is done."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    [worker] = preparing._started(1)
    orders = '["moldgen.solid.loft.ladder", "_none", "int64"]\nnothing\n'
    orders += '["moldgen.solid.height.join_tree", "_root", "array(int64, 1, C), int64"]\n'
    answers, _ = worker.communicate(orders, timeout=120)

    assert answers.splitlines()[:2] == ["failed", "failed"]
    assert float(answers.splitlines()[2]) > 0
    assert len(list(tmp_path.rglob("*.nbc"))) == 1


LATER_SOURCE = """
import importlib.util, os, sys
from pathlib import Path
from numba import int64

source = Path("tide.py")
def loaded(text):
    source.write_text(text)
    spec = importlib.util.spec_from_file_location("tide", source)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.height
head = "from moldgen.compiling import njit\\n@njit(cache=True)\\ndef height(n):\\n    return n"
loaded(head + "\\n").compile((int64,))
assert len(list(Path().rglob("*.nbc"))) == 1
new = loaded(head + " + 1000\\n")
new._cache.drop_outdated()
print(len(list(Path().rglob("*.nbc"))))
new.compile((int64,))
new._cache.drop_outdated()
print(len(list(Path().rglob("*.nbc"))))
"""


def test_code_of_older_source_is_removed_first(tmp_path):
    """Before a changed loop is compiled its old code goes; code that is up to date stays."""
    told = subprocess.run(
        [sys.executable, "-c", LATER_SOURCE],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        check=True,
    )

    assert told.stdout.split() == ["0", "1"]


def test_nothing_is_started_where_nothing_is_compiled(monkeypatch):
    """Loops that run as plain Python need no compiling."""
    monkeypatch.setenv("NUMBA_DISABLE_JIT", "1")
    monkeypatch.setattr(preparing, "missing_loops", lambda uses: 1 / 0)

    assert preparing.prepare(["mold"], lambda share, left_s: None) == 0
