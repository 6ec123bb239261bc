"""A worker does what it is asked and nothing else, and ends with whoever asked."""

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from conftest import ROOT

from moldgen.errors import CancelError, FileError, OutlineError, SpecError
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.worker import Worker, WorkerError

HOME = "hostile_work"
LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="means of Linux")


@pytest.fixture
def worker(tmp_path, monkeypatch):
    """A worker that may do what `hostile_work` does."""
    with_path(monkeypatch)
    made = hostile(tmp_path)
    yield made
    made.kill()


def with_path(monkeypatch):
    """Let workers find the hostile work."""
    monkeypatch.setattr(
        "moldgen.sandbox.worker._START",
        f"import sys; sys.path.insert(0, {str(Path(__file__).parent)!r}); "
        "sys.path.insert(0, sys.argv[1]); "
        "from moldgen.sandbox.child import serve; serve(sys.argv[2], sys.argv[3:])",
    )


def hostile(folder, **limits):
    """A worker with its own folder."""
    own = folder / "own"
    own.mkdir(exist_ok=True)
    return Worker([HOME], ProcessLimits(folder=own, memory_MB=1500, **limits))


def test_work_is_done_and_told_of(worker):
    """Words and bytes come back, progress is heard, and what is printed is not among them."""
    heard = []

    answer = worker.run(f"{HOME}:echo", {"say": "ahoy"}, [b"abc", b""], tell=heard.append)

    assert answer.words["said"] == "ahoy"
    assert list(answer.blocks) == [b"cba", b""]
    assert heard == [{"share": 0.5}]
    assert answer.words["pid"] == worker.pid != os.getpid()


def test_a_worker_is_kept(worker):
    """The second piece of work is done by the same process."""
    first, second = (worker.run(f"{HOME}:echo", {"say": ""}).words["pid"] for _ in range(2))

    assert first == second


@pytest.mark.parametrize(
    ("kind", "error"),
    [("spec", SpecError), ("outline", OutlineError), ("file", FileError), ("cancel", CancelError)],
)
def test_what_work_refuses_is_raised_here(worker, kind, error):
    """The same error with the same sentence arrives, and the worker lives."""
    with pytest.raises(error) as raised:
        worker.run(f"{HOME}:refuse", {"kind": kind})

    assert str(raised.value).endswith(".")
    if kind == "spec":
        assert raised.value.field == "gauge"
    assert worker.run(f"{HOME}:echo", {"say": 1}).words["said"] == 1


@pytest.mark.parametrize("work", ["fail", "take_memory", "crash"])
def test_a_failure_is_one_sentence_and_work_goes_on(worker, work):
    """A fault, too much memory, a killed process: each is told, and the next work is done."""
    with pytest.raises(WorkerError, match=r"\.$"):
        worker.run(f"{HOME}:{work}", {})

    assert worker.run(f"{HOME}:echo", {"say": 2}).words["said"] == 2


@LINUX
def test_no_picture_of_the_memory_is_left(worker):
    """A crash writes no file of all that was in memory, names of students among it."""
    assert worker.run(f"{HOME}:limits", {}).words["core"] == [0, 0]


def test_what_is_private_is_no_work(worker):
    """A name that begins with an underscore cannot be asked for."""
    with pytest.raises(WorkerError):
        worker.run(f"{HOME}:_hidden", {})


def test_endless_work_is_ended_by_the_clock(worker):
    """A loop that nothing can interrupt is killed when its time is over."""
    worker.run(f"{HOME}:echo", {"say": ""})
    begun = time.monotonic()

    with pytest.raises(WorkerError):
        worker.run(f"{HOME}:loop", {}, wall_s=0.5)

    assert time.monotonic() - begun < 20
    assert worker.run(f"{HOME}:echo", {"say": 3}).words["said"] == 3


@LINUX
def test_endless_work_is_ended_by_its_processor_time(tmp_path, monkeypatch):
    """The system ends it, long before the clock would, and each work has its own time."""
    with_path(monkeypatch)
    worker = hostile(tmp_path, processor_s=0.2, wall_s=300)

    try:
        for _ in range(2):
            with pytest.raises(WorkerError):
                worker.run(f"{HOME}:loop", {})
    finally:
        worker.kill()


def test_work_can_be_stopped(worker):
    """Who asked for it may stop it, and the worker is ready for the next."""

    def stop(words):
        threading.Timer(0.05, worker.cancel).start()

    with pytest.raises(CancelError):
        worker.run(f"{HOME}:wait", {}, tell=stop)

    assert worker.run(f"{HOME}:echo", {"say": 4}).words["said"] == 4


@pytest.mark.parametrize("name", ["os:getcwd", f"{HOME}:_possible", f"{HOME}:os.getcwd", "x"])
def test_only_work_of_its_homes_is_done(worker, name):
    """Nothing else is run, whatever is asked for."""
    with pytest.raises(WorkerError):
        worker.run(name, {})


@LINUX
def test_nothing_outside_can_be_reached(worker, tmp_path):
    """A file beside its folder, a program and the network are out of reach; its folder is not."""
    secret = tmp_path / "secret.txt"
    secret.write_text("for nobody")
    with socket.create_server(("127.0.0.1", 0)) as listening:
        words = {
            "read": str(secret),
            "own": str(tmp_path / "own" / "mine"),
            "write": str(tmp_path / "elsewhere"),
            "port": listening.getsockname()[1],
        }
        possible = worker.run(f"{HOME}:reach", words).words

    if "files" not in worker.in_force:
        pytest.skip("this system confines no files")
    assert possible == {
        "read": False,
        "own": True,
        "write": False,
        "program": False,
        "socket": False,
    }
    assert set(worker.in_force) == {"memory", "files", "network"}


def test_the_surroundings_are_nobodys_business(worker, monkeypatch):
    """A password in the environment of the server is not in that of a worker."""
    monkeypatch.setenv("SHED_PASSWORD", "barnacle")

    assert "SHED_PASSWORD" not in worker.run(f"{HOME}:surroundings", {}).words["names"]


@LINUX
@pytest.mark.parametrize("sign", [signal.SIGTERM, signal.SIGKILL])
def test_a_worker_ends_with_its_parent(tmp_path, sign):
    """However the parent ends, in the midst of work, no process is left."""
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT, str(tmp_path), *map(str, FOLDERS)],
        stdout=subprocess.PIPE,
        text=True,
    )
    with parent:
        pid = int(parent.stdout.readline())
        parent.send_signal(sign)
        parent.wait()

    deadline = time.monotonic() + 20
    while Path(f"/proc/{pid}").exists() and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not Path(f"/proc/{pid}").exists()


FOLDERS = (ROOT, ROOT / "tests", Path(__file__).parent)
PARENT = """
import sys; sys.path[:0] = sys.argv[2:]
from pathlib import Path
import pytest
from test_worker import HOME, hostile, with_path
with_path(pytest.MonkeyPatch())
made = hostile(Path(sys.argv[1]))
made.run(f"{HOME}:loop", {}, tell=lambda words: print(made.pid, flush=True))
"""
