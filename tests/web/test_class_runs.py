"""Classes are made one at a time, each in a process of its own that ends with it."""

import threading

import pytest

from moldgen.errors import CancelError, SpecError
from moldgen.sandbox.worker import WorkerError
from moldgen.web.workshop.folder import ClassFolder
from moldgen.web.workshop.runs import ClassRuns


class StubWorker:
    """Works until it is told what comes of it."""

    def __init__(self, limits):
        self.limits, self.killed = limits, False
        self.asked = []
        self._ends, self._outcome = threading.Event(), None

    def run(self, work, words, *, tell):
        """Tell how far it is, and wait."""
        self.asked.append((work, words))
        tell({"told": "1 of 2 molds built", "share": 0.5})
        self._ends.wait(10)
        if self._outcome is not None:
            raise self._outcome

    def end(self, outcome=None):
        """End the work, well or not."""
        self._outcome = outcome
        self._ends.set()

    def cancel(self):
        """Stop it."""
        self.end(CancelError("Stopped."))

    def kill(self):
        """End the process."""
        self.killed = True
        self.end(WorkerError("It ended."))


@pytest.fixture
def workers():
    """All that were started."""
    return []


@pytest.fixture
def runs(workers):
    """Makes classes with stubs."""

    def start(limits):
        workers.append(StubWorker(limits))
        return workers[-1]

    return ClassRuns(start)


def settle(condition):
    """Wait until something is so."""
    waiting = threading.Event()
    for _ in range(500):
        if condition():
            return
        waiting.wait(0.01)
    raise AssertionError("it never came to that")


def begin(runs, path, number=1, prepare=lambda: None):
    """Begin a class."""
    runs.begin(number, ClassFolder(path=path), {"title": "Boat shed"}, prepare)


def test_a_class_is_made_in_its_own_folder(runs, workers, tmp_path):
    """The process may write there and nowhere else; how far it is can be asked."""
    begin(runs, tmp_path / "one")
    settle(lambda: runs.state(1).told)

    (worker,) = workers
    assert worker.limits.folder == tmp_path / "one"
    assert worker.limits.readable == ()
    assert worker.asked[0][1]["folder"] == str(tmp_path / "one")
    assert (runs.state(1).told, runs.state(1).share) == ("1 of 2 molds built", 0.5)
    worker.end()
    settle(lambda: not runs.state(1).is_running)
    assert runs.state(1).problem == ""
    settle(lambda: worker.killed)


def test_one_class_is_made_at_a_time(runs, workers, tmp_path):
    """The same is not begun twice, and another is refused until it is done."""
    begin(runs, tmp_path / "one")
    begin(runs, tmp_path / "one")
    with pytest.raises(SpecError, match="Wait until it is ready"):
        begin(runs, tmp_path / "two", number=2)

    assert len(workers) == 1
    runs.stop(2)
    assert runs.state(1).is_running
    runs.stop(1)
    settle(lambda: not runs.state(1).is_running)
    assert runs.state(1).problem.startswith("Stopped.")
    settle(lambda: workers[0].killed)
    begin(runs, tmp_path / "two", number=2)
    assert len(workers) == 2
    runs.close()


@pytest.mark.parametrize("when", ["before", "in the work"])
def test_what_goes_wrong_is_told(runs, workers, tmp_path, when):
    """In one sentence, and another class can be made."""

    def prepare():
        if when == "before":
            raise SpecError("designs", "approved", "none")

    begin(runs, tmp_path / "one", prepare=prepare)
    workers[0].end(SpecError("designs", "approved", "none"))

    settle(lambda: not runs.state(1).is_running)
    assert runs.state(1).problem == "designs must be approved (got none)."
    settle(lambda: workers[0].killed)
    begin(runs, tmp_path / "two", number=2)
    runs.close()


def test_a_class_that_is_deleted_leaves_nothing(runs, workers, tmp_path):
    """Its process ends, its folder goes, and a new class of its number knows nothing of it."""
    begin(runs, tmp_path / "one")
    settle(lambda: runs.state(1).told)

    runs.forget(1)

    assert workers[0].killed
    settle(lambda: not (tmp_path / "one").exists())
    assert runs.state(1) is None
