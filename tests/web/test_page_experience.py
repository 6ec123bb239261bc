"""What the notes of the page's log say goes along with each order that tells times."""

import asyncio
from functools import partial
from typing import Any

import pytest
from support.page import browser_of, code_of, room, student, teacher
from support.some import some

from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.lesson.log.store import forget_people, insert_note
from moldgen.web import work
from moldgen.web.page_stock import EXPERIENCE
from moldgen.web.store import classes

__all__ = ["room", "student", "teacher"]  # what tests here stand on


TABLE = "classroom-450x300"
VALUES = {"words": ["I"], "letter_height": "20", "gauge": "1.5", "forming": "off"}
WORD = {"wish": {"beginning": "word", "values": VALUES}}


def note(cycle=1, **values):
    """A note of the usual sheet that took 70 s."""
    usual: dict[str, Any] = {
        "job": "PIER", "machine": TABLE, "plastic": "HIPS", "thickness_mm": 1.5, "heated_s": 70.0,
    }  # fmt: skip
    return ShotNote(noted=f"2026-03-{cycle:02d}", cycle=cycle, **(usual | values))


def keep(room, *notes, class_id=None):
    """Have the page keep notes."""
    for one in notes:
        room.database.write(partial(insert_note, note=one, class_id=class_id)).result()


def learned(room):
    """What the notes say of molds."""
    return asyncio.run(room.experience.words())


def heating_notes(words):
    """How many notes are behind the heating times of each table."""
    return [one["heating"]["n_notes"] for one in words.get("tables", ())]


def n_notes(room):
    """How many notes are behind the heating times of the table; 0 without."""
    tables = learned(room).get("tables", ())
    return sum(one["heating"]["n_notes"] for one in tables if one["machine"] == TABLE)


def heard(message):
    """Hear nothing of how far it is."""


# --- read once ------------------------------------------------------------------------------


def test_notes_are_learned_from_once_for_each_change(room):
    """However often somebody asks; and a note that comes or goes is heard at the next question."""
    for _ in range(3):
        assert n_notes(room) == 0
    keep(room, note(1), note(2))
    for _ in range(3):
        assert n_notes(room) == 2
    with ShotLog(room.database.folder) as log:  # as the command does, in another process
        log.change(lambda writer: insert_note(writer, note(3)))
        assert n_notes(room) == 3
        log.remove(1)
        assert n_notes(room) == 2

    asked = [words["notes"] for work, words, _ in room.queue.asked if work == "learned"]
    assert [len(notes) for notes in asked] == [0, 2, 3, 2]


def test_what_persons_wrote_is_forgotten_here_too(room):
    """A class that is deleted takes names out of notes, and of what is learned from."""
    (one,) = classes.classes_of(room.database)
    keep(room, note(1), class_id=one.id)
    learned(room)

    room.database.write(lambda writer: forget_people(writer, one.id)).result()
    learned(room)

    asked = [words["notes"] for work, words, _ in room.queue.asked if work == "learned"]
    assert ["PIER" in str(notes) for notes in asked] == [True, False]


def test_another_stock_is_learned_with(room):
    """Times are held against what is computed for the tables as they are now."""
    keep(room, note(1, machine="Shed"))
    assert learned(room) == {}

    text = f'[machine.Shed]\nbased_on = "{TABLE}"\n'
    room.stock.keep(text, seen=room.stock.text)

    assert [one["machine"] for one in learned(room)["tables"]] == ["Shed"]


# --- who is told ------------------------------------------------------------------------------


@pytest.fixture
def begun(room, student):
    """Begins a design, and tells the words of every order for it."""

    def ask(form):
        ida = student("Ida")
        path = ida.post("/designs", data=form).url.path
        room.queue.asked.clear()
        for look in some(["picture", "findings", "picture.png"]):
            ida.get(f"{path}/{look}")
        ida.get(path.replace("/designs/", "/log/"))
        return {work: words for work, words, _ in room.queue.asked if work != "learned"}

    return ask


