"""The log on the page: a form at the table for the class, the notes for the teacher."""

import json
import re
from dataclasses import replace
from typing import Any

import pytest
from support.page import PROBLEMS, browser, code, room, student, teacher
from support.some import some

from moldgen.errors import MoldgenError
from moldgen.lesson.log.exchange import log_bytes, notes_of_bytes
from moldgen.lesson.log.shot_log import ShotLog
from moldgen.lesson.log.shot_note import CaliperReading, Outcome, ShotNote
from moldgen.lesson.log.store import find_notes
from moldgen.user_file import photo_folder
from moldgen.web import work
from moldgen.web.store import classes

__all__ = ["browser", "code", "room", "student", "teacher"]  # what tests here stand on


NOTE = {"cycle": "1", "seen": "good", "machine": "", "plastic": "", "gauge": ""}


@pytest.fixture
def path(student):
    """Where shots on a mold of Ida's are noted, which was handed in."""
    ida = student("Ida")
    design = ida.post("/designs", data={"beginning": "word"}).url.path
    answer = ida.post(f"{design}/hand-in", json={"once": "a-hand-in-of-ida"})
    assert answer.json()["handed_in"]
    return "/log/a-hand-in-of-ida"


def notes(room):
    """All notes."""
    return [one.note for one in room.database.read_with(find_notes)]


def test_a_class_notes_what_happened(student, path, room):
    """Whoever has joined may; names, sheet and computed times come from the mold."""
    ole = student("Ole")
    form = ole.get(path).text
    assert "On the card: <strong>56 s</strong>" in form
    assert 'name="cycle" inputmode="numeric" autocomplete="off" required value="1"' in form

    answer = ole.post(path, data={
        **NOTE, "heated_s": "52.4", "cooled_s": "30", "formed_s": "8", "seen": ["web", "thin"],
        "place": "thinnest", "thickness": "0,62", "remark": "rear corner", "mold_ended": "yes",
        "who": "Ida",
    })  # fmt: skip

    assert (answer.url.path, answer.url.query) == (path, b"kept=1")
    assert "Kept: cycle 1." in answer.text
    (note,) = notes(room)
    assert (note.job, note.mold, note.cycle, note.who) == ("AHOY", "Ida", 1, "Ole")
    assert (note.machine, note.plastic, note.thickness_mm) == ("classroom-450x300", "HIPS", 1.5)
    assert (note.heated_s, note.cooled_s, note.formed_s) == (52.4, 30.0, 8.0)
    assert (note.told_heat_s, note.told_cool_s, note.told_print_h) == (56.0, 25.0, 3.7)
    assert (note.seen, note.filament) == ((Outcome.WEB, Outcome.THIN), "PETG")
    reading = CaliperReading(place="thinnest", thickness_mm=0.62, computed_mm=0.55)
    assert note.readings == (reading,)
    assert (note.mold_ended, note.remark, note.photo) == (True, "rear corner", "")


def test_the_form_tells_the_next_cycle_and_the_last_shots(student, path):
    """Each mold has its own count."""
    ole = student("Ole")
    ole.post(path, data={**NOTE, "heated_s": "50"})

    form = ole.get(path).text

    assert 'required value="2"' in form
    assert "1: 50 s (56 s) · good" in form


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"cycle": "1"}, "note must be one that is not there yet"),
        ({"cycle": ""}, "cycle must be a whole number"),
        ({"cycle": "x"}, "cycle must be"),
        ({"heated_s": "-1"}, "heated must be more than 0 s"),
        ({"seen": ["good", "web"]}, "seen must be good alone"),
        ({"seen": ["<script>"]}, "seen must be good, web"),
        ({"place": "rim"}, "thickness must be given for a place"),
        ({"thickness": "0.6"}, "place must be given for a thickness"),
        ({"place": "rim", "thickness": "-1"}, "thickness must be more than 0 mm"),
        ({"machine": "laundry"}, "machine"),
        ({"remark": "x" * 2001}, "remark must be at most 2000 characters"),
    ],
)
def test_a_wrong_value_is_told_and_nothing_is_lost(student, path, room, changes, sentence):
    """One sentence above the form, which stands as it was sent."""
    ole = student("Ole")
    ole.post(path, data={**NOTE, "heated_s": "50"})

    answer = ole.post(path, data={**NOTE, "cycle": "2", "cooled_s": "33.5", **changes})

    assert answer.status_code == 422
    assert sentence in answer.text.replace("&lt;", "<").replace("&#39;", "'")
    assert 'value="33.5"' in answer.text
    assert len(notes(room)) == 1


