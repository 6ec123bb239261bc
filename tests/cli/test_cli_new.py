"""A wish in a few answers: the command it stands for, and what that makes."""

import io
import shlex

import pytest

from moldgen.cli.app import main
from moldgen.job import load_job


@pytest.fixture(autouse=True)
def elsewhere(monkeypatch, tmp_path):
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)


def answered(monkeypatch, *lines):
    """Answer these lines; return the exit code."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    return main(["new"])


WISHES = {
    "a sign": (["sign", "PIER 4", "", "Ann", "job"], "sign 'PIER 4' --title Ann"),
    "a sign so high": (["", "A / B", "25", "", "job"], "sign 'A / B' --letter-height 25"),
    "a tray": (["Tray", "150x100x30", "2 x 1", "", "job.toml"],
               "tray 150x100x30 --compartments '2 x 1'"),
    "a shape": (["shape", "Gull", "", "", "job"], "raise --shape Gull --width 120"),
    "a strip": (["strip", "80 120", "-90", "", "", "job"],
                "bend --legs '80 120' --angles=-90 --width 60"),
    "words with a hyphen": (["sign", "-A-", "", "", "job"], "sign ' -A-' --save-job job.toml"),
}  # fmt: skip


@pytest.mark.parametrize(("lines", "command"), WISHES.values(), ids=WISHES)
def test_a_wish_is_the_command_it_stands_for(monkeypatch, capsys, lines, command):
    """The command is shown, and typed by hand it writes the same job file."""
    assert answered(monkeypatch, *lines) == 0

    shown = capsys.readouterr().out.splitlines()[0]
    assert shown.startswith(f"moldgen {command}")
    typed = [word.replace("job.toml", "typed.toml") for word in shlex.split(shown)[1:]]
    assert main(typed) == 0
    assert load_job("typed.toml") == load_job("job.toml")


def test_a_wish_is_made_at_once(monkeypatch, tmp_path, capsys):
    """Enter to the last question makes it."""
    assert answered(monkeypatch, "tray", "", "", "", "") in (0, 1)

    assert list((tmp_path / "outputs").glob("*/*.stl"))


def test_a_wrong_answer_is_asked_again(monkeypatch, capsys):
    """Each answer is checked when it is given."""
    lines = ["sing", "tray", "150x100", "150x100x30", "0x2", "", "", "job"]
    assert answered(monkeypatch, *lines) == 0

    asked = capsys.readouterr().err
    assert "it must be sign, tray, shape or strip (got 'sing'). Did you mean sign?" in asked
    assert "the inside must be like 120 x 80 x 25 (got '150x100')" in asked
    assert "--compartments must be 1 to 400 compartments" in asked


def test_words_must_be_given(monkeypatch, capsys):
    """A sign without words is no sign: the question comes again until nobody answers."""
    assert answered(monkeypatch, "sign", "", "") == 2

    asked = capsys.readouterr().err
    assert "words must be given" in asked
    assert "nobody answers here" in asked
