"""Work can be stopped from outside, and runs on as many threads as it may."""

from __future__ import annotations

import threading
import time

import pytest

from moldgen.errors import CancelError, SpecError
from moldgen.execution import (
    Cancel,
    SameContextThread,
    beside,
    cancel_now,
    checkpoint,
    n_processors,
    run_with,
    threads_now,
)


def test_nothing_stops_work_that_nobody_watches():
    """Outside of any execution a checkpoint does nothing, and all processors may be used."""
    checkpoint()

    assert cancel_now() is None
    assert threads_now() == n_processors() >= 1


def test_a_checkpoint_stops_work_that_was_asked_to_stop():
    """Before the request it goes on, after it it does not."""
    stop = Cancel()

    with run_with(cancel=stop):
        checkpoint()
        assert not stop.requested
        stop.request()
        with pytest.raises(CancelError, match="as asked"):
            checkpoint()

    checkpoint()


def test_another_thread_stops_it():
    """Work that only passes checkpoints ends soon after another thread asks for it."""
    stop = Cancel()
    ended = []

    def work():
        with run_with(cancel=stop):
            try:
                while True:
                    checkpoint()
                    time.sleep(0.001)
            except CancelError:
                ended.append(True)

    thread = threading.Thread(target=work)
    thread.start()
    stop.request()
    thread.join(timeout=10)

    assert ended == [True]


def test_what_is_said_inside_ends_inside():
    """Threads and cancel are those of the innermost statement, the rest as outside."""
    outer = Cancel()

    with run_with(cancel=outer, threads=3):
        with run_with(threads=1) as inner:
            assert threads_now() == 1
            assert inner.cancel is outer
        assert threads_now() == 3

    assert cancel_now() is None


@pytest.mark.parametrize("threads", [0, -2])
def test_work_needs_a_thread(threads):
    """Fewer than one is refused in a sentence."""
    with (
        pytest.raises(SpecError, match="threads must be 1 or more"),
        run_with(threads=threads),
    ):
        pass


@pytest.mark.parametrize("threads", [1, 2])
def test_work_beside_is_done_once(threads):
    """Its result is there however often it is asked for, on another thread if there may be one."""
    ran = []

    def work():
        ran.append(threading.get_ident())
        return 7

    with run_with(threads=threads), beside(work) as result:
        assert result() == result() == 7

    assert len(ran) == 1
    assert (ran[0] == threading.get_ident()) is (threads == 1)


def test_work_beside_is_stopped_as_well():
    """The other thread has the same checkpoint, and its end is told where the result is."""
    stop = Cancel()
    stop.request()

    with (
        run_with(cancel=stop, threads=2),
        beside(checkpoint) as result,
        pytest.raises(CancelError),
    ):
        result()


def test_work_of_a_thread_is_stopped_as_well():
    """What is handed to it holds to what was so when it was handed over."""
    stop = Cancel()
    stop.request()

    with SameContextThread() as thread:
        with run_with(cancel=stop):
            stopped = thread.submit(checkpoint)
        free = thread.submit(checkpoint)

    assert isinstance(stopped.exception(), CancelError)
    assert free.exception() is None
