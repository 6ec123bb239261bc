"""What the job card of a mold says: the numbers of the day, in the order of the day."""

from dataclasses import replace
from functools import cache

import pytest

import moldgen as mg
from moldgen.pipeline.mold.card import job_card
from moldgen.pipeline.mold.plan import drill_list
from moldgen.wording import span_text


@cache
def made(*, insert="", vented=True, **words):
    """Return design and steps of a small sign's card, by name."""
    job = mg.sign("PIER", **{"letter_height": 20} | words)
    underside = replace(job.underside, insert=insert) if insert else job.underside
    vents = replace(job.vents, place=vented)
    design = mg.design(replace(job, underside=underside, vents=vents))
    card = job_card(
        design.request, design.checked, design.setting,
        drilling=drill_list(design.checked), day=design.day,
    )  # fmt: skip
    return design, {step.name: step for step in card.steps}, card


def test_the_steps_come_in_the_order_of_the_day():
    """Vents are looked at before the sheet is clamped, and trimming is last."""
    _, steps, card = made()

    assert list(steps) == ["Vents", "Sheet", "Heat", "Form", "Cool", "Release", "Trim"]
    assert card.cautions[0].startswith("Local rules come first")


def test_times_are_the_ends_of_the_bands_that_the_report_tells():
    """The card computes nothing of its own: heating and cooling are those of the day."""
    design, steps, _ = made()
    heated, cooled = design.day.heated, design.day.thickest

    assert steps["Heat"].value == span_text(heated.forming_s, *heated.band_s)
    assert steps["Cool"].value == span_text(cooled.stiff_s, *cooled.band_s)
    assert steps["Sheet"].value == "HIPS 1.5 mm"
    assert "wooden stick, never with a finger" in steps["Heat"].words


@pytest.mark.parametrize(
    ("words", "begins"),
    [
        ({"letter_height": 30}, "look through "),
        ({"vents": "drilled"}, "drill "),
        ({"vented": False}, None),
    ],
    ids=["slits", "drilled", "none"],
)
def test_vents_are_counted_by_the_way_they_are_opened(words, begins):
    """Slits are looked through, drilled holes told with number and size; none, no step."""
    design, steps, _ = made(**words)

    assert ("Vents" in steps) == (begins is not None)
    if begins:
        assert steps["Vents"].value.startswith(begins)
        assert f" {len(design.checked.vents.vents)} " in steps["Vents"].value


def test_slits_beside_drilled_holes_are_told_as_well():
    """One vent that has no room for a slit is drilled; the words tell of the others."""
    design, steps, _ = made()
    n_drilled = len(drill_list(design.checked))
    n_slits = len(design.checked.vents.vents) - n_drilled

    assert steps["Vents"].value.startswith(f"drill {n_drilled} x ")
    assert f"Look through {n_slits} slits: against the light" in steps["Vents"].words


def test_a_sheet_without_a_window_gets_no_time():
    """Where a face burns before the other is soft, the card sends to the report."""
    _, steps, _ = made(plastic="PC", gauge_mm=4.0)

    assert steps["Heat"].value in ("no safe time", "not on this table")
    assert "see the report" in steps["Heat"].words


def test_less_heat_is_told_where_only_that_has_a_window():
    """The share of the heater's power stands before the signs."""
    design, steps, _ = made(gauge_mm=4.0)

    assert design.day.heated.usable is design.day.heated.lower
    assert "of its power" in steps["Heat"].words
    assert "s" in steps["Heat"].value


def test_an_insert_is_what_the_mold_is_lifted_by():
    """Its thread is the large number; without one the part is eased off."""
    _, bare, _ = made(insert="none")
    _, lifted, _ = made(letter_height=60, relief=14)

    assert bare["Release"].value == "ease off all round"
    assert lifted["Release"].value == "M4 screw, lift straight"


def test_every_mold_is_written_with_its_card():
    """The card is one of the PDF files, on half of the paper that is asked for."""
    result = mg.make(mg.sign("PIER", letter_height=20))
    a4, letter = (result.files("pdf", paper=paper) for paper in ("A4", "letter"))

    assert set(a4) == {"pier-plan.pdf", "pier-card.pdf", "pier-risks.pdf"}
    assert b"/MediaBox [0 0 419.5" in a4["pier-card.pdf"]
    assert b"/MediaBox [0 0 396.0" in letter["pier-card.pdf"]


def test_the_code_on_the_card_is_the_link_of_the_job(monkeypatch):
    """A job that names an address has it as a code on its card, and keeps it in its file."""
    drawn = []
    monkeypatch.setattr(
        "moldgen.export.card.job_card.draw_qr_code", lambda page, link, **_: drawn.append(link)
    )
    job = mg.sign("A", letter_height=12, formats=["pdf"])
    linked = replace(job, output=replace(job.output, link="http://192.0.2.7:8470/log/ab3k9"))

    mg.make(job).files()
    assert drawn == []
    mg.make(linked).files()

    assert drawn == ["http://192.0.2.7:8470/log/ab3k9"]
    assert 'link = "http://192.0.2.7:8470/log/ab3k9"' in mg.job_toml(linked)
    with pytest.raises(mg.SpecError, match="link must be one line of plain text"):
        replace(job.output, link="a\nb")
