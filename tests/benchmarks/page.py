"""Print how quick the page is, for one student and for thirty: ``python -m tests.benchmarks.page``.

It starts ``moldgen page`` on loopback and ends it again; a few minutes in all. Nothing passes or
fails. ``python -m tests.benchmarks.page_kills`` kills it.
"""

from __future__ import annotations

import gzip
import os
import re
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter, sleep

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.browsing import RunningPage, served_page
from support.memory import held_MB, peak_MB
from support.page_client import PageClient

Row = tuple[str, str]
N_STUDENTS = 30
EVERY_S = 10.0
ROUNDS = 6


def main() -> None:
    """Print every table."""
    with tempfile.TemporaryDirectory() as folder, served_page(Path(folder)) as served:
        code = PageClient(served.address).teach(served.teacher_link)
        for title, rows in (
            ("One student, PIER 4, everything warm", lambda: one_student_rows(served, code)),
            ("The first load of the page", lambda: first_load_rows(served, code)),
            (
                f"{N_STUDENTS} students, a change each every {EVERY_S:g} s",
                lambda: class_rows(served, code),
            ),
            (f"{N_STUDENTS} students at one instant", lambda: instant_rows(served, code)),
            ("Memory after all of this", lambda: memory_rows(served)),
        ):
            print(f"\n{title}")
            for label, figures in rows():
                print(f"  {label:<44}{figures}", flush=True)


def one_student_rows(served: RunningPage, code: str) -> Iterator[Row]:
    """Yield how long picture, findings and thickness take, and the work in them."""
    one = Student(served.address, code, "One")
    one.change("PIER 0")
    one.wait("/sheet")
    times: dict[str, list[float]] = {"picture": [], "work": [], "findings": [], "sheet": []}
    for number in range(1, 8):
        before = processors_s(served)
        times["picture"].append(one.change(f"PIER {number}"))
        times["work"].append(processors_s(served) - before)
        times["findings"].append(one.wait("/findings"))
        times["sheet"].append(one.wait("/sheet"))
    yield "key to picture", _seconds(times["picture"], "0.35")
    yield "work in it (processor seconds of the workers)", _seconds(times["work"], "0.15")
    yield "findings after that", _seconds(times["findings"], "0.8")
    yield "thickness map after that", _seconds(times["sheet"], "1.3")


def first_load_rows(served: RunningPage, code: str) -> Iterator[Row]:
    """Yield the bytes of all that a browser loads for a design, with its first picture."""
    one = Student(served.address, code, "Loads")
    total = 0
    for path in (one.path, *sorted(_static(one, "/static/page.css", "/static/design.js"))):
        total += len(one.client.ask(path))
    yield "page, styles, scripts, letters", f"{total / 1000:8.0f} kB"
    total += len(one.client.ask(f"{one.path}/picture"))
    yield "with the first picture", f"{total / 1000:8.0f} kB  (aim 350)"


def class_rows(served: RunningPage, code: str) -> Iterator[Row]:
    """Yield how long thirty wait who change something every ten seconds."""
    pictures: list[float] = []
    findings: list[float] = []
    dropped: list[int] = []

    def work(student: Student, number: int) -> None:
        for round_ in range(ROUNDS):
            begun = perf_counter()
            sleep(EVERY_S * number / N_STUDENTS if round_ == 0 else 0)
            begun = perf_counter()
            pictures.append(student.change(f"{_word(number)} {round_}"))
            waited = student.wait("/findings")
            findings.append(waited)
            dropped.extend([1] * (waited == 0))
            sleep(max(0.0, EVERY_S - (perf_counter() - begun)))

    _together(served, code, "Every", work)
    yield "picture", _p95(pictures, "1")
    yield "findings", _p95([one for one in findings if one], "2")
    yield "superseded", f"{len(dropped):8d}"


def instant_rows(served: RunningPage, code: str) -> Iterator[Row]:
    """Yield how long thirty wait who change something at once, three times."""
    pictures: list[float] = []
    barrier = threading.Barrier(N_STUDENTS)

    def work(student: Student, number: int) -> None:
        for round_ in range(3):
            barrier.wait()
            pictures.append(student.change(f"{_word(number)} {round_}"))

    _together(served, code, "Once", work)
    yield "picture", _p95(pictures, "2")
    yield "lost", f"{3 * N_STUDENTS - len(pictures):8d}    (aim 0)"


def memory_rows(served: RunningPage) -> Iterator[Row]:
    """Yield what server and workers hold."""
    yield "server", f"{held_MB(served.pid):8.0f} MB  (aim 80)"
    for number, pid in enumerate(served.workers(), start=1):
        most = peak_MB(pid)
        yield (
            f"worker {number}",
            f"{held_MB(pid):8.0f} MB  (aim 250), {most:.0f} MB at most",
        )


class Student:
    """One who has joined and begun a word."""

    def __init__(self, address: str, code: str, name: str) -> None:
        self.client = PageClient(address)
        self.client.join(code, name)
        self.path = self.client.begin_word()
        self._number = 0

    def change(self, words: str) -> float:
        """Type a word, and wait for its picture; the seconds."""
        begun = perf_counter()
        told = {"values": {"words": [words]}, "number": self._number}
        self.client.tell(f"{self.path}/values", told)
        assert self.client.status == 200
        self._number += 1
        assert self.client.seen(f"{self.path}/picture") is not None
        return perf_counter() - begun

    def wait(self, what: str) -> float:
        """Wait for something else of it; the seconds, 0 if something newer took its place."""
        begun = perf_counter()
        seen = self.client.seen(self.path + what)
        return perf_counter() - begun if seen is not None else 0.0


def _together(
    served: RunningPage, code: str, name: str, work: Callable[[Student, int], None]
) -> None:
    students = [Student(served.address, code, f"{name} {k}") for k in range(N_STUDENTS)]
    threads = [threading.Thread(target=work, args=(s, k)) for k, s in enumerate(students)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def _word(number: int) -> str:
    return f"{chr(65 + number % 26)}{chr(65 + number // 26)}"


def _static(one: Student, *seeds: str) -> set[str]:
    """Return all files that these name, and those that are named in them."""
    found: set[str] = set()
    left = list(seeds)
    while left:
        path = left.pop()
        if path in found:
            continue
        found.add(path)
        data = one.client.ask(path)
        text = (gzip.decompress(data) if data[:2] == b"\x1f\x8b" else data).decode("latin-1")
        folder = path.rpartition("/")[0]
        if path.endswith(".js"):
            left += [f"{folder}/{name}" for name in re.findall(r'from "\./([\w/.]+)"', text)]
        if path.endswith(".css"):
            left += re.findall(r'url\("([^"]+)"\)', text)
    return found


def processors_s(served: RunningPage) -> float:
    """Return what all workers have taken so far. [s]."""
    ticks = os.sysconf("SC_CLK_TCK")
    total = 0.0
    for pid in served.workers():
        parts = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        total += (int(parts[11]) + int(parts[12])) / ticks
    return total


def _seconds(times: list[float], aim: str) -> str:
    return f"{median(times):8.3f} s   (aim {aim}), {max(times):.3f} s at most"


def _p95(times: list[float], aim: str) -> str:
    return (
        f"{quantiles(times, n=20)[-1]:8.3f} s   p95 of {len(times)} (aim {aim}), "
        f"median {median(times):.3f} s"
    )


if __name__ == "__main__":
    main()
