"""The workshop page: what is approved is made once, kept with its class, shown to its teacher."""

import re
from base64 import b64encode
from hashlib import sha256
from typing import Any, cast

import pytest
from starlette.testclient import TestClient
from support.page import browser_of, page_room, teacher
from support.page_class import REPORT, StubRuns, leave_made
from support.some import some

from moldgen.lesson.class_work.papers import LABELS, RISKS
from moldgen.lesson.class_work.prints import PRINT_LIST
from moldgen.web.routes.workshop import LISTS, TO_PRINT
from moldgen.web.store import classes
from moldgen.web.workshop.folder import class_folder
from moldgen.web.workshop.runs import RunState

__all__ = ["teacher"]  # what tests here stand on


@pytest.fixture
def room(tmp_path):
    """What the page stands on, with a class."""
    with page_room(tmp_path, runs=cast(Any, StubRuns())) as made:
        yield made


@pytest.fixture
def give(room, teacher):
    """Hands in for a student, once or again, and says what becomes of it."""
    (first,) = classes.classes_of(room.database)
    browsers: dict[str, tuple[TestClient, str]] = {}

    def given(name, *states, once="", form=None, again=False, **file):
        if not again:
            client = browser_of(room)
            client.post("/join", data={"code": first.code, "name": name})
            made = client.post("/designs", data={"beginning": "word", **(form or {})}, **file)
            browsers[name] = client, made.url.path
        client, path = browsers[name]
        once = once or f"hand-in-of-{name}"[:40]
        assert client.post(f"{path}/hand-in", json={"once": once}).status_code == 200
        for state in states:
            teacher.post("/queue/say", data={"id": once, "state": state})
        return once

    return given


def folder_of(room, number=0):
    """The folder of a class."""
    one = classes.classes_of(room.database)[number]
    return class_folder(room.data, one.id, one.code)


def made_now(room, teacher):
    """Have what is approved now made."""
    teacher.post("/workshop/make")
    leave_made(folder_of(room), room.runs.begun[-1][2]["key"])


def test_only_what_is_approved_and_not_formed_is_made(room, teacher, give):
    """What waits, was sent back or is formed is not; of one design the latest alone is."""
    give("Waits")
    give("Back", "sent back")
    give("Formed", "approved", "printed", "formed")
    give("Ida", "approved")
    give("Ole", "approved", "printed")
    give("Ida", "approved", once="again-by-ida", again=True)

    page = teacher.post("/workshop/make")

    assert page.url.path == "/workshop"
    ((_, _, words),) = room.runs.begun
    assert [one["name"] for one in words["people"]] == ["Ole", "Ida"]
    assert words["people"][0]["wish"]["values"] == {"words": ["AHOY"]}
    assert words["people"][1]["link"] == "http://192.0.2.7:8470/log/again-by-ida"


def test_another_class_is_not_made_with_it(room, teacher, give):
    """Nor seen: each has its own folder."""
    give("Ida", "approved")
    made_now(room, teacher)
    teacher.post("/class/new", data={"name": "Other"})

    assert "All of it (ZIP)" not in teacher.get("/workshop").text
    assert teacher.get("/workshop/class.zip").status_code == 404
    assert teacher.get("/workshop/files/overview.html").status_code == 404
    assert "Nothing is approved" in teacher.get("/workshop").text


def test_it_is_made_again_only_if_something_changed(room, teacher, give):
    """An approval more, other stock, another default, a note; asking twice is making once."""
    give("Ida", "approved")
    for _ in range(2):
        made_now(room, teacher)
    assert len(room.runs.begun) == 1
    assert "Make it again" not in teacher.get("/workshop").text

    give("Ole", "approved")
    assert "Make it again" in teacher.get("/workshop").text
    made_now(room, teacher)
    teacher.post("/class/usual", data={"lesson_min": "90", "offered": "word"})
    made_now(room, teacher)
    entry = {"name": "Corner", "based_on": "large", "bed_width_mm": "310", "seen": ""}
    teacher.post("/stock/printer", data=entry)
    made_now(room, teacher)

    assert len(room.runs.begun) == 4
    assert len({words["key"] for _, _, words in room.runs.begun}) == 4
    shot = {"cycle": "1", "seen": "good", "heated_s": "70"}
    teacher.post("/log/hand-in-of-Ida", data=shot)
    assert "the log has changed since this was made" in teacher.get("/workshop").text
    made_now(room, teacher)
    told = [words["experience"].get("tables", ()) for _, _, words in room.runs.begun]
    notes = [[one["heating"]["n_notes"] for one in tables] for tables in told]
    assert notes == [[], [], [], [], [1]]
    assert room.runs.begun[-1][2]["usual"] == {"lesson_min": "90"}


def test_a_drawing_that_was_brought_lies_in_the_folder_of_the_class(room, teacher, give):
    """By a number, whatever it was called; other hand-ins have none."""
    give("Ida", "approved")
    give("Ole", "approved", form={"beginning": "drawing"}, files={"file": ("../x.svg", b"<svg/>")})

    teacher.post("/workshop/make")

    uploads = folder_of(room).uploads
    assert [path.name for path in uploads.iterdir()] == ["1"]
    assert (uploads / "1").read_bytes() == b"<svg/>"


