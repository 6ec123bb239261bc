"""Meshes that are no solids: one sentence and exit code 2, whatever is asked of them."""

import numpy as np
import pytest
from support.hostile import box_triangles, stl

from moldgen.cli.app import main

SHEET = [[(0, 0, 0), (60, 0, 0), (0, 60, 0)], [(0, 0, 0), (0, 60, 0), (60, 0, 0)]]
FAR = np.where(box_triangles(60, 60, 30) == 30, 1e29, box_triangles(60, 60, 30))
MESHES = {
    "squeezed": (box_triangles(60, 60, 0), "is flat and encloses nothing"),
    "folded": (SHEET, "is flat and encloses nothing"),
    "hair": (box_triangles(1e-20, 60, 30), "is flat and encloses nothing"),
    "huge": (box_triangles(1e15, 1e15, 1e15), "km from the origin"),
    "far": (FAR, "km from the origin"),
    "soup": (np.random.default_rng(0).uniform(0, 60, (300, 3, 3)), "is not a closed solid"),
}
COMMANDS = {"measure": [], "refit": ["--thicken", "2"], "split": [], "trim": []}
# An open part is measured as far as it goes.
CASES = [(c, n) for c in COMMANDS for n in MESHES if (c, n) != ("measure", "soup")]


@pytest.mark.parametrize(("command", "name"), CASES)
def test_what_is_no_solid_is_bad_input(command, name, tmp_path, capsys):
    """The sentence names the file and what is wrong with it; nothing is written."""
    triangles, says = MESHES[name]
    path = tmp_path / "part.stl"
    path.write_bytes(stl(triangles))

    code = main([command, str(path), *COMMANDS[command], "--out", str(tmp_path / "out")])

    told = capsys.readouterr().err
    assert (code, told.count("\n")) == (2, 1)
    assert says in told
    assert "part.stl" in told
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["squeezed", "folded"])
def test_a_flat_part_does_not_pass_the_check(name, tmp_path, capsys):
    """A part without a height will not form."""
    path = tmp_path / "part.stl"
    path.write_bytes(stl(MESHES[name][0]))

    code = main(["check", str(path), "--formats", "json", "--out", str(tmp_path / "out")])

    assert code == 1
    assert "the body is flat and encloses nothing" in capsys.readouterr().out


def test_a_wall_of_no_height_is_refused_by_its_rule(tmp_path, capsys):
    """A height of 1e-300 mm is no height."""
    path = tmp_path / "a.toml"
    path.write_text(
        'title = "x"\n[[body]]\nname = "a"\nheight = 1e-300\n'
        'outline = { shape = "rounded-plaque", width = 100, height = 60 }\n'
    )

    assert main(["make", str(path), "--out", str(tmp_path / "out")]) == 2
    assert "height must be at least 0.05 mm" in capsys.readouterr().err


def test_strokes_thinner_than_the_sheet_are_refused_with_both_numbers(tmp_path, capsys):
    """A word 48 mm wide in sheet of 6 mm leaves nothing of its strokes on the mold."""
    path = tmp_path / "a.toml"
    path.write_text(
        'title = "x"\n[sheet]\nplastic = "HIPS"\ngauge = 6\n[[body]]\nname = "a"\nheight = 12\n'
        'read_at = "part-outside"\noutline = { text = "TIDE", width = 48 }\n'
    )

    assert main(["make", str(path), "--out", str(tmp_path / "out")]) == 2
    assert "must be wider than the sheet is thick on both sides" in capsys.readouterr().err


def test_letters_of_any_alphabet_get_files_of_their_own(tmp_path):
    """Two letters without a Latin spelling in common are two files."""
    words = ["sign", "ЖЩ", "--as", "letters", "--formats", "stl", "--out", str(tmp_path / "out")]

    assert main(words) in (0, 1)
    assert len(list((tmp_path / "out").glob("*.stl"))) == 2