def test_what_tells_times_is_told_of_the_notes(room, begun):
    """Findings and the form at the table; no picture is drawn anew for a note."""
    keep(room, note(1), note(2))

    words = begun({"beginning": "word"})

    told = learned(room)
    assert heating_notes(told) == [2]
    assert {name: one.get(EXPERIENCE) for name, one in words.items()} == {
        "picture": None, "thumbnail": None, "findings": told, "shot_facts": told,
    }  # fmt: skip


def test_without_notes_and_for_strips_nothing_is_told(room, begun):
    """A strip is heated on a line, of which the log knows nothing."""
    plain = begun({"beginning": "word"})
    keep(room, note(1))
    strip = browser_of(room)
    strip.post("/join", data={"code": code_of(room), "name": "Per"})
    path = strip.post("/designs", data={"beginning": "strip", "make": "phone-stand"}).url.path
    strip.get(f"{path}/findings")

    assert EXPERIENCE not in plain["findings"]
    assert room.queue.asked[-1][0] == "findings"
    assert EXPERIENCE not in room.queue.asked[-1][1]


def test_a_class_may_go_without_the_log(room, teacher, begun):
    """As with --no-log: its times are told as computed."""
    keep(room, note(1))
    page = teacher.post("/class/usual", data={"offered": "word", "no_log": "yes"})
    switch = page.text.partition('name="no_log"')[2].partition(">")[0]
    assert "checked" in switch

    words = begun({"beginning": "word"})

    assert EXPERIENCE not in words["findings"]
    assert EXPERIENCE not in words["shot_facts"]
    page = teacher.post("/class/usual", data={"offered": "word"})
    assert "checked" not in page.text.partition('name="no_log"')[2].partition(">")[0]


# --- what a worker makes of it ----------------------------------------------------------------


def test_a_worker_keeps_no_old_times(room):
    """What it computed before a note, with it, and after the note was removed, in one process."""
    keep(room, note(1), note(2))
    noted = {**WORD, EXPERIENCE: learned(room)}

    asked = [work.shot_facts(words, [], heard).words for words in (WORD, noted, WORD)]
    rows = [dict(work.findings(words, [], heard).words["table"]) for words in (WORD, noted, WORD)]

    before, after, again = (one["told_heat_s"] for one in asked)
    assert (before, after) == (again, pytest.approx(1.22 * before, rel=0.03))
    assert rows[0] == rows[2] == {"Heat for": "about 55 s (40 to 80)"}
    assert rows[1]["By the log"].endswith("times the computed 56 s, by 2 notes of this table")


def test_solids_and_verdicts_do_not_go_by_notes(room):
    """So the page need not tell of them whoever draws pictures and sums up findings."""
    keep(room, note(1), note(2))
    noted = {**WORD, EXPERIENCE: learned(room)}

    assert work.picture(noted, [], heard) == work.picture(WORD, [], heard)
    assert work.verdict(noted, [], heard) == work.verdict(WORD, [], heard)


# --- the wall chart ---------------------------------------------------------------------------


def test_the_wall_chart_is_that_of_the_class(room, teacher, student):
    """Its table and paper, by the notes unless the class goes without them; for the teacher."""
    keep(room, note(1), note(2))
    for form in some([{"machine": "bench-250x250", "paper": "letter"}, {"no_log": "yes"}]):
        teacher.post("/class/usual", data={"offered": "word", **form})
        assert teacher.get("/log/heating-chart.pdf").content == b"%PDF"

    asked = [words for work, words, _ in room.queue.asked if work == "chart"]
    assert [one["chart"] for one in asked] == [{"machine": "bench-250x250", "paper": "letter"}, {}]
    assert [heating_notes(one[EXPERIENCE]) for one in asked] == [[2], []]
    assert student("Ida").get("/log/heating-chart.pdf").status_code == 403


def test_a_worker_draws_the_chart_by_the_notes(room):
    """One page, another one with notes, the same without them."""
    keep(room, note(1), note(2))
    plain = {"chart": {"sheets": ("HIPS 1.5",)}, "stock": {}, "language": "en", EXPERIENCE: {}}
    noted = {**plain, EXPERIENCE: learned(room)}

    (before,), (after,), (again,) = (
        work.chart(words, [], heard).blocks for words in (plain, noted, plain)
    )

    assert before.startswith(b"%PDF")
    assert before == again != after
