"""The commands about printing: measure, refit, split, test piece."""

import json
from pathlib import Path

import numpy as np
import pytest
from manifold3d import Manifold
from support.printed import box, mesh, opened, rod

from moldgen.cli.app import main
from moldgen.export.mesh.stl import stl_bytes
from moldgen.solid.reading.mesh_file import load_mesh

STOCK = """\
[printer.small]
title = "Small printer of the shed"
based_on = "bed-180"
bed_width_mm = 80
bed_depth_mm = 60
bed_height_mm = 80
"""
SMALL = ["--printer", "small", "--stock", "stock.toml"]


@pytest.fixture(autouse=True)
def shed(monkeypatch, tmp_path):
    """Work in a folder with a part, and a printer of our own."""
    monkeypatch.chdir(tmp_path)
    Path("stock.toml").write_text(STOCK, encoding="utf-8")
    cradle = box(120, 40, 20) - rod(12, 42, z=-1).rotate((90, 0, 0)).translate((60, 41, 20))
    Path("cradle.stl").write_bytes(stl_bytes([mesh(cradle)], title="oar cradle"))
    Path("torn.stl").write_bytes(stl_bytes([opened(cradle)], title="torn"))
    Path("bead.stl").write_bytes(stl_bytes([mesh(Manifold.sphere(2, 24))], title="bead"))


def run(*words, formats="json"):
    """Run a command with few files, to be quick."""
    return main([*words, "--formats", formats])


def size_of(path):
    """Return the sides of the box of a mesh file."""
    return np.ptp(load_mesh(Path(path))[0].mesh.points_mm, axis=0)


def test_measure_tells_size_mass_and_what_printing_takes(capsys):
    """The summary holds what a volunteer needs, as JSON the same numbers."""
    assert main(["measure", "cradle.stl", "--formats", "json", "--json"]) == 0

    told = json.loads(capsys.readouterr().out)
    assert told["numbers"]["size_mm"] == pytest.approx([120, 40, 20], abs=1e-3)
    volume = 120 * 40 * 20 - np.pi * 144 / 2 * 40
    assert told["numbers"]["volume_mm3"] == pytest.approx(volume, rel=5e-3)
    masses = told["numbers"]["masses_g"]
    assert masses["PETG"] == pytest.approx(told["numbers"]["mass_g"])
    assert masses["PETG"] / masses["ABS"] == pytest.approx(1.27 / 1.05)
    assert 0.2 * volume * 1.27e-3 < masses["PETG"] < 0.7 * volume * 1.27e-3
    assert set(told["summary"]) >= {"Size", "Volume", "Least draft", "Thinnest wall", "Prints best"}
    assert told["numbers"]["time_s"] > 600


def test_measure_tells_of_an_open_mesh_what_can_be_told(capsys):
    """Size and surface, no volume; it will not do as it stands."""
    assert run("measure", "torn.stl") == 1

    out = capsys.readouterr().out
    assert "open" in out
    assert "Volume" not in out
    assert "the surface has holes" in out


def test_measure_tells_small_volumes_and_no_wall_of_a_low_part(capsys):
    """0.004 cm³ is not nothing; what is lower than an underside has no wall that is told."""
    Path("chip.stl").write_bytes(stl_bytes([mesh(box(4, 2, 0.5))], title="chip"))
    assert run("measure", "chip.stl") in (0, 1)

    out = capsys.readouterr().out
    assert "0.004 cm³" in out
    assert "not told for parts lower than" in out


def test_measure_asks_for_the_unit_of_a_speck(capsys):
    """4 mm wide is more likely inches or centimeters."""
    assert run("measure", "bead.stl") == 0

    assert "State the unit of the file" in capsys.readouterr().out


def test_measure_writes_report_and_pictures():
    """Pages and pictures are there, and the same bytes twice."""
    written = []
    for folder in ("one", "two"):
        assert main(["measure", "cradle.stl", "--out", folder, "--formats", "html,png,json"]) == 0
        written.append({path.name: path.read_bytes() for path in Path(folder).glob("[!.]*")})

    assert set(written[0]) == {
        "report.html", "findings.json", "measures-of-cradle-views.png",
        "measures-of-cradle-below.png",
    }  # fmt: skip
    assert written[0] == written[1]


