"""A forming run that is stopped from outside, and one that could have been."""

from threading import Timer
from time import perf_counter, thread_time

import numpy as np
import pytest
from support.membrane_shapes import turned

from moldgen.cancel import Cancel
from moldgen.errors import CancelError
from moldgen.physics.membrane import march_kernel
from moldgen.physics.membrane import work as forming_work
from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.run import FormingSpec
from moldgen.physics.membrane.run_file import write_run
from moldgen.physics.membrane.sheet_mesh import build_sheet_mesh

CLAMP = [(-60, -60), (60, -60), (60, 60), (-60, 60)]
BUMP = turned([(0, 12), (20, 12), (26, 0)])


class StampedCancel(Cancel):
    """A cancel that knows how long the working thread had been at it between two looks."""

    def __init__(self):
        super().__init__()
        self.looks_s = []

    def check(self):
        """Look, and note the processor time."""
        self.looks_s.append(thread_time())
        super().check()


@pytest.mark.parametrize("threads", [1, 2])
def test_a_run_stops_when_asked(threads):
    """From another thread, long before its end."""
    mesh, cancel = build_sheet_mesh(CLAMP, size_mm=1.5), Cancel()
    form_sheet(mesh, BUMP, spec=FormingSpec(most_steps=32), threads=threads)
    timer = Timer(0.2, cancel.request)
    timer.start()
    start = perf_counter()

    with pytest.raises(CancelError):
        form_sheet(mesh, BUMP, spec=FormingSpec(pace=100), cancel=cancel, threads=threads)
    assert perf_counter() - start < 10


def test_a_run_looks_every_tenth_of_a_second():
    """However fine the mesh: processor time of the thread between two looks."""
    mesh, cancel = build_sheet_mesh(CLAMP, size_mm=0.35), StampedCancel()
    assert len(mesh.triangles) > 400_000
    form_sheet(mesh, BUMP, spec=FormingSpec(most_steps=64), cancel=cancel, threads=1)

    assert len(cancel.looks_s) > 8
    assert np.median(np.diff(cancel.looks_s[1:])) < 0.1


def test_a_run_that_was_asked_before_takes_no_step(monkeypatch):
    """Nothing is marched."""
    cancel = Cancel()
    cancel.request()
    monkeypatch.setattr(march_kernel, "march", None)

    with pytest.raises(CancelError):
        form_sheet(build_sheet_mesh(CLAMP, size_mm=8), BUMP, cancel=cancel)


def test_looking_more_often_changes_nothing(monkeypatch):
    """Steps one by one or all at once, with a cancel or without: the same bytes."""
    mesh, spec = build_sheet_mesh(CLAMP, size_mm=6), FormingSpec(most_steps=640)
    files = [write_run(form_sheet(mesh, BUMP, spec=spec))]
    for longest in (1, 10**9):
        monkeypatch.setattr(forming_work, "_LONGEST", longest)
        files.append(write_run(form_sheet(mesh, BUMP, spec=spec, cancel=Cancel())))

    assert files[0] == files[1] == files[2]
