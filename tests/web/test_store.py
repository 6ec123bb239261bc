"""What the page keeps: nothing that was acknowledged is lost, and nothing is there twice."""

import sqlite3
import subprocess
import sys
import threading

import pytest
from conftest import ROOT
from support.some import some

from moldgen.errors import FileError, SpecError
from moldgen.web.store import classes, designs, hand_ins
from moldgen.web.store.database import Database
from moldgen.web.store.hand_ins import NEXT, HandInState
from moldgen.web.wish import Beginning, Wish

WORD = Wish(beginning=Beginning.WORD, values={"words": ["AHOY"]})


@pytest.fixture
def database(tmp_path):
    """An empty file."""
    made = Database(tmp_path / "page.sqlite")
    yield made
    made.close()


@pytest.fixture
def class_id(database):
    """A class in it."""
    return classes.begin_class(database, "Boat shed").result()


def begin(database, class_id, person_id=None, wish=WORD, upload=None):
    """A design's id."""
    return designs.begin_design(
        database, class_id=class_id, person_id=person_id, wish=wish, upload=upload
    ).result()


def change(database, design_id, words):
    """Change the words of a design that is seen as it is."""
    seen = designs.find_design(database, design_id).number
    return designs.change_design(database, design_id, {"words": words}, seen=seen).result()


def words_now(database, design_id):
    """What a design says now."""
    return designs.find_design(database, design_id).wish.values["words"]


def test_every_change_can_be_undone_and_done_again(database, class_id):
    """Back to the first and forward to the last, and not beyond."""
    design_id = begin(database, class_id)
    for words in some(["ONE", "TWO", "THREE"]):
        change(database, design_id, words)

    back = [(designs.step_design(database, design_id, -1).result(),
             words_now(database, design_id)) for _ in range(4)]  # fmt: skip
    forth = [(designs.step_design(database, design_id, 1).result(),
              words_now(database, design_id)) for _ in range(4)]  # fmt: skip

    assert back == [(2, "TWO"), (1, "ONE"), (0, ["AHOY"]), (0, ["AHOY"])]
    assert forth == [(1, "ONE"), (2, "TWO"), (3, "THREE"), (3, "THREE")]


def test_a_change_after_undo_takes_the_place_of_what_was_undone(database, class_id):
    """There is one past and one future."""
    design_id = begin(database, class_id)
    change(database, design_id, "ONE")
    change(database, design_id, "TWO")
    designs.step_design(database, design_id, -1).result()

    assert change(database, design_id, "OTHER") == 2
    assert designs.step_design(database, design_id, 1).result() == 2
    assert words_now(database, design_id) == "OTHER"


def test_the_same_change_is_no_change(database, class_id):
    """Sent twice, it is one step to undo."""
    design_id = begin(database, class_id)

    assert change(database, design_id, "ONE") == 1
    assert designs.change_design(database, design_id, {"words": "ONE"}, seen=0).result() == 1


def test_a_change_of_what_is_no_longer_seen_is_refused(database, class_id):
    """Two open pages do not overwrite each other in silence."""
    design_id = begin(database, class_id)
    change(database, design_id, "ONE")

    late = designs.change_design(database, design_id, {"words": "LATE"}, seen=0)

    with pytest.raises(SpecError, match="version 1"):
        late.result()
    assert words_now(database, design_id) == "ONE"


def test_what_was_handed_in_never_changes(database, class_id):
    """The design goes on; what was handed in stays, and is there once however often it is sent."""
    design_id = begin(database, class_id, upload=b"<svg/>")
    for _ in range(2):
        design = designs.find_design(database, design_id)
        hand_ins.hand_in(database, design, once="once-and-for-all").result()
        change(database, design_id, "LATER")

    (given,) = hand_ins.hand_ins_of_class(database, class_id)
    assert given.wish == WORD
    assert given.state is HandInState.WAITING
    assert designs.read_upload(database, given.upload_id) == b"<svg/>"


@pytest.mark.parametrize("state", HandInState)
def test_states_follow_each_other(database, class_id, state):
    """From each state only what comes after it can be said; what was said last is told."""
    way = {
        HandInState.WAITING: (),
        HandInState.SENT_BACK: (HandInState.SENT_BACK,),
        HandInState.APPROVED: (HandInState.APPROVED,),
        HandInState.PRINTED: (HandInState.APPROVED, HandInState.PRINTED),
        HandInState.FORMED: (HandInState.APPROVED, HandInState.PRINTED, HandInState.FORMED),
    }[state]
    design = designs.find_design(database, begin(database, class_id))
    hand_ins.hand_in(database, design, once="a-hand-in").result()
    for step in way:
        hand_ins.say(database, "a-hand-in", step, f"to {step}").result()
    given = hand_ins.find_hand_in(database, "a-hand-in")
    assert given.state is state
    assert given.words == (f"to {state}" if way else "")

    for other in some(set(HandInState) - set(NEXT[state])):
        with pytest.raises(SpecError):
            hand_ins.say(database, "a-hand-in", other).result()


def test_a_name_is_taken_with_its_number(database, class_id):
    """Whoever comes first has it; another needs the number, the same person comes back with it."""
    person_id = classes.take_name(database, class_id, " Ida  Holm ", "").result()
    name, number = classes.person_of(database, person_id)
    assert (name, len(number)) == ("Ida Holm", 4)

    with pytest.raises(SpecError) as refused:
        classes.take_name(database, class_id, "Ida Holm", "0000").result()
    assert refused.value.field == "number"
    assert classes.take_name(database, class_id, "Ida Holm", number).result() == person_id


