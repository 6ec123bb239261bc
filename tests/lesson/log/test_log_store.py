"""The notes of the log: counted, kept, and refused where they contradict each other."""

import signal
import sqlite3
import subprocess
import sys
import time
from dataclasses import replace
from typing import Any

import pytest
from conftest import ROOT
from support.some import some

from moldgen.errors import FileError, SpecError
from moldgen.lesson.log.listing import note_tables
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.shot_note import CaliperReading, Outcome, ShotNote
from moldgen.lesson.log.store import (
    NoteChoice,
    find_note,
    find_notes,
    forget_people,
    insert_note,
    known_name,
    next_cycle,
)
from moldgen.sqlite_file import one_change, sqlite_connection
from moldgen.user_file import database_file
from moldgen.web.store.classes import begin_class, classes_of
from moldgen.web.store.database import Database

OAR = ShotNote(
    noted="2026-03-04T10:20",
    job="Oar plate",
    machine="classroom-450x300",
    plastic="HIPS",
    thickness_mm=1.5,
)


@pytest.fixture
def log(tmp_path):
    """An empty log."""
    with ShotLog(tmp_path) as made:
        yield made


def keep(log, *, counted=False, **changes):
    """Keep a note, and return its number and cycle."""
    note = replace(OAR, **changes)
    kept = log.change(lambda writer: insert_note(writer, note, counted=counted))
    return kept.number, kept.note.cycle


def notes(log, **choice):
    """Return the notes of a log."""
    return [one.note for one in log.read(lambda reader: find_notes(reader, NoteChoice(**choice)))]


def test_a_note_comes_back_as_it_was(log):
    """Every field is kept."""
    note = replace(
        OAR,
        cycle=7,
        heated_s=52.0,
        formed_s=8.5,
        cooled_s=30.0,
        told_heat_s=56.02,
        told_cool_s=25.2,
        computed_cool_s=21.0,
        seen=(Outcome.WEB, Outcome.SOFT_MOLD),
        readings=(CaliperReading(place="rim", thickness_mm=0.62, computed_mm=0.55),),
        printed_h=4.0,
        told_print_h=3.72,
        computed_print_h=3.1,
        filament="PETG",
        printer="medium",
        mold_ended=True,
        who="Ida",
        remark="=1+1",
        photo="a" * 24 + ".jpg",
        mold="the red one",
    )
    assert all(
        getattr(note, name) != getattr(OAR, name)
        for name in set(ShotNote.__slots__) - {"noted", "job", "machine", "plastic", "thickness_mm"}
    )

    log.change(lambda writer: insert_note(writer, note))

    assert notes(log) == [note]


def test_cycles_are_counted_for_each_mold(log):
    """A shot comes after the last of its mold; another mold of the job has its own count."""
    assert [keep(log)[1], keep(log)[1], keep(log, mold="red")[1], keep(log)[1]] == [1, 2, 1, 3]
    assert log.read(lambda reader: next_cycle(reader, "Oar plate")) == 4
    assert log.read(lambda reader: next_cycle(reader, "Oar plate", "blue")) == 1


def test_a_mold_that_ended_is_followed_by_a_new_one(log):
    """Cycles begin at 1 again, and the new mold may grow older than the old one."""
    keep(log)
    keep(log, mold_ended=True)

    assert keep(log, noted="2026-03-05") == (3, 1)
    assert keep(log, noted="2026-03-06", cycle=9, counted=True) == (4, 9)
    assert keep(log, noted="2026-03-07") == (5, 10)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"cycle": 3}, "note must be one that is not there yet (got that of number 1)"),
        ({"cycle": 3, "noted": "2026-03-05"}, "cycle must be another one (got 3, which number 1"),
        ({"cycle": 2, "noted": "2026-03-05"}, "more than 3, which number 1 tells of before"),
        ({"cycle": 4, "noted": "2026-03-03"}, "less than 3, which number 1 tells of later"),
        ({"cycle": 2, "noted": "2026-03-03", "mold_ended": True}, "there at cycle 3, which number"),
        ({"cycle": 7, "noted": "2026-03-10"}, "a new mold, which begins at 1: number 2 tells"),
        ({"cycle": 8, "noted": "2026-03-08"}, "less than 6, which number 2 tells of later"),
        ({"cycle": 8, "noted": "2026-03-09T08:00"}, "less than 6, at which the mold ended"),
    ],
)
def test_what_contradicts_a_note_is_refused_with_its_number(log, changes, sentence):
    """A mold has each shot once, in order, and none after its end."""
    keep(log, cycle=3, counted=True)
    keep(log, cycle=6, counted=True, noted="2026-03-09", mold_ended=True)

    with pytest.raises(SpecError) as refused:
        keep(log, counted=True, **changes)

    assert sentence in str(refused.value)
    assert len(notes(log)) == 2


