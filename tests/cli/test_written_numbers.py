"""Numbers as they are typed: decimal commas, lists, sizes in one word."""

import pytest

from moldgen.cli.app import main
from moldgen.job import job_toml, load_job
from moldgen.outline.library.shapes import load_shape, outline_from_shape


def saved(tmp_path, *words):
    """The job that a short command stands for."""
    path = tmp_path / f"{len(list(tmp_path.iterdir()))}.toml"
    assert main([*words, "--save-job", str(path)]) == 0
    return load_job(path)


@pytest.mark.parametrize(
    "words",
    [
        ["120x80x25"],
        ["120 x 80 x 25"],
        ["120×80×25 mm"],
        ["120", "x", "80", "x", "25"],
        ["120", "x", "80", "x", "25", "mm"],
        ["12", "x", "8", "x", "2.5", "cm"],
        ["12 x 8 x 2,5 cm"],
    ],
)
def test_a_tray_takes_its_size_in_one_word(tmp_path, words):
    """However the size is written, it is the tray of three arguments."""
    rest = ["--title", "tray", "--gauge", "1,5"]
    assert saved(tmp_path, "tray", *words, *rest) == saved(
        tmp_path, "tray", "120", "80", "25", "--title", "tray", "--gauge", "1.5"
    )


def test_a_size_behind_an_option_is_that_options_value(tmp_path, capsys):
    """Only the tray's own size is parted: a gap of that size is refused as one value."""
    assert main(["tray", "120", "80", "25", "--gap", "6x6x6"]) == 2

    assert "--gap must be a number in mm" in capsys.readouterr().err


@pytest.mark.parametrize("legs", ["80,120,60", "80 120 60", "80; 120; 60", "80 mm 12 cm 6 cm"])
@pytest.mark.parametrize("angles", ["90,110", "90 110", "90 up; 110 up"])
def test_legs_and_angles_are_parted_alike(tmp_path, legs, angles):
    """Commas, semicolons or blanks: the same strip."""
    strip = saved(tmp_path, "bend", "--legs", legs, "--angles", angles).strip

    assert strip.legs_mm == (80, 120, 60)
    assert [bend.angle_deg for bend in strip.bend] == [90, 110]


def test_a_decimal_comma_in_a_list_wants_semicolons(tmp_path, capsys):
    """With semicolons a leg may have a decimal comma; without them it is two legs."""
    strip = saved(tmp_path, "bend", "--legs", "80,5; 120", "--angles", "90").strip

    assert strip.legs_mm == (80.5, 120)
    assert main(["bend", "--legs", "80,5 120", "--angles", "90"]) == 2
    assert "--legs 2 must be a number" in capsys.readouterr().err


def test_a_job_file_reads_the_same_words(tmp_path):
    """Texts in a job file are read as what is typed: decimal commas, and lists in one text."""
    job = saved(tmp_path, "bend", "--legs", "80.5,120,60", "--angles", "90,110")
    words = job_toml(job).replace("[80.5, 120, 60]", '"80,5; 120; 60"')
    path = tmp_path / "words.toml"
    path.write_text(words.replace("thickness = 3 ", 'thickness = "3,0"'), encoding="utf-8")

    assert '"80,5; 120; 60"' in words
    assert load_job(path) == job


def test_a_shape_is_found_in_any_capitals():
    """Capitals in a shape's name make no difference to what is made."""
    assert load_shape("Wave-Plaque") == load_shape("wave-plaque")
    assert outline_from_shape("FISH", width_mm=60).equals(outline_from_shape("fish", width_mm=60))


def test_a_command_is_found_in_any_capitals(tmp_path):
    """A telephone's keyboard writes Sign; that is sign."""
    assert saved(tmp_path, "Sign", "A") == saved(tmp_path, "sign", "A")