def test_hostile_words_are_words(student, path, teacher, room):
    """Neither the form nor the list runs them, and what reverses a line is left out."""
    evil = "<script>alert(1)</script> {{ 7*7 }} \u202etxt.exe =1+1"
    student("Ole").post(path, data={**NOTE, "remark": evil})

    shown = teacher.get("/log").text

    assert "<script>alert" not in shown
    assert "&lt;script&gt;alert(1)" in shown
    assert "\u202e" not in shown
    assert "49" not in shown.partition("alert(1)")[2][:60]
    assert teacher.get("/log/export.csv").content.count(b",=") == 0


def test_a_picture_is_read_by_a_worker(student, path, teacher, room):
    """What comes back from there is kept under a name of its content, and shown to the teacher."""
    photo = {"photo": ("../../x.svg", b"<svg>evil</svg>", "image/svg+xml")}
    student("Ole").post(path, data=NOTE, files=photo)

    asked = [blocks for work, _, blocks in room.queue.asked if work == "small_photo"]
    (note,) = notes(room)
    kept = photo_folder(room.database.folder) / note.photo
    assert asked == [[b"<svg>evil</svg>"]]
    assert kept.read_bytes() == b"\xff\xd8small"
    seen = teacher.get(f"/log/photos/{note.photo}")
    assert (seen.content, seen.headers["content-type"]) == (b"\xff\xd8small", "image/jpeg")
    for name in some(["page.sqlite", "..%2Fpage.sqlite", "0" * 24 + ".jpg"]):
        assert teacher.get(f"/log/photos/{name}").status_code == 404
    assert teacher.post("/log/remove", data={"number": "1"}).url.path == "/log"
    assert not kept.exists()


@pytest.mark.parametrize("answer", ["refused", "died"])
def test_a_picture_that_is_none_keeps_nothing(student, path, room, answer):
    """The sentence of the worker, and no note."""
    room.queue.answers["small_photo"] = PROBLEMS[answer]
    photo = {"photo": ("x.jpg", b"no picture", "image/jpeg")}

    told = student("Ole").post(path, data=NOTE, files=photo)

    assert (told.status_code, notes(room)) == (422, [])
    assert str(PROBLEMS[answer])[:12] in told.text


def test_a_note_that_is_refused_leaves_no_picture(student, path, room):
    """What was kept for it goes again."""
    ole = student("Ole")
    ole.post(path, data=NOTE)
    ole.post(path, data=NOTE, files={"photo": ("x.jpg", b"x", "image/jpeg")})

    assert len(notes(room)) == 1
    assert not list(photo_folder(room.database.folder).glob("[!.]*"))


def test_the_list_is_the_teachers(student, path, teacher, room):
    """A student sees what can be noted; notes, files, pictures and removing are the teacher's."""
    ole = student("Ole")
    ole.post(path, data={**NOTE, "remark": "between us"})

    assert path in ole.get("/log").text
    assert "between us" not in ole.get("/log").text
    for there in some(["/log/export.csv", "/log/export.json", "/log/photos/x.jpg"]):
        assert ole.get(there).status_code == 403
    assert ole.post("/log/remove", data={"number": "1"}).status_code == 403
    assert "between us" in teacher.get("/log").text
    assert teacher.post("/log/remove", data={"number": "1"}).status_code == 200
    assert notes(room) == []
    assert teacher.post("/log/remove", data={"number": "1"}).status_code == 422
    assert teacher.post("/log/remove", data={"number": "x"}).status_code == 404


def test_the_teacher_takes_the_notes_along(student, path, teacher, room):
    """As CSV, XLSX or JSON: the files of the command."""
    student("Ole").post(path, data=NOTE)

    for ending in some(["csv", "xlsx", "json"]):
        answer = teacher.get(f"/log/export.{ending}")
        assert notes_of_bytes(answer.content, name="log") == notes(room)
        assert f"moldgen-log.{ending}" in answer.headers["content-disposition"]
    assert teacher.get("/log/export.pdf").status_code == 404


