"""A writer that is killed, refused or stopped anywhere leaves the old set or the new one."""

import os

import pytest
from crash.steps import Fault, struck_at_every_step
from support.some import some

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="a system without fork")


@pytest.mark.parametrize("earlier", [0, 1])
def test_a_kill_at_any_step_is_mended_by_the_next_run(tmp_path, earlier):
    """All old or all new, nothing left over, and nothing of the person's touched."""
    struck = list(struck_at_every_step(tmp_path / "run", Fault.KILL, earlier=earlier))

    assert len(struck) > 30
    assert [one for one in some(struck) if not one.sound] == []
    # A set is complete from one rename on, and mixed only between the first and the last.
    mixed = [one.at for one in some(struck) if one.struck.generation is None]
    assert len(mixed) <= 6
    assert [at for at in mixed if not at.startswith(("os.rename", "os.remove"))] == []


@pytest.mark.parametrize("fault", [Fault.REFUSE, Fault.STOP])
def test_a_refused_or_stopped_step_is_mended_at_once(tmp_path, fault):
    """If the system refuses a step, or Ctrl-C comes, old or new is there before the next run."""
    struck = list(struck_at_every_step(tmp_path / "run", fault, earlier=1))

    assert len(struck) > 30
    assert [one for one in some(struck) if not one.sound_at_once] == []


def test_a_set_without_its_journal_would_be_found(tmp_path, monkeypatch):
    """The search tells a writer that swaps without a journal from a sound one."""
    monkeypatch.setattr("moldgen.export.swap._journal", lambda path: None)

    struck = struck_at_every_step(tmp_path / "run", Fault.KILL, earlier=1)

    assert not all(one.sound for one in struck)
