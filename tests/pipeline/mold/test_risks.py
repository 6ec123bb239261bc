"""The risk assessment of a mold: only what this job really does, controlled as the report says."""

from functools import cache

import pytest

import moldgen as mg
from moldgen.export.report.cautions import Hazard, cautions, first_cautions
from moldgen.pipeline.mold.plan import drill_list
from moldgen.pipeline.mold.risks import mold_risk_form
from moldgen.pipeline.risks import risk_rows

OF_STRIPS = {
    Hazard.ELEMENT, Hazard.FUMES, Hazard.PVC, Hazard.EYES, Hazard.SAW, Hazard.DRILL, Hazard.MAINS,
    Hazard.PRINTER,
}  # fmt: skip
"""What can hurt at a strip heater."""


@cache
def form(**words):
    """Return the form of a small sign."""
    design = mg.design(mg.sign("PIER", **{"letter_height": 30} | words))
    mold = design.checked
    return mold_risk_form(design.request, mold, design.setting, drill_list(mold))


def hazards(made):
    """Return what can hurt, by name."""
    return {one for row in made.rows for one in row.hazard.split(" and ")} | {
        row.hazard for row in made.rows
    }


@pytest.mark.parametrize(
    ("words", "there", "not_there"),
    [
        ({}, {"knife", "3-D printer", "fumes", "electricity"},
         {"drill", "sander", "hand saw", "hydrogen chloride of PVC", "dust of the sheet"}),
        ({"vents": "drilled"}, {"drill"}, {"sander"}),
        ({"gauge_mm": 2.0}, {"snips and sharp edges", "sander"}, {"knife", "hand saw", "drill"}),
        ({"gauge_mm": 3.0}, {"hand saw", "sander"}, {"knife", "snips and sharp edges"}),
        ({"plastic": "PC", "gauge_mm": 2.0}, {"hand saw", "sander", "dust of the sheet"},
         {"snips and sharp edges"}),
        ({"plastic": "PVC rigid", "gauge_mm": 1.0}, {"hydrogen chloride of PVC"}, {"saw"}),
    ],
    ids=["knife", "drilled", "snips", "saw", "dust", "PVC"],
)  # fmt: skip
def test_only_what_the_job_really_does_is_a_hazard(words, there, not_there):
    """Tools go by the sheet, machines by what is drilled and sanded, fumes by the plastic."""
    found = hazards(form(**words))

    assert there <= found
    assert not not_there & found


def test_controls_are_the_cautions_of_the_report_and_of_the_plastic():
    """The form has no words of its own about what to do but for the printer's."""
    made = form(vents="drilled")
    told = {row.hazard: " ".join(row.controls) for row in made.rows}
    report = cautions()

    assert made.first == first_cautions() == report[:2]
    assert told["fumes"].startswith(next(one for one in report if one.startswith("Fumes")))
    assert told["fumes"].endswith(mg.load_stock().plastic("HIPS").caution)
    assert told["drill"] == next(one for one in report if one.startswith("Sanders and drills"))


def test_what_is_controlled_alike_is_one_row():
    """A job that drills and sands tells the rule of rotating machines once."""
    (row,) = risk_rows({Hazard.DRILL, Hazard.SANDER})

    assert row.hazard == "sander and drill"
    assert row.who == "who sands, who drills"


def test_every_hazard_has_somebody_and_a_control():
    """Whatever a job does, no row of its form is empty; a hand saw's words come with the tool."""
    only = {False: {Hazard.ELEMENT}, True: set(Hazard) - OF_STRIPS}
    for bending, others in only.items():
        rows = risk_rows(
            set(Hazard) - {Hazard.RULES} - others, bending=bending,
            besides={Hazard.HAND_SAW: "Saw outside."},
        )  # fmt: skip
        assert rows
        assert all(row.who and row.controls for row in rows)


def test_a_saw_for_boards_is_a_hazard_only_of_a_mold_of_wood():
    """A mold that is built from boards has saws and wood dust, and no printer."""
    design = mg.design(mg.tray(120, 80, 20, build="wood"))
    made = mold_risk_form(design.request, design.checked, design.setting, ())

    assert {"saw", "dust of wood"} <= hazards(made)
    assert "3-D printer" not in hazards(made)
