"""Jobs from arguments: the same jobs as the command line's, the same sentences."""

import numpy as np
import pytest
from support.option_types import TARGET, module_text

import moldgen as mg
from moldgen.cli.options import spec_from_options
from moldgen.job import BendCommand, SignCommand, TrayCommand, sign_job, strip_job, tray_job


def test_a_sign_is_the_sign_of_the_command_line():
    """Units may stand in the name or in the value, choices are words, lines part at a slash."""
    typed = {
        "words": ["HIGH / TIDE"], "letter_height_mm": "25", "gauge_mm": "1 mm",
        "forming": "fine", "formats": ["stl,3mf"], "align": "left",
    }  # fmt: skip
    job = mg.sign(
        "HIGH / TIDE", letter_height=25, gauge="1 mm", forming="fine", formats=["stl", "3mf"],
        align="left",
    )  # fmt: skip

    assert job == sign_job(spec_from_options(SignCommand, typed))
    assert job == mg.sign(
        "HIGH", "TIDE", letter_height_mm="2.5 cm", gauge_mm=1, forming="fine",
        formats="stl, 3mf", align="left",
    )  # fmt: skip
    assert job.body[0].raised[0].outline.text == "HIGH\nTIDE"


def test_a_tray_is_the_tray_of_the_command_line():
    """Numbers may come out of an array, and compartments be written."""
    sizes = np.array([120, 80], dtype=np.float32)
    typed = {"length_mm": "120", "width_mm": "80", "depth_mm": "1in", "compartments": "3 x 2"}
    job = mg.tray(sizes[0], sizes[1], "1 in", compartments="3 x 2")

    assert job == tray_job(spec_from_options(TrayCommand, typed))


def test_a_strip_takes_lists():
    """Legs and angles may be lists or texts."""
    typed = {"legs_mm": "80,120,60", "angles": "90,-110"}
    job = mg.strip(legs=[80, 120, "60 mm"], angles=[90, -110])

    assert job == strip_job(spec_from_options(BendCommand, typed))
    assert job == mg.strip(legs_mm="80, 120, 60", angles="90, 110 down")


def test_a_job_reads_back_from_its_text(tmp_path):
    """What arguments make can be kept as a job file."""
    job = mg.drawing(shape="anchor", height=6, draft="5 deg")
    (tmp_path / "anchor.toml").write_text(mg.job_toml(job), encoding="utf-8")

    assert mg.load_job(tmp_path / "anchor.toml") == job


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: mg.sign("A", gauge=0.01),
         "gauge must be at least 0.1 mm and at most 12 mm (got 0.01 mm)."),
        (lambda: mg.sign("A", gauge_mm="1 kg"),
         "gauge_mm must be a number in mm, cm, m, in, ft or thou (got '1 kg'). Correct the unit."),
        (lambda: mg.sign("A", guage=1),
         "argument must be one that belongs here (got 'guage'). Did you mean gauge?"),
        (lambda: mg.sign("A", gauge=1, gauge_mm=1),
         "gauge_mm must be given once (got it twice). Leave one of them out."),
        (lambda: mg.sign("A", forming="of"),
         "forming must be auto, off, preview or fine (got 'of'). Did you mean off?"),
        (lambda: mg.sign(), 'words must be given (got nothing). Write them like "HIGH TIDE".'),
        (lambda: mg.sign("A", shrinkage="yes"),
         "shrinkage must be true or false (got 'yes'). Write it without quotes."),
        (lambda: mg.drawing(),
         "shape must be given, or else a file (got neither). Give one of the two."),
        (lambda: mg.strip(legs=[10, 20], angles=[0]),
         "angles 1 must be like 90, -90 or 90 down (got '0'). Leave flats out."),
        (lambda: mg.make("tide.toml"),
         "job must be a job of a mold or a strip (got 'tide.toml'). load_job reads a job file."),
        (lambda: mg.make(mg.sign("A"), stock=3),
         "stock must be a stock, or the name of a stock file (got 3). load_stock reads one."),
        (lambda: mg.make(mg.sign("A", plastic="HIP")),
         "plastic must be a plastic in stock (got 'HIP'). Did you mean HIPS?"),
    ],
)  # fmt: skip
def test_a_wrong_argument_gets_one_sentence(call, sentence):
    """The argument is named as it was written, with rule, value and what to do."""
    with pytest.raises(mg.SpecError) as told:
        call()

    assert str(told.value) == sentence


def test_the_command_line_says_the_same():
    """But for the name, a wrong option is told in the same words."""
    with pytest.raises(mg.SpecError) as passed:
        mg.sign("A", gauge="1 kg")
    with pytest.raises(mg.SpecError) as typed:
        spec_from_options(SignCommand, {"words": ["A"], "gauge_mm": "1 kg"})

    assert str(typed.value) == f"--{passed.value}"


def test_stock_of_ones_own_is_found_by_name(tmp_path):
    """An entry of a stock file is read by name and by nobody else."""
    path = tmp_path / "shed.toml"
    path.write_text('[plastic."shed HIPS"]\nbased_on = "HIPS"\n', encoding="utf-8")

    assert mg.load_stock(path).plastic("shed HIPS").based_on == "HIPS"
    with pytest.raises(mg.SpecError, match="shed HIPS"):
        mg.load_stock(own=False).plastic("shed HIPS")


def test_the_types_of_arguments_are_those_of_the_forms():
    """The written types are what the forms say now."""
    assert TARGET.read_text(encoding="utf-8") == module_text()


def test_there_is_a_list_of_what_can_be_chosen():
    """Shapes and fonts are listed with their names."""
    assert {"anchor", "star"} <= set(mg.shape_names())
    assert len(mg.shapes()) == len(mg.shape_names())
    assert {face.name for face in mg.fonts()} >= {"Rubik Bold", "Bungee"}
