"""Options, commands and stock files of version 0.1 work, and the new word is told."""

import json

import pytest
from conftest import ROOT

from moldgen.cli.app import main
from moldgen.cli.old_options import renewed_options
from moldgen.job import Job, SignCommand, load_job
from moldgen.old_words import OLD_PRINTERS
from moldgen.stock import load_shop

SHED = ROOT / "tests" / "job" / "version_0_1" / "shed.toml"


@pytest.fixture(autouse=True)
def _inside(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def test_old_options_are_taken_as_the_new_ones(tmp_path, capsys):
    """The job that old options stand for is that of the new ones; each old one is told."""
    sign = ["sign", "COD", "--save-job"]
    old = "--station bench-250x250 --rim=1.5 --root 0.5".split()
    new = "--machine bench-250x250 --top-radius=1.5 --base-radius 0.5".split()
    assert main([*sign, "new.toml", *new]) == 0
    assert capsys.readouterr().err == ""
    assert main([*sign, "old.toml", *old]) == 0
    told = capsys.readouterr().err.splitlines()

    assert told == [
        "moldgen: note: --station is called --machine now.",
        "moldgen: note: --rim is called --top-radius now.",
        "moldgen: note: --root is called --base-radius now.",
    ]
    job = load_job(tmp_path / "old.toml")
    assert job == load_job(tmp_path / "new.toml")
    assert (job.machine, job.body[0].top_radius_mm) == ("bench-250x250", 1.5)


def test_an_old_option_takes_a_value_with_a_minus(capsys):
    """``--pull -z`` is ``--draw-direction -z``: only the file is missing."""
    assert main(["check", "none.stl", "--pull", "-z"]) == 2
    said = capsys.readouterr().err.splitlines()
    assert said[0] == "moldgen: note: --pull is called --draw-direction now."
    assert "none.stl" in said[1]


@pytest.mark.parametrize("typed", ["--station a --machine b", "--machine=b --station=a"])
def test_old_and_new_option_together_are_refused(typed, capsys):
    """Which of the two counts is not guessed."""
    assert main(["sign", "COD", *typed.split()]) == 2
    said = capsys.readouterr().err
    assert "--machine must be given once (got --station and --machine)" in said


def test_an_old_word_after_two_dashes_is_a_word():
    """What follows ``--`` is no option."""
    words, old = renewed_options(["--rim", "1", "--", "--rim"], SignCommand)
    assert words == ["--top-radius", "1", "--", "--rim"]
    assert old == (("--rim", "--top-radius"),)


def test_an_old_command_is_the_new_one(capsys):
    """``coupon`` is ``test-piece``, and says so."""
    assert main(["coupon", "--dowel", "no such pin"]) == 2
    assert "moldgen: note: coupon is called test-piece now." in capsys.readouterr().err


def test_an_old_stock_file_is_read(capsys):
    """Its section is the new one's; the entry is there, and the note comes once."""
    shop = load_shop([SHED], user_file=None)
    assert shop.old_words == ("station",)
    assert shop.machine("Shed table").hole_pitch_mm == pytest.approx(12.7)
    assert load_shop([], user_file=None).old_words == ()

    assert main(["heat", "HIPS", "--stock", str(SHED), "--machine", "shed table", "--json"]) == 0
    said = capsys.readouterr()
    assert said.err.count("moldgen: note: station is called machine now.") == 1
    assert json.loads(said.out)["exit_code"] == 0


def test_an_old_section_beside_the_new_one_is_refused(tmp_path, capsys):
    """A stock file says one or the other."""
    own = tmp_path / "both.toml"
    own.write_text(f"{SHED.read_text()}\n[machine.Other]\nbased_on = 'bench-250x250'\n")
    assert main(["stock", "--stock", str(own)]) == 2
    assert "section machine must be given once (got station and machine)" in capsys.readouterr().err


def test_an_old_kind_of_stock_is_listed(capsys):
    """``moldgen stock station`` lists the forming machines."""
    assert main(["stock", "machine"]) == 0
    new = capsys.readouterr()
    assert main(["stock", "station"]) == 0
    old = capsys.readouterr()
    assert (old.out, old.err) == (new.out, "moldgen: note: station is called machine now.\n")


def test_quiet_tells_no_note(capsys):
    """With --quiet an old option is taken without a word."""
    assert main(["sign", "COD", "--save-job", "a.toml", "--station", "bench-250x250", "-q"]) == 0
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(("old", "new"), OLD_PRINTERS.items())
def test_old_names_of_printers_are_found(old, new):
    """Each old name is the printer of the new one; a name of the stock goes before it."""
    shop = load_shop(user_file=None)

    assert shop.printer(old) is shop.printer(old.upper()) is shop.printer(new)
    assert old not in shop.names("printer")


def test_an_old_printer_is_taken_and_told(tmp_path, monkeypatch, capsys):
    """On the command line and in the files of molds and strips: as the new name, with a note."""
    monkeypatch.chdir(tmp_path)
    note = "moldgen: note: bed-180 is called small now.\n"
    assert main(["sign", "A", "--printer", "bed-180", "--save-job", "a.toml"]) == 0
    assert capsys.readouterr().err == note
    bend = ["bend", "--legs", "80,120", "--angles", "90", "--save-job", "b.toml"]
    assert main([*bend, "--printer", "bed-180"]) == 0
    assert capsys.readouterr().err == note

    for name in ("a.toml", "b.toml"):
        assert load_job(name).printer == "small"
        words = (tmp_path / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(words.replace('"small"', '"bed-180"'), encoding="utf-8")
    assert main(["make", "b.toml", "--formats", "json", "--json"]) == 0
    assert capsys.readouterr().err == note
    job = load_job("a.toml")
    assert isinstance(job, Job)
    assert (job.printer, job.old_words) == ("small", ("bed-180",))


def test_an_own_entry_changes_a_printer_by_its_old_name(tmp_path):
    """A stock file that changes bed-220 changes the printer it was, and that is noted."""
    own = tmp_path / "own.toml"
    own.write_text("[printer.bed-220]\nnozzle_mm = 0.6\nleast_wall_mm = 1.2\n", encoding="utf-8")
    shop = load_shop([own], user_file=None)

    assert shop.printer("medium").nozzle_mm == 0.6
    assert shop.names("printer") == load_shop(user_file=None).names("printer")
    assert shop.old_words == ("bed-220",)


def test_a_printer_of_ones_own_may_be_called_as_an_old_one(tmp_path):
    """An alias in a person's file goes before the names of version 0.1."""
    own = tmp_path / "own.toml"
    words = '[printer.ours]\nbased_on = "large"\naliases = ["bed-250"]\n'
    own.write_text(words, encoding="utf-8")

    assert load_shop([own], user_file=None).printer("bed-250").name == "ours"


def test_an_own_printer_may_build_on_the_old_name_of_its_own(tmp_path):
    """Own ``small`` on ``bed-180`` was an entry of its own, and still is what it says."""
    own = tmp_path / "own.toml"
    words = '[printer.small]\nbased_on = "bed-180"\nbed_width_mm = 60\n'
    own.write_text(words, encoding="utf-8")
    small = load_shop([own], user_file=None).printer("small")

    assert (small.bed_width_mm, small.bed_depth_mm) == (60, 180)
