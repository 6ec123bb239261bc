"""A program can look at a mold while it changes, stop it, and say on how many threads it runs."""

from __future__ import annotations

import threading
import time

import pytest

import moldgen as mg
from moldgen.api.design import KEPT


def test_a_design_gives_walls_findings_and_sheet():
    """Each when it is asked for, as lightly as a picture needs, or as it is printed."""
    seen = mg.design(mg.sign("TIE"))
    final = mg.design(mg.sign("TIE"), quality="final")

    assert seen.computed() == set()
    assert len(seen.raw.mesh.triangles) < len(final.raw.mesh.triangles)
    assert seen.formed is None
    assert final.mold.findings == mg.make(mg.sign("TIE")).findings


def test_what_another_design_had_is_not_computed_again():
    """The walls of the same sign are the same object, in whichever call they were built."""
    walls = mg.design(mg.sign("TIE"), quality="final").raw
    misses = KEPT.misses

    assert mg.design(mg.sign("TIE", filament="PLA"), quality="final").raw is walls
    assert mg.make(mg.sign("TIE")).design.raw is walls
    assert KEPT.misses >= misses


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        (lambda: mg.design("TIE"), "job must be a job of a mold"),
        (lambda: mg.design(mg.sign("TIE"), quality="best"), "quality must be .*preview.*final"),
        (lambda: mg.design(mg.sign("TIE", filament="brass")), "brass"),
    ],
)
def test_what_cannot_be_designed_is_told_in_a_sentence(wrong, sentence):
    """A wrong argument, and a name that is not in stock, before anything is computed."""
    with pytest.raises(mg.SpecError, match=sentence):
        wrong()


def test_work_is_stopped_from_another_thread():
    """Any call of the interface ends with a CancelError, soon after it was asked to."""
    stop, told = mg.Cancel(), []

    def work():
        with mg.run_with(cancel=stop):
            try:
                while True:
                    mg.make(mg.sign("QUAY", date=str(len(told)))).output.render()
                    told.append("made")
            except mg.CancelError:
                told.append("stopped")

    thread = threading.Thread(target=work)
    thread.start()
    time.sleep(0.5)
    stop.request()
    thread.join(timeout=60)

    assert told[-1] == "stopped"
    assert told.count("stopped") == 1


@pytest.mark.parametrize("forming", ["off", "preview"])
def test_threads_change_no_byte(forming):
    """One thread or two: bodies, plans and findings are the same."""
    made = []
    for threads in (1, 2):
        KEPT.clear()
        with mg.run_with(threads=threads):
            result = mg.make(mg.sign("TIE", forming=forming))
            files = result.output.render(
                [mg.Format(word) for word in ("stl", "svg", "dxf", "json")]
            ).files
            made.append((result.findings, files))

    assert made[0] == made[1]
    assert len(made[0][1]) >= 4