def test_shots_of_one_day_need_no_order(log):
    """Where only the day is known, a later note may tell of an earlier shot."""
    keep(log, cycle=2, counted=True)

    assert keep(log, cycle=1, counted=True, noted="2026-03-04")[1] == 1


def test_a_shot_between_others_needs_its_cycle(log):
    """It cannot be the one after the last."""
    keep(log)
    with pytest.raises(SpecError, match="cycle must be typed: number 1 tells of a later shot"):
        keep(log, noted="2026-03-03")
    with pytest.raises(SpecError, match="not before number 1, which tells of the first shot"):
        keep(log, noted="2026-03-03", cycle=2, counted=True)


def test_notes_are_chosen_by_job_machine_and_plastic(log):
    """In capitals or not; what there is none of is one sentence with the nearest names."""
    keep(log)
    keep(log, job="Tide sign", plastic="ABS", machine="bench-250x250")

    assert [one.job for one in notes(log, plastic="ABS")] == ["Tide sign"]
    assert [one.job for one in notes(log, machine="classroom-450x300")] == ["Oar plate"]
    assert log.read(lambda reader: known_name(reader, "job", " tide SIGN")) == "Tide sign"
    with pytest.raises(SpecError, match=r"one that the log has a note of.*Tide sign"):
        log.read(lambda reader: known_name(reader, "job", "Tide sing"))


def test_a_removed_note_is_gone(log):
    """Its number is never given again; a number that there is not is one sentence."""
    first, _ = keep(log)
    log.remove(first)

    assert notes(log) == []
    assert keep(log)[0] > first
    with pytest.raises(SpecError, match="number must be that of a note"):
        log.remove(first)


def test_a_database_from_before_the_log_works(tmp_path):
    """The page's file gets the tables that it lacks, and keeps what it has."""
    database = Database(database_file(tmp_path))
    begin_class(database, "Boat shed").result()
    database.close()
    old = sqlite3.connect(database_file(tmp_path))
    old.executescript("DROP TABLE shot_note; DROP TABLE shot_note_removed")
    old.close()

    with ShotLog(tmp_path) as log:
        keep(log)
    again = Database(database_file(tmp_path))
    kept = again.read_with(find_notes), [one.name for one in classes_of(again)]
    again.close()

    assert [one.note for one in kept[0]] == [OAR]
    assert kept[1] == ["Boat shed"]


def test_the_log_may_come_before_the_page(tmp_path):
    """A page that starts in the log's folder finds its notes, and makes what it needs."""
    with ShotLog(tmp_path) as log:
        keep(log)
        database = Database(database_file(tmp_path))
        begin_class(database, "Boat shed").result()
        keep(log)
        cycles = [one.note.cycle for one in database.read_with(find_notes)]
        database.close()

    assert cycles == [1, 2]


def test_a_file_that_is_no_database_is_one_sentence(tmp_path):
    """Nothing is written over it."""
    path = database_file(tmp_path)
    path.write_bytes(b"no database at all, but a text that somebody put here\n" * 40)
    before = path.read_bytes()

    with pytest.raises(FileError, match=r"The log in .* cannot be used"):
        ShotLog(tmp_path)
    assert path.read_bytes() == before


def test_a_class_that_is_deleted_leaves_figures_alone(log):
    """Names, words and pictures go; times and the count of each mold stay."""
    photo = "b" * 24 + ".jpg"
    words: dict[str, Any] = {"who": "Ida", "remark": "hers", "photo": photo, "heated_s": 52.0}
    for job in some(["IDA", "OLE", "IDA"]):
        log.change(lambda writer, job=job: insert_note(
            writer, replace(OAR, job=job, **words), counted=False, class_id=3))  # fmt: skip
    keep(log, photo=photo)

    unused = log.change(lambda writer: forget_people(writer, 3))

    left = [one for one in notes(log) if one.job != "Oar plate"]
    assert unused == []  # another note names it
    assert [one.heated_s for one in left] == [52.0] * 3
    assert sorted(one.cycle for one in left) == [1, 1, 2]
    assert not any("IDA" in str(one) or "Ida" in str(one) or "hers" in str(one) for one in left)


