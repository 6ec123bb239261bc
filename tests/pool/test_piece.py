"""A piece of work is carried out by its words alone, and its answer is kept by them."""

import os
import stat
import time

import pytest

from moldgen.errors import FileError, MoldgenError, SpecError
from moldgen.job.formats import Format
from moldgen.lesson.class_work.build import BuildOrder, built_of
from moldgen.pool.piece import PieceError, answer_of, carry_out, mark_of, piece_bytes
from moldgen.pool.results import RESULTS, keep_result, kept_result, tidy_results

TAG = """
title = "Cleat tag"
[[body]]
outline = { shape = "rounded-plaque", width = 60, height = 30 }
height = 8
"""
WORK = "moldgen.lesson.class_work.build:build_piece"


@pytest.fixture(autouse=True)
def no_results(monkeypatch):
    """Nothing is kept unless a test says so."""
    monkeypatch.delenv(RESULTS, raising=False)


def order(text=TAG):
    """The order of a tag."""
    return BuildOrder(job_text=text, files={}, stock={}, formats=(Format.STL,))


def test_a_mold_is_built_by_its_words_alone():
    """The same words, the same bytes; the answer holds files and figures."""
    piece = order().piece()
    built = built_of(answer_of(carry_out(piece)))

    assert piece == order().piece()
    assert mark_of(piece) != mark_of(order(TAG.replace("60", "61")).piece())
    assert built.record.numbers["plastic"]
    assert len(built.files[".stl"]) > 1000
    assert carry_out(piece) == carry_out(piece)


def test_another_version_is_refused(monkeypatch):
    """What it would understand otherwise is told, not built."""
    monkeypatch.setattr("moldgen.pool.piece.__version__", "9.9")
    piece = order().piece()
    monkeypatch.undo()

    with pytest.raises(MoldgenError, match=r"runs moldgen .*, not 9.9.*the same version"):
        answer_of(carry_out(piece))


def test_what_cannot_be_built_is_refused_here_as_there():
    """The error has its kind and its parts."""
    with pytest.raises(SpecError, match="shape") as told:
        answer_of(carry_out(order(TAG.replace("rounded-plaque", "kraken")).piece()))
    assert told.value.field


@pytest.mark.parametrize(
    "work", ["os:system", "moldgen.errors:_x", "moldgen.errors:a.b", "moldgen"]
)
def test_no_other_work_is_done(work):
    """Only public functions of moldgen are called by name."""
    with pytest.raises(MoldgenError, match="no work of moldgen"):
        answer_of(carry_out(piece_bytes(work, {})))


@pytest.mark.parametrize("data", [b"", b"junk", b"\0" * 40])
def test_what_is_cut_short_is_told(data):
    """Half a message is neither done nor believed."""
    with pytest.raises(PieceError, match="did not arrive whole"):
        carry_out(data)
    with pytest.raises(PieceError, match="not whole"):
        answer_of(order().piece())


def test_an_answer_that_is_kept_is_not_computed_again(tmp_path, monkeypatch):
    """It comes from the folder, by the mark of its work; a damaged one is computed again."""
    monkeypatch.setenv(RESULTS, str(tmp_path))
    piece = order().piece()
    answer = carry_out(piece)
    (path,) = tmp_path.iterdir()
    forged = carry_out(order(TAG.replace("60", "80")).piece())
    keep_result(tmp_path, mark_of(piece), forged)

    assert path.stem == mark_of(piece)
    assert carry_out(piece) == forged != answer
    path.write_bytes(path.read_bytes()[:-40])
    assert kept_result(tmp_path, mark_of(piece)) is None
    assert carry_out(piece) == answer == kept_result(tmp_path, mark_of(piece))


def test_a_folder_that_keeps_nothing_loses_nothing(tmp_path, monkeypatch):
    """The work is done all the same."""
    (tmp_path / "file").write_text("")
    monkeypatch.setenv(RESULTS, str(tmp_path / "file" / "below"))

    assert answer_of(carry_out(order().piece())).blocks is not None
    with pytest.raises(FileError, match="cannot be used for results"):
        tidy_results(tmp_path / "file")


def test_a_refusal_is_not_kept(tmp_path, monkeypatch):
    """A font may be missing on one machine alone."""
    monkeypatch.setenv(RESULTS, str(tmp_path))

    carry_out(order(TAG.replace("rounded-plaque", "kraken")).piece())
    assert not list(tmp_path.iterdir())


def test_the_oldest_answers_make_room(tmp_path):
    """What was asked for longest ago goes first, and what was begun long ago and left."""
    for number in range(4):
        keep_result(tmp_path, f"{number}", b"x" * 1_000_000)
        os.utime(tmp_path / f"{number}.answer", (1000 + number, 1000 + number))
    kept_result(tmp_path, "0")
    for name, age_s in (("old.1.begun", 9999), ("new.1.begun", 0)):
        (tmp_path / name).write_bytes(b"x")
        os.utime(tmp_path / name, (time.time() - age_s,) * 2)

    assert tidy_results(tmp_path, most_MB=2.1) == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "0.answer", "3.answer", "new.1.begun",
    ]  # fmt: skip
    assert tidy_results(tmp_path / "new") == 0
    assert stat.S_ISDIR((tmp_path / "new").stat().st_mode)


def test_an_answer_without_work_is_none():
    """A message that says neither done nor refused is no answer."""
    with pytest.raises(PieceError, match="not whole"):
        answer_of(piece_bytes(WORK, {}))
