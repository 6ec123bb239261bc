"""Plates over printers: each once, none at the same time, and never far from the best there is."""

from itertools import pairwise, product
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.lesson.print_queue.queue import CHANGE_s, QueuePlate, QueuePrinter, plan_queue


def plates(*times_s, **words):
    """Return plates that take these times."""
    return [QueuePlate(name=f"Plate {k}", time_s=t, **words) for k, t in enumerate(times_s)]


def printers(count, **words):
    """Return printers of one kind."""
    return [QueuePrinter(name=f"medium {k}", **words) for k in range(count)]


def best_s(times_s, count, change_s):
    """Return the quickest there is, by trying every way to distribute."""
    quickest = inf
    for ways in product(range(count), repeat=len(times_s)):
        given = [
            [t for t, way in zip(times_s, ways, strict=True) if way == k] for k in range(count)
        ]
        ends = [sum(one) + change_s * max(0, len(one) - 1) for one in given]
        quickest = min(quickest, max(ends))
    return quickest


times = st.lists(st.integers(1, 60), min_size=1, max_size=7)


@settings(max_examples=120)
@given(times, st.integers(1, 3))
def test_the_longest_first_is_within_grahams_bound_of_the_best(times_s, count):
    """At most 4/3 - 1/(3m) of the best of all ways (Graham 1969), and never below the bound."""
    queue = plan_queue(plates(*times_s), printers(count), change_s=0.0)
    best = best_s(times_s, count, 0.0)

    assert queue.bound_s <= best + 1e-9
    assert best - 1e-9 <= queue.end_s <= (4 / 3 - 1 / (3 * count)) * best + 1e-9


@pytest.mark.parametrize("m", [2, 3])
def test_grahams_worst_case_is_met_exactly(m):
    """2m - 1, 2m - 1, ..., m + 1, m + 1, m, m, m takes 4m - 1 in place of 3m (Graham 1969)."""
    times_s = [t for k in range(2 * m - 1, m, -1) for t in (k, k)] + [m] * 3
    queue = plan_queue(plates(*times_s), printers(m), change_s=0.0)

    assert best_s(times_s, m, 0.0) == 3 * m
    assert queue.end_s == 4 * m - 1


@settings(max_examples=60)
@given(times, st.integers(1, 3))
def test_the_bound_holds_with_time_between_plates(times_s, count):
    """No way to distribute plates is quicker than the bound that the list tells."""
    queue = plan_queue(plates(*times_s), printers(count), change_s=5.0)

    assert queue.bound_s <= best_s(times_s, count, 5.0) + 1e-9 <= queue.end_s + 1e-6


@settings(max_examples=60)
@given(times, st.integers(1, 4), st.lists(st.sampled_from(["PLA", "PETG"]), min_size=7, max_size=7))
def test_every_plate_is_printed_once_and_a_printer_does_one_at_a_time(times_s, count, kinds):
    """Between two plates of a printer lies the time to clear it; each filament is put in once."""
    all_plates = [
        QueuePlate(name=str(k), time_s=float(t), filament=kind)
        for k, (t, kind) in enumerate(zip(times_s, kinds, strict=False))
    ]
    queue = plan_queue(all_plates, printers(count))

    assert sorted(slot.plate.name for slot in queue.slots) == sorted(p.name for p in all_plates)
    for printer in queue.printers:
        slots = queue.of(printer)
        for one, following in pairwise(slots):
            assert following.start_s == pytest.approx(one.end_s + CHANGE_s)
        kinds_of = [slot.plate.filament for slot in slots]
        changes = sum(one != other for one, other in pairwise(kinds_of))
        assert changes == sum(slot.changes_filament for slot in slots) <= 1


def test_a_small_class_worked_by_hand():
    """7, 5, 4 and 3 h on two printers: 7 and 3 on one, 5 and 4 on the other, 10 min between."""
    queue = plan_queue(plates(*(3600.0 * h for h in (3, 7, 4, 5))), printers(2))
    by_printer = [[slot.plate.time_s / 3600 for slot in queue.of(one)] for one in queue.printers]

    assert by_printer == [[7, 3], [5, 4]]
    assert queue.end_s == 10 * 3600 + 600
    assert [slot.start_s for slot in queue.of(queue.printers[1])] == [0, 5 * 3600 + 600]


def test_a_plate_goes_only_where_it_fits():
    """A wide plate goes to the wide printer, a tall one to none; turned by a quarter is as good."""
    wide = QueuePrinter(name="wide", room_mm=(300, 200, 150))
    narrow = QueuePrinter(name="narrow", room_mm=(150, 150, 150))
    deep, tall = (
        QueuePlate(name=name, time_s=9.0, size_mm=size)
        for name, size in (("deep", (180, 280, 20)), ("tall", (100, 100, 160)))
    )
    queue = plan_queue([deep, tall], [narrow, wide])

    assert [(slot.plate, slot.printer) for slot in queue.slots] == [(deep, wide)]
    assert queue.left_out == (tall,)


def test_a_quicker_printer_gets_more():
    """One that takes half the time gets two plates of three that are alike."""
    quick, slow = QueuePrinter(name="quick", pace=0.5), QueuePrinter(name="slow")
    queue = plan_queue(plates(10.0, 10.0, 10.0), [slow, quick], change_s=0.0)

    assert len(queue.of(quick)) == 2
    assert queue.end_s == 10.0
    assert queue.bound_s == pytest.approx(10.0)


def test_nothing_to_print_takes_no_time():
    """An empty queue ends where it begins."""
    queue = plan_queue([], printers(2))

    assert (queue.end_s, queue.bound_s, queue.n_filament_changes) == (0.0, 0.0, 0)
    assert some(queue.printers)