# --- several at once, and ended in the middle --------------------------------------------------

WRITER = f"""
import sys
from pathlib import Path
sys.path.insert(0, {str(ROOT)!r})
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.lesson.log.store import insert_note
with ShotLog(Path(sys.argv[1])) as log:
    print("ready", flush=True)
    for number in range(int(sys.argv[2])):
        note = ShotNote(noted="2026-03-04", job="Oar plate", machine="m", plastic="HIPS",
                        thickness_mm=1.5, who=sys.argv[3])
        kept = log.change(lambda writer: insert_note(writer, note, counted=False))
        print(kept.note.cycle, flush=True)
"""


def writer(folder, count, who):
    """Start a process that keeps notes, and tells the cycle of each that is kept."""
    words = [sys.executable, "-c", WRITER, str(folder), str(count), who]
    return subprocess.Popen(words, stdout=subprocess.PIPE, text=True)


def test_two_writers_at_once_lose_nothing(tmp_path):
    """Each note of both is there, and no cycle is counted twice."""
    both = [writer(tmp_path, 25, who) for who in some(["Ida", "Ole"])]
    told = [one.communicate(timeout=60)[0].split()[1:] for one in both]

    assert sorted(int(cycle) for one in told for cycle in one) == list(range(1, 51))
    with ShotLog(tmp_path) as log:
        kept = notes(log)
    assert sorted(one.cycle for one in kept) == list(range(1, 51))
    assert sorted(one.who for one in kept) == ["Ida"] * 25 + ["Ole"] * 25


def test_what_was_acknowledged_survives_a_kill_of_a_log(tmp_path):
    """A process ended outright loses no note that it told of, and the file is sound."""
    process = writer(tmp_path, 100_000, "Ida")
    told = [process.stdout.readline() for _ in range(12)][1:]
    process.send_signal(signal.SIGKILL)
    process.communicate(timeout=30)

    connection = sqlite_connection(database_file(tmp_path))
    kept = [one.note.cycle for one in find_notes(connection)]
    (sound,) = connection.execute("PRAGMA integrity_check").fetchone()

    assert [int(cycle) for cycle in told] == kept[:11]
    assert sound == "ok"


def test_ten_thousand_notes_are_shown_in_a_second(log):
    """Read and laid out as rows; the last ones are found without reading the others."""
    with_numbers = [replace(OAR, job=f"Job {i % 200}", cycle=i // 200 + 1, heated_s=50.0,
                            told_heat_s=56.0) for i in range(10_000)]  # fmt: skip

    def fill(writer):
        for one in with_numbers:
            writer.execute(
                "INSERT INTO shot_note (job, mold, cycle, noted, machine, plastic, ended, note)"
                " VALUES (?, '', ?, ?, 'm', 'HIPS', 0, ?)",
                (one.job, one.cycle, one.noted, text_of(one)),
            )

    log.change(fill)
    start = time.process_time()
    rows = [row for _, rows in note_tables(log.read(find_notes)) for row in rows]
    took_s = time.process_time() - start

    assert len(rows) == 10_000
    assert took_s < 1.0


def text_of(note):
    """Return a note as the store writes it."""
    import json

    from moldgen.lesson.log.note_text import note_words

    return json.dumps(note_words(note))


def test_a_change_that_fails_changes_nothing(log):
    """All of it, or nothing."""

    def change(writer):
        insert_note(writer, OAR)
        raise SpecError("remark", "shorter", "long")

    with pytest.raises(SpecError, match="remark"):
        log.change(change)
    assert notes(log) == []
    with pytest.raises(SpecError, match="number"):
        log.read(lambda reader: find_note(reader, 1))
    connection = sqlite_connection(database_file(log.folder))
    with one_change(connection):
        insert_note(connection, OAR)
    assert notes(log) == [OAR]
