"""Limits of what strangers bring: one number for each meaning, and a stricter set for a page."""

import ast
import re
from dataclasses import fields
from threading import Thread

import pytest
from conftest import ROOT

import moldgen as mg
from moldgen.errors import FileError, SpecError
from moldgen.execution import limits_now, run_with
from moldgen.file_value import read_number, read_text
from moldgen.job.load import load_job
from moldgen.limits import OWN_MACHINE, PAGE, Limits, spoken_size
from moldgen.outline.lettering.text import TextSpec
from moldgen.quantity import Quantity

READERS = [
    "outline/svg", "outline/dxf", "outline/lettering", "outline/drawing.py", "outline/curves.py",
    "outline/tangle.py", "outline/crossing.py", "outline/nesting.py", "solid/reading",
    "job/load.py", "job/read.py", "stock/stock_file.py", "toml_file.py", "file_value.py",
    "named_file.py",
]  # fmt: skip
_MOST = re.compile(r"MOST|LARGEST|DEEPEST|LONGEST|FARTHEST|MAX|LIMIT")


def reader_files():
    """Return every module that reads what strangers bring."""
    homes = [ROOT / "moldgen" / home for home in READERS]
    return [file for home in homes for file in (home.rglob("*.py") if home.is_dir() else [home])]


def numbers_of_its_own(file):
    """Return the constants of a module that say how much is read, by name."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    named = [
        target.id
        for node in tree.body
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant)
        for target in node.targets
        if isinstance(target, ast.Name) and _MOST.search(target.id)
    ]
    compared = [
        ast.unparse(node)
        for node in ast.walk(tree)
        if isinstance(node, ast.Compare)
        for side in (node.left, *node.comparators)
        if isinstance(side, ast.Constant) and isinstance(side.value, int) and side.value >= 100
        if re.search(r"len\(|\bn_|count|size|depth", ast.unparse(node))
    ]
    return named + compared


def test_no_reader_has_a_number_of_its_own():
    """How much is read stands in the limits, and nowhere in a reader."""
    files = reader_files()

    assert len(files) > 30
    assert {file.name: found for file in files if (found := numbers_of_its_own(file))} == {}


def test_every_limit_is_asked_for():
    """A limit that no module looks at limits nothing."""
    words = "".join(
        file.read_text(encoding="utf-8")
        for file in (ROOT / "moldgen").rglob("*.py")
        if file.name != "limits.py"
    )

    assert [one.name for one in fields(Limits) if f".{one.name}" not in words] == []


def test_a_page_is_nowhere_laxer_than_a_computer_of_ones_own():
    """Every number is at most as large, most are smaller, and files lie beside the job."""
    pairs = {one.name: (getattr(PAGE, one.name), getattr(OWN_MACHINE, one.name))
             for one in fields(Limits) if one.name != "own_folder"}  # fmt: skip

    assert all(page <= own for page, own in pairs.values())
    assert sum(page < own for page, own in pairs.values()) > 15
    assert (PAGE.own_folder, OWN_MACHINE.own_folder) == (True, False)


def test_limits_hold_within_and_not_beyond():
    """They hold for all that a thread does within the statement, and in no other thread."""
    seen = []
    with run_with(limits=PAGE):
        seen.append(limits_now())
        with run_with(threads=1):
            seen.append(limits_now())
        other = Thread(target=lambda: seen.append(limits_now()))
        other.start()
        other.join()

    assert [limits == PAGE for limits in seen] == [True, True, False]
    assert limits_now() == OWN_MACHINE == Limits()


def test_sizes_are_told_as_people_say_them():
    """Bytes become kB, MB and GB."""
    assert [spoken_size(n) for n in (999, 1000, 1.5e6, 2e9)] == [
        "999 bytes", "1 kB", "1.5 MB", "2 GB",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "a" + ".a" * 100_000 + " = 1",
        "[" + "a." * 100_000 + "a]",
        "a = " + "1" * 200_000,
        "a" + " . a" * 100_000 + " = 1",
    ],
    ids=["key", "section", "number", "blanks"],
)
def test_a_key_of_100_000_parts_is_refused_by_its_length(tmp_path, text):
    """The parser takes time with the square of the parts, so it never sees them."""
    path = tmp_path / "a.toml"
    path.write_text(f'title = "x"\n{text}\n')

    with pytest.raises(FileError, match="a word of over 2,500 characters in line 2, longer than"):
        load_job(path)


def test_an_endless_file_is_not_read():
    """A device has no size, and no end."""
    with pytest.raises(FileError, match="/dev/zero cannot be read: not a regular file"):
        load_job("/dev/zero")


def test_a_job_file_beyond_the_limit_is_not_read(tmp_path):
    """Not even its first byte is looked at."""
    path = tmp_path / "a.toml"
    path.write_text("#" * 300_000)

    with run_with(limits=PAGE), pytest.raises(FileError, match="too large for a job file"):
        load_job(path)
    with pytest.raises(FileError, match=r"a\.toml is empty"):
        load_job(path)


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        ({"features": 2}, "made of at most 2 features"),
        ({"feature_depth": 1}, "nested at most 1 features deep"),
        ({"corners": 3}, "at most 3 corners"),
        ({"text_characters": 4}, "at most 4 characters"),
    ],
)
def test_a_job_is_counted_by_the_limits(tmp_path, limits, says):
    """Features, their depth, corners and texts are each counted."""
    path = tmp_path / "a.toml"
    square = "{ points = [[0, 0], [60, 0], [60, 60], [0, 60]] }"
    text = '{ text = "A", height = 20 }'
    path.write_text(
        f'title = "plate"\n[[body]]\nname = "a"\nheight = 9\noutline = {square}\n'
        f'[[body.raised]]\nname = "b"\nheight = 2\noutline = {text}\n'
        f'[[body.sunk]]\nname = "c"\nheight = 2\noutline = {text}\n'
    )
    assert load_job(path).title == "plate"

    with run_with(limits=Limits(**limits)), pytest.raises(SpecError, match=says):
        load_job(path)


def test_numbers_and_texts_are_no_longer_than_they_may_be():
    """The last length within the limit passes."""
    with run_with(limits=Limits(number_characters=3, text_characters=3, letters=3)):
        assert read_number("a", "6.5", Quantity("mm", "x")) == 6.5
        assert read_text("a", "abc") == "abc"
        assert TextSpec(text="abc", height_mm=10).text == "abc"
        with pytest.raises(SpecError, match="a must be a number"):
            read_number("a", "6.55", Quantity("mm", "x"))
        with pytest.raises(SpecError, match="at most 3 characters"):
            read_text("a", "abcd")
        with pytest.raises(SpecError, match="text must be at most 3 characters"):
            TextSpec(text="abcd", height_mm=10)


def test_a_nearly_right_word_among_many_long_ones_is_found():
    """Comparing words takes no time with the square of their lengths."""
    from time import process_time

    from moldgen.wording import nearest

    names = [f"{'ab' * 500}{k}" for k in range(5000)]
    start = process_time()

    assert nearest("ab" * 480 + "x", names) == ""
    assert nearest("hul", [*names, "hull"]) == "Did you mean hull?"
    assert process_time() - start < 2.0


def test_the_page_may_ask_for_its_limits():
    """The stricter set is a public name."""
    assert mg.PAGE is PAGE