def test_many_notes_come_in_pages(teacher, room):
    """The newest first, and a link to those before."""

    def fill(writer):
        for i in range(1, 451):
            words = {
                "noted": "2026-03-04", "job": f"J{i}", "machine": "m", "plastic": "HIPS",
                "thickness_mm": 1.5, "cycle": 1,
            }  # fmt: skip
            writer.execute(
                "INSERT INTO shot_note (job, mold, cycle, noted, machine, plastic, ended, note)"
                " VALUES (?, '', 1, '2026-03-04', 'm', 'HIPS', 0, ?)",
                (f"J{i}", json.dumps(words)),
            )

    room.database.write(fill).result()

    first = teacher.get("/log").text
    second = teacher.get("/log?before=251").text

    assert first.index(">J450<") < first.index(">J251<")
    assert ">J250<" not in first
    assert 'href="/log?before=251"' in first
    assert ">J250<" in second
    assert ">J1<" in teacher.get("/log?before=51").text


def test_a_phone_that_has_not_joined_comes_back_to_the_form(browser, path, code, room):
    """The link of the job card leads through the entrance; no other place can be asked for."""
    phone = browser()
    entrance = phone.get(path)
    assert (entrance.url.path, entrance.url.query.decode()) == ("/", f"next={path}")
    assert f'name="next" value="{path}"' in entrance.text

    answer = phone.post("/join", data={"code": code, "name": "Per", "next": path})

    assert answer.url.path == path
    assert phone.get("/", params={"next": path}).url.path == path
    elsewheres = ["//evil.test/log/a", "https://evil.test", "/log/a/../class", "/teach", "/log/a?b"]
    for number, elsewhere in enumerate(elsewheres):
        form = {"code": code, "name": f"Kim {number}", "next": elsewhere}
        assert browser().post("/join", data=form).url.path == "/begin"
        assert 'name="next"' not in browser().get("/", params={"next": elsewhere}).text


def test_a_mold_of_another_class_is_none(student, path, teacher, room, browser):
    """What was handed in elsewhere, and the design of another, are not there."""
    design = student("Kim").post("/designs", data={"beginning": "word"}).url.path
    assert student("Ole").get(f"/log/{design.rpartition('/')[2]}").status_code == 404
    other = classes.begin_class(room.database, "Other").result()
    code = classes.find_class(room.database, other).code
    stranger = browser()
    stranger.post("/join", data={"code": code, "name": "Eve"})

    assert stranger.get(path).status_code == 404
    assert stranger.post(path, data=NOTE).status_code == 404


def test_a_strip_is_not_formed(student):
    """It has no shots to note."""
    kim = student("Kim")
    design = kim.post("/designs", data={"beginning": "strip", "make": "phone-stand"}).url.path

    assert kim.get(f"/log/{design.rpartition('/')[2]}").status_code == 422
    assert "phone" not in kim.get("/log").text.casefold()


def test_a_mold_that_cannot_be_built_can_be_noted(student, path, room):
    """Somebody may have formed it; only the computed times are missing."""
    room.queue.answers["shot_facts"] = PROBLEMS["refused"]

    student("Ole").post(path, data=NOTE)

    (note,) = notes(room)
    assert (note.plastic, note.thickness_mm, note.told_heat_s) == ("HIPS", 1.5, None)


def test_the_files_of_a_hand_in_link_to_its_log(teacher, path, room):
    """The job card's code opens the form, at the address that phones reach."""
    teacher.get(f"/queue/{path.rpartition('/')[2]}/files.zip")

    (words,) = [words for work, words, _ in room.queue.asked if work == "files"]
    assert words["link"] == f"http://192.0.2.7:8470{path}"


def test_a_deleted_class_leaves_no_name_in_the_log(teacher, student, path, room):
    """The figures stay, for they are the table's."""
    photo = {"photo": ("x.jpg", b"x", "image/jpeg")}
    student("Ole").post(path, data={**NOTE, "heated_s": "52", "remark": "hers"}, files=photo)
    kept = photo_folder(room.database.folder) / notes(room)[0].photo
    assert kept.exists()

    teacher.post("/class/delete", data={"name": "Boat shed"})

    (note,) = notes(room)
    assert note.heated_s == 52.0
    assert not any(word in str(note) for word in ("Ole", "Ida", "AHOY", "hers"))
    assert not kept.exists()


