"""One log has one thing to say of a sheet's heating, whether a command or the page is asked."""

import json
import re
from concurrent.futures import Future
from io import BytesIO
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest
from support.page import page_room, teacher_of

from moldgen.cli.app import main
from moldgen.cli.deliver import shop_of
from moldgen.sandbox.messages import read_message
from moldgen.web import work

SIGN = ["sign", "I", "--letter-height", "20", "--gauge", "1.5", "--forming", "off"]
FORM = {"words": ["I"], "letter_height": "20", "gauge": "1.5", "forming": "off"}
SHEET = ["--machine", "classroom-450x300", "--plastic", "HIPS", "--gauge", "1.5"]


class OwnQueue:
    """Works at once, in this process, as the workers of the page do."""

    def submit(self, lane, owner, what, words, blocks=()):
        """Do it."""
        done: Future[Any] = Future()
        done.set_result(getattr(work, what)(words, list(blocks), lambda told: None))
        return done


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A person's own folder, which page and commands share, and an empty place to work in."""
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def room(home):
    """A page on the log that the commands read."""
    with page_room(home, queue=cast(Any, OwnQueue())) as made:
        yield made


def told(capsys, *words):
    """What a command tells programs."""
    capsys.readouterr()
    assert main([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def by_command(capsys, *more):
    """What the heat command tells of the sheet: its rows, and the seconds on a card."""
    heat = told(capsys, "heat", "HIPS", "--gauge", "1.5", *more)
    rows = heat["summary"]
    shown = {label: rows[label] for label in ("Heat for", "By the log") if label in rows}
    return shown, f"{heat['numbers']['heat_s']:.0f}"


def by_page(teacher):
    """What the page tells of the same sign: rows beside it, and facts of the form at the table."""
    path = teacher.post("/designs", data={"beginning": "word"}).url.path
    teacher.post(f"{path}/values", json={"values": FORM, "number": 0})
    found = read_message(BytesIO(teacher.get(f"{path}/findings").content)).words
    form = teacher.get(path.replace("/designs/", "/log/")).text
    return dict(found["table"]), form.partition("On the card: <strong>")[2].partition(" s<")[0]


def test_command_and_page_tell_the_same_heating(room, capsys):
    """Without notes, with notes, and where both are told to go without them."""
    teacher = teacher_of(room)
    plain = by_command(capsys)
    assert by_page(teacher) == plain

    for cycle, heated_s in enumerate(["70", "72", "71"], start=1):
        words = ["log", "add", "--job", "PIER", *SHEET, "--heated", heated_s]
        assert main([*words, "--cycle", str(cycle), "--on", f"2026-03-0{cycle}"]) == 0
    noted = by_command(capsys)
    assert by_page(teacher) == noted
    assert noted[0]["By the log"].endswith("times the computed 56 s, by 3 notes of this table")
    sign = told(capsys, *SIGN, "--formats", "json")["numbers"]
    assert (f"{sign['heat_s']:.0f}", sign["heat_notes"]) == (noted[1], 3)
    assert int(noted[1]) > 1.2 * int(plain[1])

    teacher.post("/class/usual", data={"offered": "word", "no_log": "yes"})
    assert by_command(capsys, "--no-log") == plain
    assert by_page(teacher) == plain


def test_files_are_made_by_the_same_experience(room, monkeypatch):
    """What draws report, card and forms of a hand-in gets what the commands read of the log."""
    assert main(["log", "add", "--job", "PIER", *SHEET, "--heated", "70"]) == 0
    got = []

    def make(job, shop, **more):
        got.append(shop.experience)
        return SimpleNamespace(title="I", files=lambda: {"card.pdf": b"%PDF"})

    monkeypatch.setattr("moldgen.api.molds.make", make)
    teacher = teacher_of(room)
    path = teacher.post("/designs", data={"beginning": "word"}).url.path
    (once,) = re.findall(r"&#34;once&#34;: &#34;(.*?)&#34;", teacher.get(path).text)
    assert teacher.post(f"{path}/hand-in", json={"once": once}).status_code == 200
    assert teacher.get(f"/queue/{once}/files.zip").status_code == 200

    assert got == [shop_of("", Path(), use_log=True).experience.of_molds]
    assert got[0].of("classroom-450x300").heating.n_notes == 1
