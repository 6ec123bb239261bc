"""What a class keeps from run to run: words in files, and packed files in its ZIP file."""

import io
import zipfile

import pytest

from moldgen.export.run_folder import write_run
from moldgen.lesson.class_work.kept_words import read_kept, write_kept
from moldgen.lesson.class_work.packed import CLASS_ZIP, packed_class

MOLD = b"solid " * 500


@pytest.fixture
def packed(tmp_path):
    """A class of one person, packed and written; what packs it again and returns what is in it."""
    write_run(tmp_path / "1-ada", {"ada.stl": MOLD, "ada.png": b"picture"})

    def pack(whole=("1-ada",)):
        data = packed_class(tmp_path, ["1-ada"], {"list.csv": b"ADA"}, whole=whole)
        (tmp_path / CLASS_ZIP).write_bytes(data)
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            assert archive.testzip() is None
            return {name: archive.read(name) for name in archive.namelist()}

    return pack


def test_what_somebody_changed_is_packed_as_it_is(packed, tmp_path):
    """Only of a folder that the run knows to be whole is the list believed."""
    assert packed() == {"list.csv": b"ADA", "1-ada/ada.png": b"picture", "1-ada/ada.stl": MOLD}
    (tmp_path / "1-ada" / "ada.stl").write_bytes(b"mine")
    (tmp_path / "1-ada" / "note.txt").write_bytes(b"mine too")

    again = packed(whole=())

    assert again["1-ada/ada.stl"] == b"mine"
    assert again["1-ada/note.txt"] == b"mine too"


def test_what_is_packed_already_is_not_read_again(packed, tmp_path):
    """Of a folder that is whole everything comes out of the earlier ZIP file."""
    first = packed()
    for name in ("ada.stl", "ada.png"):
        (tmp_path / "1-ada" / name).write_bytes(b"never looked at")

    assert packed() == first


def test_a_file_that_was_written_again_is_packed_again(packed, tmp_path):
    """Its mark in the list of its folder is another."""
    packed()
    write_run(tmp_path / "1-ada", {"ada.stl": MOLD[::-1], "ada.png": b"picture"})

    assert packed()["1-ada/ada.stl"] == MOLD[::-1]


@pytest.mark.parametrize("content", [b"", b"[", b"[]", b"{}", b'{"a": 1}', b'{"a": [1]}'])
def test_words_that_are_not_sound_tell_nothing(tmp_path, content):
    """Whatever stands there instead: the class is made as if nothing were known."""
    path = tmp_path / "x.kept"
    path.write_bytes(content)

    assert read_kept(path, lambda words: words["a"][1].strip()) is None
    assert read_kept(tmp_path / "missing", lambda words: words) is None


def test_words_are_written_when_there_are_any_or_were_any(tmp_path):
    """Nothing makes no file; a file of before is not left standing."""
    path = tmp_path / "x.kept"
    write_kept(path, {})
    assert not path.exists()

    write_kept(path, {"b": 1, "a": "é"})
    assert read_kept(path, dict) == {"a": "é", "b": 1}

    write_kept(path, {})
    assert read_kept(path, dict) == {}
