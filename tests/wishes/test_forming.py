"""What rules say, held against formed sheets: a few wishes stand for all."""

from dataclasses import replace
from functools import cache

from moldgen.finding import Finding, Severity
from moldgen.mold.choices import FormingLook
from wishes.__main__ import lines_of, summary
from wishes.forming import HeldWish, held
from wishes.wishes import Wish

PREVIEW = FormingLook.PREVIEW
PIER = Wish("sign", "PIER 4", {})
CROWDED = Wish("sign", "SLIP", {"letter_height_mm": 20, "gauge_mm": 1.0, "relief_mm": 9.0})
BLOCK = Wish("tray", "120x80x40", {"side": "male", "gauge_mm": 1.0})


BY_NAME = {wish.name: wish for wish in (PIER, CROWDED, BLOCK)}


@cache
def formed(name):
    """Return a wish held against its sheet, formed once."""
    return held(BY_NAME[name], PREVIEW)


def test_a_sign_that_forms_is_told_nothing_false():
    """Nothing is said of its sheet, and the sheet shows nothing."""
    told = formed(PIER.name)

    assert told.false == told.absent == ()
    assert told.cautions == 0


def test_a_gap_that_the_sheet_does_not_reach_into_is_rightly_told():
    """The rule tells of the gaps before the run does: neither false nor absent."""
    told = formed(CROWDED.name)

    assert "gap-narrow" in {one.code for one in told.findings}
    assert "gap-narrow" not in {one.code for one in told.false}


def test_what_no_rule_tells_is_absent():
    """Webs at the corners of a tall block are seen by the run alone."""
    told = formed(BLOCK.name)

    assert any(what.startswith("web ") for what in told.absent)
    assert [line.partition(": absent: ")[0] for line in lines_of(told)] == [BLOCK.name] * len(
        list(lines_of(told))
    )


def test_counts_are_those_of_the_wishes():
    """One row for each rule, and one for all."""
    said = Finding(code="gap-narrow", severity=Severity.CAUTION, says="gaps are narrow")
    one = HeldWish(wish=PIER, findings=(said, said), false=(said,), absent=("thin, 0.10 mm",))
    other = replace(one, findings=(replace(said, severity=Severity.NOTE),), false=(), absent=())

    *rows, last = summary([one, other])
    assert [row.split() for row in rows] == [["rule", "said", "false"], ["gap-narrow", "3", "1"]]
    assert last == "2 jobs, 1.50 findings each, 2 cautions, 1 false, 1 absent"
