"""Between two checkpoints of a run lies little work, so that it can be stopped soon."""

from __future__ import annotations

import threading
from collections import defaultdict
from itertools import pairwise
from time import thread_time

import pytest
from support.some import some

import moldgen as mg
from moldgen.api.design import KEPT

MOST_S = 0.1
"""A run stops within this on an idle core. [s]."""


class Watch(mg.Cancel):
    """Notes when each thread passes a checkpoint."""

    def __init__(self):
        super().__init__()
        self.passed_s = defaultdict(list)

    def check(self):
        """Note the time, and stop if asked to."""
        self.passed_s[threading.get_ident()].append(thread_time())
        super().check()

    def gaps_s(self):
        """Return the time on the processor between checkpoints, of every thread. [s]."""
        return [b - a for times in self.passed_s.values() for a, b in pairwise(times)]


def watched(job) -> Watch:
    """Make a job with every file, and tell when it passed its checkpoints."""
    watch = Watch()
    with mg.run_with(cancel=watch):
        result = mg.make(job)
        watch.check()
        result.output.render()
        watch.check()
    return watch


@pytest.mark.parametrize("forming", ["off", "preview"])
def test_no_stretch_of_work_is_long(forming):
    """With everything loaded, the longest of three runs' shortest stretches is short.

    Time on the processor is measured, which other programs stretch up to twice; the least of
    three runs counts.
    """
    watched(mg.sign("TIE", forming=forming))
    longest = []
    for word in ("PIER", "QUAY", "BUOY"):
        if min(longest, default=1.0) >= 2 * MOST_S:  # one that is short is enough
            KEPT.clear()
            longest.append(max(some(watched(mg.sign(word, forming=forming)).gaps_s())))

    assert min(longest) < 2 * MOST_S


def test_checkpoints_are_many():
    """A run passes them in every thread that works, and more often than it has stages."""
    watch = watched(mg.sign("TIE", date="watched"))

    assert len(watch.passed_s) == 2
    assert sum(map(len, watch.passed_s.values())) > 40