def test_page_and_command_write_the_same_log(student, path, room, tmp_path):
    """What one notes the other counts."""
    student("Ole").post(path, data=NOTE)
    with ShotLog(tmp_path) as log:
        assert [one.note.cycle for one in log.read(find_notes)] == [1]
        log.remove(1)

    assert notes(room) == []


# --- several places, causes, what the notes say -------------------------------------------------


def test_several_places_of_a_part_are_measured(student, path, room):
    """A row for each; one without a number is told, and all rows stand as they were typed."""
    ole = student("Ole")
    rows = {"place": ["thinnest", "", "rim"], "thickness": ["0,62", "", "1.2"]}

    wrong = ole.post(path, data={**NOTE, "place": ["thinnest", "rim"], "thickness": ["0.62", ""]})
    ole.post(path, data={**NOTE, **rows})

    assert wrong.status_code == 422
    assert "thickness must be given for a place" in wrong.text
    assert re.findall(r'name="place"[^>]*value="(\w*)"', wrong.text) == ["thinnest", "rim"]
    (note,) = notes(room)
    assert note.readings == (
        CaliperReading(place="thinnest", thickness_mm=0.62, computed_mm=0.55),
        CaliperReading(place="rim", thickness_mm=1.2),
    )


def test_places_have_a_limit(student, path, room):
    """The form tells the script how many rows it may add; one more is refused."""
    ole = student("Ole")
    most = int(re.findall(r'data-most="(\d+)"', ole.get(path).text)[0])
    rows = {"place": ["rim"] * (most + 1), "thickness": ["1"] * (most + 1)}

    answer = ole.post(path, data={**NOTE, **rows})

    assert (answer.status_code, notes(room)) == (422, [])
    assert f"readings must be at most {most}" in answer.text
    assert len(ole.post(path, data={**NOTE, "place": rows["place"][1:],
                                    "thickness": rows["thickness"][1:]}).history) == 1  # fmt: skip


@pytest.fixture
def troubled(student, path):
    """A shot on Ida's mold that was good, and one with a web."""
    ole = student("Ole")
    ole.post(path, data={**NOTE, "heated_s": "56"})
    ole.post(path, data={**NOTE, "cycle": "2", "seen": "web", "heated_s": "90"})
    return ole


def test_likely_causes_are_a_tap_away(troubled, path, room):
    """Below the form, for parts that had trouble alone; a worker reads them off the mold."""
    form = troubled.get(path).text
    assert re.findall(rf'href="{path}/causes/(\d+)"', form) == ["2"]

    told = troubled.get(f"{path}/causes/2").text

    work, words, _ = room.queue.asked[-1]
    assert (work, words["note"]["seen"], words["note"]["heated_s"]) == ("causes", ["web"], 90.0)
    assert [one["heated_s"] for one in words["notes"]] == [56.0]  # the good one
    assert "Web: the sheet was too hot" in told
    assert "<p>Heat the next sheet less long.</p>" in told
    assert "not at hand" not in told


def test_a_part_is_not_held_against_itself(troubled, path, room):
    """Its sheet was heated right, and counts for all others but for its own causes."""
    troubled.post(path, data={**NOTE, "cycle": "3", "seen": "stuck", "heated_s": "58"})

    for number in (3, 2):
        troubled.get(f"{path}/causes/{number}")

    told = [words["notes"] for work, words, _ in room.queue.asked if work == "causes"]
    assert [[one["cycle"] for one in notes] for notes in told] == [[1, 2], [1, 3]]


def test_a_mold_that_cannot_be_built_leaves_the_note(troubled, path, room):
    """Its causes follow from the note and the log: heated 90 s where the other note says 56 s."""
    room.queue.answers["causes"] = PROBLEMS["refused"]

    told = troubled.get(f"{path}/causes/2").text

    assert told.index("Web: the sheet was too hot") < told.index("Web: molds or walls stand")
    assert "Nothing was wrong" in troubled.get(f"{path}/causes/1").text