def test_refit_scales_to_a_length(capsys):
    """The span that measures 24 mm must be 25.2 mm."""
    words = ["refit", "cradle.stl", "--measured", "24", "--length", "25.2"]
    assert run(*words, formats="stl") == 0

    assert size_of("outputs/cradle-refit/cradle-refit.stl") == pytest.approx(
        [126, 42, 21], abs=1e-3
    )
    assert "105.00% in every direction" in capsys.readouterr().out


def test_refit_makes_all_changes_in_order():
    """Turned, mirrored, cut and thickened: the sizes tell."""
    words = ["--up", "-z", "--mirror", "x", "--cut", "8", "--thicken", "3"]
    assert run("refit", "cradle.stl", *words, formats="stl") == 0

    assert size_of("outputs/cradle-refit/cradle-refit.stl") == pytest.approx(
        [120, 40, 15], abs=1e-3
    )


def test_refit_hollows_and_vents(capsys):
    """Both are told of in the summary."""
    assert run("refit", "cradle.stl", "--hollow", "--cell", "10", "--vents", "--vent", "1.5") == 0

    out = capsys.readouterr().out
    assert "cm³ taken out" in out
    assert "of 1.5 mm, printed" in out


def test_split_makes_pieces_that_fit(capsys):
    """Two files, each within the bed, and the steps in the report."""
    assert run("split", "cradle.stl", *SMALL, formats="stl,html") == 0

    pieces = sorted(Path("outputs/cradle-split").glob("*.stl"))
    assert len(pieces) == 2
    for piece in pieces:
        width, depth, height = size_of(piece)
        assert width <= 74
        assert depth <= 54
        assert height <= 80
    page = Path("outputs/cradle-split/report.html").read_text(encoding="utf-8")
    assert "Dry fit" in page
    assert "the size is that of the whole, 120.0 x 40.0 x 20.0 mm." in page
    assert "steel" in capsys.readouterr().out


def test_the_picture_of_a_split_gives_the_size_of_the_whole(monkeypatch):
    """Pieces are drawn pulled apart; the size beneath them is not that of the gaps as well."""
    from moldgen.export.picture import views as picture

    sizes = []
    monkeypatch.setattr(
        picture, "write_caption",
        lambda canvas, mesh, title, px_per_mm: sizes.append(np.ptp(mesh.points_mm, axis=0)),
    )  # fmt: skip
    assert run("split", "cradle.stl", *SMALL, formats="png") == 0

    assert np.allclose(sizes[0], [120, 40, 20], atol=1e-3)


def test_split_prints_pins_on_request():
    """They come as files of their own."""
    assert run("split", "cradle.stl", *SMALL, "--keys", "printed", formats="stl") == 0

    assert len(list(Path("outputs/cradle-split").glob("*pin*.stl"))) == 2


def test_split_leaves_alone_what_fits(capsys):
    """And says so."""
    assert run("split", "cradle.stl") == 0

    assert "fits the printer whole" in capsys.readouterr().out


def test_test_piece_makes_four_plates():
    """Vents, slits, lying and standing holes."""
    assert run("test-piece", "--dowel", "steel 4", "--plays", "0,0.2", formats="stl") == 0

    assert len(list(Path("outputs/test-pieces-steel-4").glob("*.stl"))) == 4


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["split", "torn.stl"], "torn.stl: torn is not a closed solid, 3 of its edges"),
        (["refit", "cradle.stl"], "file must be changed somehow (got no change)"),
        (
            ["refit", "cradle.stl", "--measured", "24"],
            "--measured must be used with length (got no length).",
        ),
        (
            ["refit", "cradle.stl", "--grooves"],
            "--grooves must be used with vents (got no vents).",
        ),
        (["refit", "cradle.stl", "--cut", "25"], "--cut must be between 0 and 20.0 mm (got 25 mm)"),
        (["split", "cradle.stl", "--dowel", "7"], "--dowel must be a standard dowel (got '7')"),
        (["split", "cradle.stl", "--keys", "glue"], "--keys must be dowel, printed or none"),
        (["split", "cradle.stl", "--unit", "m"], "Check the unit of the file"),
        (["measure", "gone.stl"], "gone.stl does not exist"),
        (["test-piece", "--plays", "3"], "--plays"),
        (["measure", "cradle.stl", "--printer", "huge"], "--printer must be a printer in stock"),
    ],
)
def test_bad_input_is_one_sentence(words, sentence, capsys):
    """Exit code 2, one line, nothing written."""
    assert run(*words) == 2

    err = capsys.readouterr().err
    assert sentence in err
    assert err.count("\n") == 1
    assert not Path("outputs").exists()