def test_a_roster_holds_each_name_once(database, class_id):
    """Empty lines and doubles are passed over; a name of the roster is free to be taken."""
    assert classes.add_people(database, class_id, ["Ida", "", " Ida ", "Ole"]).result() == 2
    assert classes.add_people(database, class_id, ["Ole", "Åse"]).result() == 1

    person_id = classes.take_name(database, class_id, "Åse", "").result()

    assert [name for _, name in classes.people_of(database, class_id)] == ["Ida", "Ole", "Åse"]
    assert classes.person_of(database, person_id)[0] == "Åse"


@pytest.mark.parametrize("name", ["", "   ", "\n", "x" * 61])
def test_what_is_no_name_is_refused(database, class_id, name):
    """Nothing, or more than fits on a card."""
    with pytest.raises(SpecError):
        classes.take_name(database, class_id, name, "")


def test_a_code_is_read_as_people_type_it(database, class_id):
    """In small letters, with a blank or a hyphen; another code is none."""
    code = classes.find_class(database, class_id).code

    for typed in some([code.lower(), f" {code[:4]} {code[4:]}", f"{code[:4]}-{code[4:]}"]):
        assert classes.class_of_code(database, typed).id == class_id
    assert classes.class_of_code(database, "NOSUCH") is None


def test_a_class_is_deleted_with_all_that_belongs_to_it(database, class_id):
    """No row of it is left in any table."""
    person_id = classes.take_name(database, class_id, "Ida", "").result()
    design_id = begin(database, class_id, person_id, upload=b"data")
    design = designs.find_design(database, design_id)
    hand_ins.hand_in(database, design, once="a-hand-in").result()

    classes.delete_class(database, class_id).result()

    tables = ("class", "person", "upload", "design", "version", "handed_in", "said")
    left = {table: database.read(f"SELECT count(*) AS n FROM {table}")[0]["n"] for table in tables}
    assert left == dict.fromkeys(tables, 0)


def test_a_change_is_whole_or_not_at_all(database, class_id):
    """What fails in the midst leaves nothing behind, and the next change is made."""

    def broken(writer):
        writer.execute("INSERT INTO person (class_id, name) VALUES (?, 'Ida')", (class_id,))
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        database.write(broken).result()

    assert classes.people_of(database, class_id) == []
    assert classes.add_people(database, class_id, ["Ole"]).result() == 1


def test_many_write_at_once(database, class_id):
    """Thirty at one instant: all are there."""
    names = [f"Person {number}" for number in range(30)]
    threads = [
        threading.Thread(target=lambda name=name: classes.take_name(
            database, class_id, name, "").result())
        for name in names
    ]  # fmt: skip
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(classes.people_of(database, class_id)) == len(names)


def test_a_file_of_another_version_is_refused(tmp_path):
    """One sentence with the file, nothing changed."""
    path = tmp_path / "page.sqlite"
    with sqlite3.connect(path) as other:
        other.execute("PRAGMA user_version = 99")

    with pytest.raises(FileError, match=r"page\.sqlite was written by another version"):
        Database(path)


@pytest.mark.parametrize("content", [b"this is no database at all" * 100])
def test_what_is_no_database_is_refused(tmp_path, content):
    """One sentence with the file."""
    path = tmp_path / "page.sqlite"
    path.write_bytes(content)

    with pytest.raises(FileError, match=r"page\.sqlite cannot be used"):
        Database(path)


KILLED = """
import sys; sys.path.insert(0, sys.argv[1])
from pathlib import Path
from threading import Thread
from moldgen.web.store import classes, designs, hand_ins
from moldgen.web.store.database import Database
from moldgen.web.wish import Beginning, Wish
database = Database(Path(sys.argv[2]))
class_id = classes.begin_class(database, "Boat shed").result()
wish = Wish(beginning=Beginning.WORD, values={"words": ["AHOY"]})
def write(writer):
    for number in range(10_000):
        begun = designs.begin_design(database, class_id=class_id, person_id=None, wish=wish)
        design_id = begun.result()
        once = f"writer {writer} number {number}"
        hand_ins.hand_in(database, designs.find_design(database, design_id), once=once).result()
        sys.stdout.write(once + "\\n")
        sys.stdout.flush()
for writer in range(8):
    Thread(target=write, args=(writer,)).start()
"""


def test_what_was_acknowledged_survives_a_kill(tmp_path):
    """Killed among eight writers, every hand-in that was acknowledged is there, the file whole."""
    path = tmp_path / "page.sqlite"
    with subprocess.Popen(
        [sys.executable, "-c", KILLED, str(ROOT), str(path)], stdout=subprocess.PIPE, text=True
    ) as killed:
        told = [killed.stdout.readline().strip() for _ in range(40)]
        killed.kill()
        told += [line.strip() for line in killed.stdout if line.endswith("\n")]

    database = Database(path)
    try:
        known = {row["id"] for row in database.read("SELECT id FROM handed_in")}
        assert len(told) >= 40
        assert set(told) <= known
        assert database.read("PRAGMA integrity_check")[0][0] == "ok"
    finally:
        database.close()
