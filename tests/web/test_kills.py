"""The page killed while it writes: what it acknowledged is there."""

from benchmarks.page_kills import killed, lost_of


def test_what_was_acknowledged_survives_a_kill(tmp_path):
    """Twice killed outright under writers: every hand-in is there, and the file is sound."""
    kept = set()
    for _ in range(2):
        kept |= killed(tmp_path, seconds=0.1, n_writers=6)

        assert lost_of(tmp_path, kept) == (0, "ok")
    assert len(kept) > 2
    assert lost_of(tmp_path, {*kept, "never handed in"}) == (1, "ok")
