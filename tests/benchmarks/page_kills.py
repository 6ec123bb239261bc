"""Kill the page under thirty writers: ``python -m tests.benchmarks.page_kills [times]``.

Ends with 1 if anything that was acknowledged is not there, or the file is damaged.
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from http.client import HTTPException
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.browsing import free_port
from support.page_client import PageClient

N_WRITERS = 30
_SERVE = (
    "import sys; from pathlib import Path; from moldgen.web.serve import PageServer, PageSpec; "
    "page = PageServer(PageSpec(folder=Path(sys.argv[1]), port=int(sys.argv[2]), is_open=False, "
    "n_workers=1)); page.run(lambda: print(page.teacher_link, flush=True))"
)
"""The page without warming: nothing is computed here."""


def main(words: list[str]) -> int:
    """Kill it so many times; 0 if nothing was lost."""
    times = int(words[0]) if words else 50
    with tempfile.TemporaryDirectory() as folder:
        kept: set[str] = set()
        for number in range(times):
            kept |= killed(Path(folder), seconds=0.2 + 0.8 * random.random())
            lost, state = lost_of(Path(folder), kept)
            if lost or state != "ok":
                print(f"kill {number + 1}: {lost} lost, integrity {state}")
                return 1
        print(f"{times} kills under {N_WRITERS} writers: {len(kept)} hand-ins acknowledged,")
        print("all of them there each time; integrity check ok")
    return 0


def killed(folder: Path, *, seconds: float, n_writers: int = N_WRITERS) -> set[str]:
    """Serve the page, write to it, kill it after so many seconds; what it acknowledged."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-c", _SERVE, str(folder), str(port)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "MOLDGEN_HOME": str(folder)},
    )
    assert process.stdout is not None
    link = process.stdout.readline().strip()
    address = f"http://127.0.0.1:{port}"
    code = _taught(address, link)
    kept: set[str] = set()
    stop = threading.Event()
    writers = [
        threading.Thread(target=_write, args=(address, code, f"{port}-{k}", kept, stop))
        for k in range(n_writers)
    ]
    for writer in writers:
        writer.start()
    while not kept:
        time.sleep(0.01)
    time.sleep(seconds)
    process.send_signal(signal.SIGKILL)
    stop.set()
    process.wait()
    for writer in writers:
        writer.join()
    process.stdout.close()
    return kept


def lost_of(folder: Path, kept: set[str]) -> tuple[int, str]:
    """Return how many of these hand-ins are not there, and what the integrity check says."""
    reader = sqlite3.connect(folder / "page.sqlite")
    try:
        (state,) = reader.execute("PRAGMA integrity_check").fetchone()
        there = {row[0] for row in reader.execute("SELECT id FROM handed_in")}
    finally:
        reader.close()
    return len(kept - there), str(state)


def _taught(address: str, link: str) -> str:
    client = PageClient(address)
    try:
        return client.teach(link)
    finally:
        client.close()


def _write(address: str, code: str, name: str, kept: set[str], stop: threading.Event) -> None:
    client = PageClient(address)
    try:
        client.join(code, name)
        path = client.begin_word()
        number = 0
        while not stop.is_set():
            once = f"{name}-{number:06d}"
            client.tell(f"{path}/hand-in", {"once": once})
            if client.status == 200:
                kept.add(once)
            number += 1
    except (OSError, HTTPException):
        return  # it was killed
    finally:
        client.close()


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
