"""The command line in another language: typed, or that of the room."""

import pytest

from moldgen.cli.app import main


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    """A person's own files, of which there are none yet."""
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path))
    return tmp_path


@pytest.mark.parametrize("words", [["--language", "xx", "--help"], ["sign", "A", "--language=xx"],
                                   ["shapes", "--language"]])  # fmt: skip
def test_an_unknown_language_is_refused(words, capsys):
    """One sentence, and nothing is done."""
    assert main(words) == 2

    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("moldgen: --language must be one of en, de, es, fr (got '")
    assert told.err.count("\n") == 1


def test_help_is_told(capsys):
    """What the commands and their options are for, and what is usual."""
    assert main(["--language", "de"]) == 0
    assert "ein Schild aus Wörtern machen" in capsys.readouterr().out
    assert main(["tray", "--help", "--language", "fr"]) == 0

    told = capsys.readouterr().out
    assert told.startswith("usage : moldgen tray LENGTH WIDTH DEPTH [options]")
    assert "radius" not in told
    assert "(usuel : HIPS)" in " ".join(told.split())


def test_complaints_are_told(capsys):
    """What was typed wrong is said in the language."""
    assert main(["tray", "10", "--language", "de"]) == 2
    assert capsys.readouterr().err == (
        "moldgen: WIDTH, DEPTH muss angegeben werden. moldgen tray --help zeigt ein Beispiel.\n"
    )
    assert main(["sign", "A", "--gauge", "-1", "--language", "es"]) == 2
    assert capsys.readouterr().err == (
        "moldgen: --gauge debe ser: al menos 0,1 mm y como mucho 12 mm (se dio: -1 mm).\n"
    )


def test_the_room_keeps_a_language(own_folder, capsys):
    """Once set up, every command speaks it, unless another is typed."""
    assert main(["setup", "--language", "fr"]) == 0
    assert 'language = "fr"' in (own_folder / "room.toml").read_text()
    capsys.readouterr()

    assert main(["--help"]) == 0
    assert "moldgen fait des moules" in capsys.readouterr().out
    assert main(["--language", "en", "--help"]) == 0
    assert "moldgen makes molds" in capsys.readouterr().out


def test_a_damaged_room_is_no_reason_to_be_silent(own_folder, capsys):
    """Where the room cannot be read, help is in English all the same."""
    (own_folder / "room.toml").write_text("[room]\nlanguage = 3\n")

    assert main(["--help"]) == 0
    assert "moldgen makes molds" in capsys.readouterr().out


def test_words_behind_a_double_dash_are_no_option(capsys):
    """What stands behind ``--`` is a word of the sign."""
    assert main(["sign", "--gauge", "0", "--", "--language", "xx"]) == 2
    assert "--language" not in capsys.readouterr().err
