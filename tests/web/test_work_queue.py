"""Few processes for many people: the latest wish counts, pictures come first, nothing is lost."""

import threading
from typing import ClassVar

import pytest

from moldgen.errors import CancelError, OutlineError
from moldgen.sandbox.frames import Frame
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.worker import WorkerError
from moldgen.web import work_queue
from moldgen.web.work_queue import Lane, SupersededError, WorkQueue

RAISED = {"refused": OutlineError("No."), "died": WorkerError("It ended.")}


class StubWorker:
    """Does what its words say, when it is let."""

    made: ClassVar[list["StubWorker"]] = []

    def __init__(self, homes, limits):
        self.done: list[str] = []
        self.begun = threading.Semaphore(0)
        self.may_go_on = threading.Semaphore(0)
        self.stopped = False
        StubWorker.made.append(self)

    def run(self, work, words, blocks):
        """Do what the words say."""
        self.done.append(words["name"])
        self.begun.release()
        if words.get("waits"):
            self.may_go_on.acquire(timeout=20)
        if self.stopped:
            self.stopped = False
            raise CancelError("Stopped.")
        if "raises" in words:
            raise {"refused": OutlineError("No."), "died": WorkerError("It ended.")}[
                words["raises"]
            ]
        return Frame({"name": words["name"]}, [b"x" * words.get("size", 1)])

    def cancel(self):
        """Stop what waits."""
        self.stopped = True
        self.may_go_on.release()

    def kill(self):
        """End."""
        self.may_go_on.release()


@pytest.fixture
def queue_of(monkeypatch):
    """Makes queues of stubs."""
    monkeypatch.setattr(work_queue, "Worker", StubWorker)
    StubWorker.made = []
    made = []

    def of(n_workers):
        made.append(WorkQueue(n_workers, ProcessLimits()))
        return made[-1]

    yield of
    for queue in made:
        queue.close()


def ask(queue, owner, name, *, lane=Lane.PICTURE, work="picture", **words):
    """An order's answer."""
    return queue.submit(lane, owner, work, {"name": name, **words})


def test_only_the_latest_wish_of_a_design_is_done(queue_of):
    """What waits is dropped for what comes after it; another's is not."""
    queue = queue_of(1)
    first = ask(queue, "a", "first", waits=True)
    StubWorker.made[0].begun.acquire()
    other = ask(queue, "b", "other")
    dropped = ask(queue, "c", "dropped")
    latest = ask(queue, "c", "latest")

    with pytest.raises(SupersededError):
        dropped.result(5)
    StubWorker.made[0].may_go_on.release()

    assert [answer.result(5).words["name"] for answer in (first, other, latest)] == [
        "first", "other", "latest",
    ]  # fmt: skip
    assert "dropped" not in StubWorker.made[0].done


def test_what_is_being_done_in_vain_is_stopped(queue_of):
    """A newer wish does not wait for an older one of the same design."""
    queue = queue_of(1)
    old = ask(queue, "a", "old", waits=True)
    StubWorker.made[0].begun.acquire()

    new = ask(queue, "a", "new")

    assert new.result(5).words["name"] == "new"
    with pytest.raises(SupersededError):
        old.result(5)


def test_a_picture_never_waits_for_a_forming_run(queue_of):
    """One process is kept for pictures; it does nothing else even if others wait."""
    queue = queue_of(2)
    ask(queue, "a", "run a", lane=Lane.REST, work="sheet", waits=True)
    StubWorker.made[1].begun.acquire()
    waiting = ask(queue, "b", "run b", lane=Lane.REST, work="sheet")

    picture = ask(queue, "c", "picture c")

    assert picture.result(5).words["name"] == "picture c"
    assert not waiting.done()
    assert StubWorker.made[0].done == ["picture c"]


def test_the_others_help_with_pictures(queue_of):
    """When there is nothing else to do."""
    queue = queue_of(2)
    ask(queue, "a", "one", waits=True)
    StubWorker.made[0].begun.acquire(timeout=0.5) or StubWorker.made[1].begun.acquire(timeout=0.5)

    assert ask(queue, "b", "two").result(5).words["name"] == "two"


def test_an_answer_is_kept(queue_of):
    """The same wish is computed once, whoever has it; other bytes are another wish."""
    queue = queue_of(1)
    ask(queue, "a", "same").result(5)
    ask(queue, "b", "same").result(5)
    queue.submit(Lane.PICTURE, "c", "picture", {"name": "same"}, [b"bytes"]).result(5)

    assert StubWorker.made[0].done == ["same", "same"]


def test_what_is_kept_has_its_limit(queue_of, monkeypatch):
    """The oldest answers go first."""
    monkeypatch.setattr(work_queue, "_KEPT_BYTES", 25)
    queue = queue_of(1)
    for name in "abcd":
        ask(queue, name, name, size=10).result(5)
    ask(queue, "x", "d", size=10).result(5)
    ask(queue, "y", "a", size=10).result(5)

    assert StubWorker.made[0].done == ["a", "b", "c", "d", "a"]


@pytest.mark.parametrize(("raises", "error"), [("refused", OutlineError), ("died", WorkerError)])
def test_what_goes_wrong_is_told_and_not_kept(queue_of, raises, error):
    """The sentence arrives, the next wish is done, and the same one is tried again."""
    queue = queue_of(1)
    for _ in range(2):
        with pytest.raises(error):
            ask(queue, "a", "wrong", raises=raises).result(5)

    assert ask(queue, "a", "right").result(5).words["name"] == "right"
    assert StubWorker.made[0].done == ["wrong", "wrong", "right"]


def test_the_place_in_the_queue_is_known(queue_of):
    """How many stand before somebody's order."""
    queue = queue_of(1)
    ask(queue, "a", "running", waits=True)
    StubWorker.made[0].begun.acquire()
    for owner in "bcd":
        ask(queue, owner, owner)

    assert [queue.n_ahead(Lane.PICTURE, owner) for owner in "bcdz"] == [0, 1, 2, 0]
