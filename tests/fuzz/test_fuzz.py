"""Damaged and senseless files of every kind: each is read, or refused with one sentence."""

import subprocess
import sys

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from support.memory import peak_MB

from fuzz.attack import MOST_LETTERS, Answer, Attack, files
from fuzz.corpus import KINDS, sound_files
from fuzz.damage import damaged
from fuzz.reading import READERS

EXAMPLES = 12
"""Files of each kind; `python -m tests.fuzz` reads as many as wished."""


@pytest.fixture(scope="module")
def attack(tmp_path_factory):
    """Give a confined process that reads files."""
    made = Attack(tmp_path_factory.mktemp("own"))
    yield made
    made.close()


@pytest.mark.parametrize("kind", KINDS)
def test_sound_files_are_read(kind, attack):
    """What damage is done to is sound, so that the damage is what is answered."""
    answers = [attack.answer(kind, data) for data in sound_files(kind)]

    assert {answer.outcome for answer in answers} == {"made"}


@pytest.mark.parametrize("kind", KINDS)
def test_every_file_is_read_or_refused_with_one_sentence(kind, attack):
    """No other exception, not over 20 s of processor, not over 1.5 GB."""
    answers = []

    @settings(
        max_examples=EXAMPLES, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(files(kind))
    def put(data):
        answers.append(attack.answer(kind, data))

    put()
    assert len(answers) >= EXAMPLES
    assert [answer for answer in answers if not answer.is_good] == []
    assert {"made", "refused"} >= {answer.outcome for answer in answers} >= {"refused"}


def test_every_reader_is_attacked():
    """There are files for each, and a reading for each kind of file."""
    assert set(KINDS) == set(READERS)


def test_what_is_no_answer_is_seen():
    """A fault, two lines, and a sentence of a thousand letters are none; one sentence is."""
    assert Answer(outcome="made").is_good
    assert Answer(outcome="refused", sentence="It is empty.").is_good
    assert not Answer(outcome="refused", sentence="It is\nempty.").is_good
    assert not Answer(outcome="refused", sentence="x" * (MOST_LETTERS + 1)).is_good
    assert not any(Answer(outcome=one).is_good for one in ("fault", "slow", "fat", "ended"))


def test_damage_is_the_same_for_the_same_seed():
    """So that a file that was answered badly can be made again."""
    one, other = sound_files("svg")[:2]
    some = [damaged("svg", one, seed, other=other) for seed in range(20)]

    assert some == [damaged("svg", one, seed, other=other) for seed in range(20)]
    assert len(set(some)) > 15
    assert one not in some


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells the peak of a process")
def test_the_peak_of_a_process_is_its_own():
    """Neither that of the process that started it, nor less than what it took and gave back."""
    own = bytearray(b"x") * 300_000_000
    taking = "taken = b'x' * 100_000_000; del taken; print(); input()"
    with subprocess.Popen(
        [sys.executable, "-c", taking], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        process.stdout.readline()
        peak = peak_MB(process.pid)
        process.communicate(b"\n")

    assert 100 < peak < 250
    assert len(own) == 300_000_000
