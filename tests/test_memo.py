"""Keys tell content apart, and a memo keeps what fits."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass, field
from enum import StrEnum
from functools import partial
from pathlib import Path
from threading import Thread

import numpy as np
import pytest
from shapely import Point, box

from moldgen.memo import Memo, content_key, size_bytes


@dataclass(frozen=True)
class Berth:
    """Something with content."""

    name: str
    length_mm: float
    note: str = field(default="", compare=False)


@dataclass(frozen=True)
class Mooring:
    """Something else with the same content."""

    name: str
    length_mm: float


class Tide(StrEnum):
    """Which way the water goes."""

    HIGH = "high"
    LOW = "low"


DIFFERENT = [
    1, 1.0, True, None, "1", b"1", 2, -0.0, 0.0, float("nan"), (1,), (1, 1), ((1,), 1), (), {},
    {"a": 1}, {"b": 1}, ("a", 1), Path("a"), "a", Tide.HIGH, Tide.LOW, "high",
    np.array([1.0]), np.array([1]), np.array([[1.0]]), np.array([], np.float64),
    np.array([], np.int64), box(0, 0, 1, 1), box(0, 0, 1, 2), Point(0, 0),
    Berth("a", 1.0), Berth("b", 1.0), Berth("a", 2.0), Mooring("a", 1.0), ("ab", "c"), ("a", "bc"),
]  # fmt: skip


def test_different_content_has_different_keys():
    """Every two of many values differ, be it in kind, length or nesting alone."""
    keys = [content_key(value) for value in DIFFERENT]

    assert len(set(keys)) == len(DIFFERENT) > 30


def test_equal_content_has_equal_keys():
    """Other objects, another order of names and what does not count make no difference."""
    assert content_key(Berth("a", 1.0, "x")) == content_key(Berth("a", 1.0, "y"))
    assert content_key({"a": 1, "b": 2}) == content_key({"b": 2, "a": 1})
    assert content_key([1, 2]) == content_key((1, 2))
    assert content_key(np.arange(6.0).reshape(2, 3)) == content_key(
        np.asfortranarray(np.arange(6.0).reshape(2, 3))
    )
    assert content_key(np.float64(2.5)) == content_key(2.5)


def test_a_key_is_the_same_in_another_process():
    """Nothing of the process, such as its seed of hashes, is in a key."""
    code = (
        "from moldgen.memo import content_key; from pathlib import Path;"
        "print(content_key({'a': 1.5, 'b': ('x', Path('y'))}).hex())"
    )
    told = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )

    assert told.stdout.strip() == content_key({"a": 1.5, "b": ("x", Path("y"))}).hex()


def test_what_has_no_content_has_no_key():
    """A function cannot be told from another by what it contains."""
    with pytest.raises(TypeError, match="function"):
        content_key((1, lambda: 2))


def test_a_memo_computes_once():
    """What is kept is the same object, and misses and hits are counted."""
    memo = Memo(1000)
    ran = []

    def compute():
        ran.append(1)
        return object()

    assert memo.get(b"a", compute) is memo.get(b"a", compute)
    assert (len(ran), memo.hits, memo.misses, len(memo)) == (1, 1, 1, 1)
    memo.clear()
    assert len(memo) == 0


def test_what_was_asked_for_last_stays():
    """A full memo forgets what was not asked for longest."""
    memo = Memo(3 * np.zeros(100).nbytes + 100)
    for key in (b"a", b"b", b"c"):
        memo.get(key, lambda: np.zeros(100))
    memo.get(b"a", lambda: pytest.fail("a was kept"))

    memo.get(b"d", lambda: np.zeros(100))

    memo.get(b"a", lambda: pytest.fail("a was kept"))
    gone = []
    memo.get(b"b", lambda: gone.append(1))
    assert gone == [1]


def test_what_is_too_large_is_not_kept():
    """It is handed on, and pushes nothing out."""
    memo = Memo(1000)
    memo.get(b"a", lambda: np.zeros(10))

    assert memo.get(b"b", lambda: np.zeros(1000)).shape == (1000,)

    assert len(memo) == 1


def test_a_failure_is_not_kept():
    """The next time it is tried again."""
    memo = Memo(1000)

    with pytest.raises(ZeroDivisionError):
        memo.get(b"a", lambda: 1 / 0)

    assert memo.get(b"a", lambda: 3) == 3


def test_sizes_count_arrays_and_shapes_wherever_they_hide():
    """Arrays in tuples, mappings and dataclasses count once each."""
    many = np.zeros(10_000)

    assert many.nbytes <= size_bytes(({"a": (many, many)}, many)) < 1.1 * many.nbytes
    assert size_bytes(Point(0, 0).buffer(1, quad_segs=2000)) > 16 * 8000


def test_threads_may_ask_at_once():
    """Whoever asks gets a right answer, and the count of bytes stays right."""
    memo = Memo(50 * np.zeros(100).nbytes)
    wrong = []

    def ask():
        for number in range(500):
            got = memo.get(content_key(number % 70), partial(np.full, 100, number % 70))
            if got[0] != number % 70:
                wrong.append(number)

    threads = [Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert wrong == []
    assert 0 < len(memo) <= 50
