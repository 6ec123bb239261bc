"""The risk assessment form as a page: all of it on one side, in its columns, to be signed."""

from dataclasses import replace

import pytest
from shapely import box
from support.pdf_text import overlapping, pdf_pages
from support.some import some

from moldgen.export.card.risk_form import MARGIN_MM, RiskForm, RiskRow, risk_form_pdf_bytes
from moldgen.export.plan.paper import PAPERS
from moldgen.export.report.cautions import Hazard, first_cautions
from moldgen.language import Language, speak
from moldgen.pipeline.risks import risk_rows

ROWS = risk_rows({Hazard.HEAT, Hazard.FUMES, Hazard.DRILL})
EVERY_ROW = risk_rows(set(Hazard) - {Hazard.RULES})
FORM = RiskForm(title="Cleat", facts=(("Sheet", "HIPS 1.5 mm"),), first=first_cautions(), rows=ROWS)
CROWDED = replace(
    FORM, title="A long title of a plate for the far end of the pier",
    rows=(*EVERY_ROW, RiskRow(hazard="tide", who="swimmers", controls=("Look. " * 30,))),
)  # fmt: skip
every = pytest.mark.parametrize("form", [FORM, CROWDED], ids=["usual", "crowded"])
on_each = pytest.mark.parametrize("paper", ["A4", "Letter"])


@every
@on_each
def test_it_is_one_page_on_which_no_line_leaves_its_place(form, paper):
    """Nothing lies on anything else or off the paper, and letters are 1.5 mm high at least."""
    size = PAPERS[paper]
    (lines,) = pdf_pages(risk_form_pdf_bytes(form, paper=size))
    page = box(0, 0, size.width_mm, size.height_mm).buffer(0.1 - MARGIN_MM, join_style="mitre")

    assert overlapping(lines) == []
    for line in some(lines):
        assert page.covers(line.box_mm), line.text
        assert line.size_mm >= 1.5


@every
def test_local_rules_come_before_the_table_and_all_controls_are_in_it(form):
    """What stands first on the page is the rule that other rules go before this one."""
    (lines,) = pdf_pages(risk_form_pdf_bytes(form, paper=PAPERS["A4"]))
    told = " ".join(line.text for line in lines)
    height = {word: max(one.y_mm for one in lines if one.text.startswith(word))
              for word in ("Local rules come", "Hazard", "Assessed by")}  # fmt: skip

    assert height["Local rules come"] > height["Hazard"] > height["Assessed by"]
    for row in some(form.rows):
        for word in " ".join(row.controls).split():
            assert word in told


def test_there_is_room_for_names_dates_signatures_and_further_rules():
    """Two people sign, each with a date; what the room adds is written on lines of its own."""
    pdf = risk_form_pdf_bytes(FORM, paper=PAPERS["A4"])
    (lines,) = pdf_pages(pdf)
    words = [line.text for line in lines]

    assert words.count("Signature") == words.count("Date") == 2
    assert {"Assessed by", "Reviewed by", "Initials", "Control", "Hazard"} <= set(words)
    assert any(word.startswith("Rules of this room that go further") for word in words)
    assert pdf.count(b" l S") >= 9


def test_each_row_has_an_empty_box_for_initials():
    """The last column of the table holds nothing but its heading."""
    (lines,) = pdf_pages(risk_form_pdf_bytes(FORM, paper=PAPERS["A4"]))
    initials = next(line for line in lines if line.text == "Initials")
    below = [line.text for line in lines if line.x_mm > initials.x_mm - 1.0]

    assert below == ["Initials"]


def test_the_same_form_gives_the_same_bytes():
    """Nothing of the day it was made on is in it."""
    one, other = (risk_form_pdf_bytes(FORM, paper=PAPERS["A4"]) for _ in range(2))

    assert one == other
    assert b"CreationDate" not in one


@pytest.mark.parametrize("language", [one for one in Language if one is not Language.EN])
def test_a_form_is_told_in_the_language_of_its_readers(language):
    """Head, hazards, who, controls and what is signed are all turned, and they still fit."""
    with speak(language):
        (lines,) = pdf_pages(risk_form_pdf_bytes(CROWDED, paper=PAPERS["A4"]))
    (english,) = pdf_pages(risk_form_pdf_bytes(CROWDED, paper=PAPERS["A4"]))
    left = {line.text for line in lines} & {line.text for line in english}

    assert overlapping(lines) == []
    assert not [word for word in left if word not in KEPT and "Look." not in word]


KEPT = {CROWDED.title, "Tide", "Swimmers", "Date", "PVC"}
"""What is a name of its own, or the same in another language."""
