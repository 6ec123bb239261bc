"""A page without processes: what would be computed is answered at once."""

from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from functools import cache, partial
from pathlib import Path
from typing import Any, cast

import pytest
from starlette.testclient import TestClient

from moldgen.bend.preset.choices import StripKind
from moldgen.errors import OutlineError
from moldgen.outline.library.shapes import list_shapes
from moldgen.sandbox.messages import Message
from moldgen.sandbox.worker import WorkerError
from moldgen.user_file import database_file
from moldgen.web import log_work
from moldgen.web.app import page_app
from moldgen.web.page_stock import PageStock
from moldgen.web.room import PageRoom
from moldgen.web.store import classes
from moldgen.web.store.database import Database
from moldgen.web.work_queue import SupersededError

HOST = "http://shed.test"
VERDICT = {
    "severity": "caution",
    "sentence": "gaps are narrow",
    "n_more": 1,
    "print_time": "2 h",
    "sheet": "HIPS 1 mm",
}
"""What is told of a hand-in at a glance."""


shapes = cache(list_shapes)
"""The library, listed once for all tests."""


class StubQueue:
    """Answers what it is told to."""

    def __init__(self):
        self.asked = []
        self.answers = {
            "picture": Message({"size_mm": [1.0, 2.0, 3.0], "chosen": []}, [b"mesh"]),
            "findings": Message({"findings": []}),
            "thumbnail": Message({}, [b"\x89PNG"]),
            "shape_outlines": Message(
                {
                    "titles": {shape.name: shape.title for shape in shapes()},
                    "aspects": {shape.name: shape.aspect for shape in shapes()},
                    "paths": {shape.name: "M0 0Z" for shape in shapes()},
                    "strips": {kind.value: "M0 0Z" for kind in StripKind},
                }
            ),
            "roster": Message({"names": ["Ida Meyer", "=1+1"]}),
            "shot_facts": Message(
                {
                    "job": "AHOY",
                    "machine": "classroom-450x300",
                    "plastic": "HIPS",
                    "thickness_mm": 1.5,
                    "filament": "PETG",
                    "told_heat_s": 56.0,
                    "told_cool_s": 25.0,
                    "told_print_h": 3.7,
                    "thinnest_mm": 0.55,
                }
            ),
            "causes": Message(
                {
                    "rows": [
                        [
                            "web",
                            "the sheet was too hot",
                            "it took long",
                            "Heat the next sheet less long.",
                        ]
                    ]
                }
            ),
            "chart": Message({}, [b"%PDF"]),
            "learned": log_work.learned,
            "log_tables": log_work.log_tables,
            "causes_alone": log_work.causes_alone,
            "small_photo": Message({}, [b"\xff\xd8small"]),
            "checked": Message({}),
            "verdict": Message(VERDICT),
            "files": Message({"name": "ahoy"}, [b"PK"]),
        }

    def submit(self, lane, owner, work, words, blocks=()):
        """Take note of an order, and answer it."""
        self.asked.append((work, words, list(blocks)))
        answer = Future()
        made = self.answers[work]
        if callable(made):  # as a worker does it
            made = made(words, list(blocks), lambda told: None)
        answer.set_exception(made) if isinstance(made, Exception) else answer.set_result(made)
        return answer


PROBLEMS = {
    "refused": OutlineError("It crosses itself."),
    "died": WorkerError("That did not work: the process that did it ended."),
    "superseded": SupersededError("A newer one took its place."),
}


@contextmanager
def page_room(folder: Path, **changed: Any) -> Iterator[PageRoom]:
    """Give what a page stands on, with a class in it."""
    database = Database(database_file(folder))
    classes.begin_class(database, "Boat shed").result()
    usual: dict[str, Any] = {
        "queue": cast(Any, StubQueue()),
        "data": folder,
        "stock": PageStock(folder / "stock.toml"),
        "cookie_key": b"key" * 10,
        "teacher_key": "the-key-of-the-terminal",
        "addresses": ("http://192.0.2.7:8470",),
    }
    yield PageRoom(database=database, **(usual | changed))
    database.close()


def browser_of(room: PageRoom, **headers: str) -> TestClient:
    """Return a browser with cookies of its own."""
    headers = {"origin": HOST, "accept": "text/html", **headers}
    app = page_app(room)
    return TestClient(app, base_url=HOST, headers=headers, raise_server_exceptions=False)


def code_of(room: PageRoom) -> str:
    """Return the code of the first class."""
    return classes.classes_of(room.database)[0].code


def joined(room: PageRoom, name: str) -> TestClient:
    """Return the browser of a student who has joined."""
    client = browser_of(room)
    told = {"code": code_of(room), "name": name}
    assert client.post("/join", data=told).url.path == "/begin"
    return client


def teacher_of(room: PageRoom, **headers: str) -> TestClient:
    """Return the teacher's browser."""
    client = browser_of(room, **headers)
    assert client.get("/teach", params={"key": room.teacher_key}).status_code == 200
    return client


# --- fixtures, which every test of the page has -------------------------------------------------


@pytest.fixture
def room(tmp_path):
    """What the page stands on."""
    with page_room(tmp_path) as made:
        yield made


@pytest.fixture
def browser(room):
    """Makes browsers, each with cookies of its own."""
    return partial(browser_of, room)


@pytest.fixture
def code(room):
    """The code of the class."""
    return code_of(room)


@pytest.fixture
def student(room):
    """Makes students who have joined."""
    return partial(joined, room)


@pytest.fixture
def teacher(room):
    """The teacher's browser."""
    return teacher_of(room)
