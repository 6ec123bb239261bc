"""What follows what, as runs and closed loops."""

from hypothesis import given
from hypothesis import strategies as st

from moldgen.solid.chains import chains_of


def test_open_runs_come_before_closed_loops():
    """A run begins where nothing comes before, a loop at its least number."""
    assert chains_of([2, 0, 1, 4, -1, -1]) == [[3, 4], [5], [0, 2, 1]]
    assert chains_of([]) == []


@given(st.integers(1, 30).flatmap(lambda n: st.permutations(range(n))))
def test_loops_hold_every_number_once_in_order(follows):
    """Where each number has one before and one after, all runs close."""
    loops = chains_of(follows)

    assert sorted(k for loop in loops for k in loop) == list(range(len(follows)))
    assert all(
        follows[a] == b for loop in loops for a, b in zip(loop, loop[1:] + loop[:1], strict=True)
    )
    assert [loop[0] for loop in loops] == sorted(min(loop) for loop in loops)