def test_causes_of_another_mold_are_not_there(troubled, path, student, room, teacher):
    """Of any note the teacher sees them, beside its mold if it was handed in."""
    kim = student("Kim")
    design = kim.post("/designs", data={"beginning": "word"}).url.path
    other = design.replace("/designs/", "/log/")

    for there in some([f"{other}/causes/2", f"{path}/causes/9", f"{path}/causes/{10**30}"]):
        assert kim.get(there).status_code == 404
    assert kim.get("/log/notes/2/causes").status_code == 403
    assert 'href="/log/notes/2/causes"' in teacher.get("/log").text
    assert "Web: the sheet was too hot" in teacher.get("/log/notes/2/causes").text
    assert room.queue.asked[-1][0] == "causes"
    teacher.post("/class/new", data={"name": "Another"})
    assert "is not at hand" in teacher.get("/log/notes/2/causes").text


def test_the_teacher_reads_what_the_notes_say(troubled, teacher):
    """The sentences of log tell, each with its range, and a row for each sheet."""
    shown = teacher.get("/log").text

    assert re.search(
        r"Heating on this table takes 1\.00 times what is computed \(.*; 1 note\)", shown
    )
    (row,) = re.findall(r"<tr><td>HIPS 1\.5 mm</td><td>(.*?)</td><td>56 s</td><td>1</td>", shown)
    assert row.startswith("about 55 s (")
    assert "What the notes say" not in troubled.get("/log").text


# --- notes of another log -----------------------------------------------------------------------


@pytest.fixture
def bring(room, teacher):
    """Brings a file of notes, which is read as a worker reads it."""

    def brought(data, client=teacher):
        read: Any
        try:
            read = work.log_notes({}, [data], lambda told: None)
        except MoldgenError as problem:
            read = problem
        room.queue.answers["log_notes"] = read
        return client.post("/log/import", files={"file": ("log", data, "text/plain")})

    return brought


BROUGHT = [
    ShotNote(noted="2026-03-04T10:20", job="OAR", machine="m", plastic="HIPS", thickness_mm=1.5,
             cycle=cycle, heated_s=50.0 + cycle, remark="=1+1", seen=(Outcome.WEB,))
    for cycle in (1, 2)
]  # fmt: skip


@pytest.mark.parametrize("ending", [".csv", ".xlsx", ".json"])
def test_notes_of_another_log_are_taken_over_once(bring, room, ending):
    """Each form that is exported comes in; the same notes twice are not doubled."""
    data = log_bytes(BROUGHT, ending=ending)

    first, second = bring(data), bring(data)

    assert notes(room) == BROUGHT
    assert "2 notes taken over, 0 known before" in first.text
    assert "0 notes taken over, 2 known before" in second.text


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (b",52.0,", b",warm,", "The file, row 3: heated_s must be"),
        (b",52.0,", b",-5,", "The file, row 3: heated_s must be more than 0 s"),
        (b",web,", b",wet,", "The file, row 2: seen must be good"),
        (b"noted,", b"when,", "is no log that moldgen exported"),
    ],
)
def test_a_wrong_row_keeps_all_others_out(bring, room, old, new, sentence):
    """One sentence with the row, on the page that it came from."""
    data = log_bytes(BROUGHT, ending=".csv")
    assert old in data

    answer = bring(data.replace(old, new))

    assert (answer.status_code, notes(room)) == (422, [])
    assert sentence in answer.text
    assert "Take them over" in answer.text


def test_a_note_that_others_contradict_is_named(bring, room):
    """The others are kept."""
    bring(log_bytes(BROUGHT[:1], ending=".json"))
    other = replace(BROUGHT[0], noted="2026-03-05T10:20")

    told = bring(log_bytes([other, BROUGHT[1]], ending=".json")).text

    assert "1 note taken over, 0 known before" in told
    assert "1 note left out, for others here say otherwise:" in told
    assert "note 2 (OAR, cycle 1): cycle must be another one" in told
    assert notes(room) == BROUGHT


def test_taking_over_is_the_teachers(bring, student, room):
    """And a form without a file is told so."""
    assert bring(log_bytes(BROUGHT, ending=".json"), student("Ole")).status_code == 403
    assert notes(room) == []
    empty = bring(b"")
    assert (empty.status_code, notes(room)) == (422, [])
    assert "file must be notes that were exported" in empty.text
