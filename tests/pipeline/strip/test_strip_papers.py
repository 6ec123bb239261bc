"""The card and the risk assessment of a bent strip: the numbers of its dwells, its own hazards."""

import re
from functools import cache
from pathlib import Path

import pytest
from shapely import box
from support.pdf_text import overlapping, pdf_pages
from support.some import some

import moldgen as mg
from moldgen.bend.heat.dwell_text import clock
from moldgen.export.card.job_card import CARD_PAPERS, job_cards_pdf_bytes
from moldgen.job import BendCommand, strip_job
from moldgen.pipeline.strip.card import BENDING_SEEN, strip_card
from moldgen.pipeline.strip.plan import build_strip_plan
from moldgen.pipeline.strip.risks import strip_risk_form
from moldgen.pipeline.strip.work import build_work
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)


@cache
def work(legs=(80.0, 120.0, 60.0), angles="90,110", **words):
    """Return a strip that is worked out."""
    job = strip_job(BendCommand(legs_mm=legs, angles=angles, **words))
    return build_work(job, folder=Path(), shop=SHOP)


def steps(made):
    """Return the steps of a card, by name."""
    return {step.name: step for step in strip_card(made).steps}


def test_bends_stand_in_the_order_in_which_they_are_made():
    """Sheet and lines come first, then warming up, the bends in their order, then cooling."""
    made = work()
    names = list(steps(made))

    assert names[:3] == ["Strip", "Lines", "Warm up"]
    assert names[3:-1] == [f"Bend {number}" for number in made.order.numbers]
    assert names[-1] == "Cool"


def test_dwell_angle_jig_and_hold_are_those_that_were_computed():
    """The large number is the band of the dwell; the words have way, jig and time to hold."""
    made = work()
    told = steps(made)
    for number, dwell in some(enumerate(made.dwells, start=1)):
        step, jig = told[f"Bend {number}"], made.jigs.for_bend(number)
        low, high = (clock(time_s) for time_s in dwell.band_s)

        assert step.value.startswith(f"{low} to {high} ")
        assert f"Hold {clock(dwell.hold_s)}." in step.words
        assert f"Press: {jig.title}." in step.words
        assert re.search(r"^\d+° (up|down)\. The ", step.words)
    assert told["Bend 1"].value.endswith("a side")
    assert "The marks down first, turned over once." in told["Bend 1"].words
    assert told["Bend 2"].value.endswith("in all")
    assert "lift it off 15 s after each 1 min" in told["Bend 2"].words


def test_without_jigs_the_card_says_what_to_press_against():
    """A block of wood is cut to the pressed angle."""
    made = work(jigs=())

    assert made.jigs.printed == ()
    assert f"Press against a block cut to {made.pressed_deg(1):g}°" in steps(made)["Bend 1"].words


def test_a_strip_without_an_order_says_stop():
    """Nothing is heated that cannot be bent."""
    told = steps(work(legs=(80.0, 60.0, 60.0, 80.0), angles="90,90,90"))

    assert list(told)[-1] == "Stop"
    assert not [name for name in told if name.startswith("Bend")]


@pytest.mark.parametrize("paper", CARD_PAPERS)
def test_a_card_of_many_bends_still_fits_one_side(paper):
    """Six bends are on the page, nothing lies on anything else, and there is what to tick."""
    made = work(legs=(60.0,) * 7, angles="30,-30,30,-30,30,-30", jigs=())
    card = strip_card(made, plan=build_strip_plan(made.layout))
    (lines,) = pdf_pages(job_cards_pdf_bytes([card], paper=CARD_PAPERS[paper], title="Card"))
    size = CARD_PAPERS[paper]
    page = box(7.9, 7.5, size.width_mm - 7.9, size.height_mm - 7.9)
    words = {line.text for line in lines}

    assert overlapping(lines) == []
    assert [line.text for line in lines if not page.covers(line.box_mm)] == []
    assert set(BENDING_SEEN) | {f"Bend {k}" for k in range(1, 7)} <= words
    assert "Cycle no." not in words


def test_a_strip_is_written_with_its_papers():
    """Card and form are PDF files like the layout, the card on half of the paper."""
    files = mg.make(mg.strip(legs_mm="80,60", angles="90", width_mm=40)).files("pdf")
    endings = {name.rpartition("-")[2]: data for name, data in files.items()}

    assert set(endings) == {"layout.pdf", "card.pdf", "risks.pdf"}
    assert b"/MediaBox [0 0 419.5" in endings["card.pdf"]
    assert b"/MediaBox [0 0 595.2" in endings["risks.pdf"]


def test_hazards_are_those_of_the_strip_heater():
    """A strip is sawn, and drilled only if it has holes; no forming frame, no knife."""
    bare = {row.hazard for row in strip_risk_form(work()).rows}
    none_printed = {row.hazard for row in strip_risk_form(work(jigs=())).rows}

    assert {"hot strip and element", "fumes", "saw", "electricity", "3-D printer"} <= bare
    assert not {"knife", "closing frame and vacuum", "drill", "hydrogen chloride of PVC"} & bare
    assert "3-D printer" not in none_printed


def test_fumes_are_those_of_the_plastic():
    """The caution of the stock stands with the usual one."""
    made = work()
    told = {row.hazard: row.controls for row in strip_risk_form(made).rows}

    assert told["fumes"][-1] == made.bench.plastic.caution