def test_what_was_made_is_shown_and_saved(room, teacher, give):
    """Summary, findings, pages to print, plates, and all of it as one file of the class's name."""
    give("Ida", "approved")
    made_now(room, teacher)

    page = teacher.get("/workshop").text

    shown = re.findall(r'/workshop/files/([^"]+)', page)
    assert shown == [
        "overview.html", "job-cards.pdf", "arrangement/shot-1.pdf", "arrangement/plate-1.3mf",
        "arrangement/shot-1.png",
    ]  # fmt: skip
    assert "1 of 1 person" in page
    assert "Ida: gaps are narrow" in page
    saved = teacher.get("/workshop/class.zip")
    assert saved.content == folder_of(room).zip.read_bytes()
    assert 'filename="boat-shed.zip"' in saved.headers["content-disposition"]


def test_every_paper_and_list_of_a_class_is_offered():
    """What the class command writes for all is offered by itself too."""
    offered = {name for name, _ in (*TO_PRINT, *LISTS)}

    assert {LABELS, RISKS, PRINT_LIST, "job-cards.pdf", "overview.html"} <= offered


@pytest.mark.parametrize(("name", "kind", "shown"), [
    ("overview.html", "text/html", "inline"),
    ("job-cards.pdf", "application/pdf", "inline"),
    ("arrangement/shot-1.png", "image/png", "inline"),
    ("arrangement/plate-1.3mf", "application/octet-stream", "attachment"),
])  # fmt: skip
def test_a_file_is_shown_or_saved(room, teacher, give, name, kind, shown):
    """What a browser shows is shown; nothing of it may run a script."""
    give("Ida", "approved")
    made_now(room, teacher)

    answer = teacher.get(f"/workshop/files/{name}")

    assert answer.headers["content-type"].startswith(kind)
    assert answer.headers["content-disposition"].startswith(shown)
    policy = answer.headers["content-security-policy"]
    assert "script-src 'none'" in policy or "default-src 'none'" in policy
    assert "unsafe" not in policy


def test_a_report_has_its_own_style_and_no_other(room, teacher, give):
    """By the mark of that style; its content comes whole."""
    give("Ida", "approved")
    made_now(room, teacher)

    answer = teacher.get("/workshop/files/overview.html")

    mark = b64encode(sha256(b"body{margin:0}").digest()).decode()
    assert answer.content == REPORT
    assert f"style-src 'sha256-{mark}'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize("name", [
    "../page.sqlite", "..%2f..%2fpage.sqlite", "%2e%2e/%2e%2e/page.sqlite", "/etc/passwd",
    "made.json", "arrangement/%2e%2e/overview.html", "", "1-ida", "1-ida/",
])  # fmt: skip
def test_no_file_but_those_in_the_zip_is_reached(room, teacher, give, name):
    """No way leads out of it, nor to what lies beside it."""
    give("Ida", "approved")
    made_now(room, teacher)

    assert teacher.get(f"/workshop/files/{name}").status_code == 404


def test_how_far_it_is_comes_to_the_page(room, teacher):
    """One line after the other until it is done; then what went wrong, if it did."""
    room.runs.states[1] = RunState(problem="It does not fit.", is_running=False)

    told = teacher.get("/workshop/events").text

    assert '"problem": "It does not fit."' in told
    assert '"is_running": false' in told
    assert "It does not fit." in teacher.get("/workshop").text
    room.runs.states[1] = RunState(told="building molds", share=0.5)
    assert 'value="0.5"' in teacher.get("/workshop").text
    teacher.post("/workshop/stop")
    assert room.runs.stopped == [1]


@pytest.mark.parametrize("harm", ["no facts", "no zip", "torn zip", "other facts"])
def test_what_is_not_whole_was_not_made(room, harm):
    """It is made again then."""
    folder = folder_of(room)
    leave_made(folder, "key")
    facts = folder.zip.with_name("made.json")
    ways = {
        "no facts": facts.unlink,
        "no zip": folder.zip.unlink,
        "torn zip": lambda: folder.zip.write_bytes(folder.zip.read_bytes()[:40]),
        "other facts": lambda: facts.write_text("[1]"),
    }
    assert folder.made().key == "key"

    ways[harm]()

    assert folder.made() is None


def test_a_deleted_class_takes_its_folder_along(room, teacher, give):
    """And what is being made of it ends."""
    give("Ida", "approved")
    made_now(room, teacher)
    folder = folder_of(room)

    teacher.post("/class/delete", data={"name": "Boat shed"})

    assert not folder.path.exists()
    assert room.runs.forgotten == [1]


def test_a_number_that_comes_again_finds_nothing_of_the_class_before(room, teacher, give):
    """Numbers are used again after the last class was deleted; the code is another one."""
    give("Ida", "approved")
    made_now(room, teacher)
    before = classes.classes_of(room.database)[0]
    classes.delete_class(room.database, before.id).result()  # as if its folder had stayed

    teacher.post("/class/new", data={"name": "Other"})

    assert classes.classes_of(room.database)[0].id == before.id
    assert folder_of(room).made() is None


def test_the_queue_tells_what_there_is_to_say(room, teacher, give):
    """Worst finding, print time and sheet of each; of one state alone, if that is asked for."""
    once = give("Ida", "approved")
    give("Ole")

    told = teacher.get(f"/queue/{once}/verdict").json()
    waiting = teacher.get("/queue?state=waiting").text

    assert (told["sentence"], told["print_time"], told["sheet"]) == (
        "gaps are narrow", "2 h", "HIPS 1 mm",
    )  # fmt: skip
    assert "Ole" in waiting
    assert f'value="{once}"' not in waiting
    assert all(name in teacher.get("/queue?state=nonsense").text for name in some(["Ida", "Ole"]))
