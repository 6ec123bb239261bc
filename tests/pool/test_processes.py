"""Processes that end in the midst of their work lose nothing, and are given up after a while."""

from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool

import pytest

from moldgen.errors import GeometryError
from moldgen.pool.answers import answers
from moldgen.pool.processes import RETRIES, local_processes

DIE = "__import__('os').kill(__import__('os').getpid(), 9)"
ONCE = "__import__('os').path.exists({0!r}) or (open({0!r}, 'w').close(), " + DIE + ")"


def test_work_of_a_killed_process_is_done_again(tmp_path):
    """What it was at, and what waited for it, comes out all the same."""
    once = ONCE.format(str(tmp_path / "died"))
    with local_processes(2) as pool:
        asked = [pool.submit(eval, word) for word in ("1 + 1", once, "2 + 2", "3 + 3")]

        assert [one.result(timeout=60) for one in asked] == [2, True, 4, 6]
        assert (tmp_path / "died").exists()


def test_work_that_kills_every_process_is_given_up(tmp_path):
    """After so many tries it ends in an error, and what asks for answers tells it in a sentence."""
    died = str(tmp_path / "died")
    count = f"open({died!r}, 'a').write('x')"
    with local_processes(2) as pool:
        asked = pool.submit(eval, f"({count}, {DIE})")
        with pytest.raises(BrokenProcessPool):
            asked.result(timeout=60)

    assert len((tmp_path / "died").read_text()) <= RETRIES + 1


class Broken(Executor):
    """An executor all of whose processes end."""

    def submit(self, work, /, *values, **named):
        """Return a future that holds what a broken pool leaves."""
        future: Future = Future()
        future.set_exception(BrokenProcessPool())
        return future


def test_a_pool_that_is_given_up_is_told_in_a_sentence():
    """It says how often it was tried, and what to do."""
    with pytest.raises(GeometryError, match=f"{RETRIES + 1} processes ended.*--workers 1"):
        list(answers(Broken(), [b"piece"]))


def test_what_is_cancelled_is_not_begun(tmp_path):
    """Work that waits for a process is dropped with who asked for it."""
    made = tmp_path / "made"
    with local_processes(2) as pool:
        busy = [pool.submit(eval, "__import__('time').sleep(0.5)") for _ in range(6)]
        waiting = pool.submit(eval, f"open({str(made)!r}, 'w').close()")
        assert waiting.cancel()
        for one in busy:
            one.result(timeout=60)

    assert not made.exists()
