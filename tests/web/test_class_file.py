"""A class as a file: whatever belongs to it comes back, and nothing that is damaged does."""

import json
from functools import partial

import pytest
from support.some import some

from moldgen.errors import MoldgenError
from moldgen.web.store import classes, designs, hand_ins
from moldgen.web.store.database import Database
from moldgen.web.store.transfer import export_class, import_class
from moldgen.web.wish import Beginning, DesignWish

USUAL = {"plastic": "PETG", "largest": "150 mm", "offered": ["word", "tray"], "lesson_min": "90"}


@pytest.fixture
def database(tmp_path):
    """An empty one."""
    made = Database(tmp_path / "page.sqlite")
    yield made
    made.close()


def word(text):
    """A wish for a word."""
    return DesignWish(beginning=Beginning.WORD, values={"words": [text]})


@pytest.fixture
def class_id(database):
    """A class of one, who brought a drawing, changed a word, and handed it in."""
    made = classes.begin_class(database, "Boat shed").result()
    classes.set_usual(database, made, USUAL).result()
    ida = classes.take_name(database, made, "Ida", "").result()
    begin = partial(designs.begin_design, database, class_id=made, person_id=ida)
    drawing = DesignWish(beginning=Beginning.DRAWING, values={"width": "120"})
    begin(wish=drawing, upload=b"<svg/>").result()
    path = begin(wish=word("AHOY")).result()
    designs.change_design(database, path, {"words": ["PIER"]}, seen=0).result()
    found = designs.find_design(database, path)
    hand_ins.hand_in(database, found, once="hand-in-of-ida").result()
    hand_ins.say(database, "hand-in-of-ida", hand_ins.HandInState.SENT_BACK, "Larger").result()
    return made


def seen(database, class_id):
    """All that is seen of a class, without ids and codes."""
    ((ida, _),) = classes.people_of(database, class_id)
    made = sorted(designs.designs_of(database, class_id, ida), key=lambda one: one.wish.title)
    given = hand_ins.hand_ins_of_class(database, class_id)
    return (
        classes.find_class(database, class_id).usual,
        classes.person_of(database, ida),
        [(one.wish, one.number) for one in made],
        [designs.read_upload(database, one.upload_id) for one in made if one.upload_id],
        [(one.person, one.wish, one.state, one.words, one.at_s) for one in given],
    )


def test_a_class_comes_back_as_it_was(database, class_id):
    """Beside the old one, with a code of its own; what is changed in one stays in it."""
    data = export_class(database, class_id)

    again = import_class(database, data).result()

    assert seen(database, again) == seen(database, class_id)
    codes = {one.code for one in classes.classes_of(database)}
    assert len(codes) == 2
    classes.delete_class(database, class_id).result()
    assert len(seen(database, again)[4]) == 1
    assert json.loads(export_class(database, again))["people"][0]["name"] == "Ida"


def test_undo_comes_back_too(database, class_id):
    """All versions are in the file."""
    again = import_class(database, export_class(database, class_id)).result()
    ((ida, _),) = classes.people_of(database, again)
    (path,) = [
        one.id for one in designs.designs_of(database, again, ida) if one.wish.title == "PIER"
    ]

    designs.step_design(database, path, -1).result()

    assert designs.find_design(database, path).wish.values == {"words": ["AHOY"]}


def damage(told, way):
    """One thing of the file is wrong."""
    design, given = told["designs"][-1], told["hand_ins"][0]
    ways = {
        "kind": lambda: told.update(kind="recipe"),
        "version": lambda: told.update(version=99),
        "person": lambda: design.update(person_id=99),
        "upload": lambda: told["uploads"][0].update(data="not base64!"),
        "number": lambda: design.update(number=7),
        "values": lambda: design["versions"][0].update(values={"words": {"a": "b"}}),
        "beginning": lambda: given.update(beginning="kraken"),
        "state": lambda: given["said"][0].update(state="sunk"),
        "nothing said": lambda: given.update(said=[]),
        "name": lambda: told["people"][0].update(name="x" * 100),
        "people": lambda: told.pop("people"),
        "usual": lambda: told.update(usual=[1]),
        "largest": lambda: told["usual"].update(largest="a barge"),
        "offered": lambda: told["usual"].update(offered=["kraken"]),
        "lesson": lambda: told["usual"].update(lesson_min="never"),
        "unknown": lambda: told["usual"].update(stock="/etc/passwd"),
    }
    ways[way]()
    return json.dumps(told).encode()


@pytest.mark.parametrize("way", ["kind", "version", "person", "upload", "number", "values",
                                 "beginning", "state", "nothing said", "name", "people",
                                 "usual", "largest", "offered", "lesson", "unknown"])  # fmt: skip
def test_a_damaged_class_is_refused_whole(database, class_id, way):
    """One sentence, and nothing is kept of it."""
    data = damage(json.loads(export_class(database, class_id)), way)

    with pytest.raises(MoldgenError):
        import_class(database, data).result()

    assert len(classes.classes_of(database)) == 1
    assert len(database.read("SELECT id FROM design")) == 2


@pytest.mark.parametrize("data", [b"", b"nothing", b"[1]", b"[" * 100_000, b"\xff"])
def test_what_is_no_class_is_refused(database, data):
    """Whatever it is."""
    with pytest.raises(MoldgenError):
        import_class(database, data)


def test_the_code_is_not_in_the_file(database, class_id):
    """Whoever has an old file cannot join by it."""
    code = classes.find_class(database, class_id).code.encode()
    for text in some([export_class(database, class_id)]):
        assert code not in text
