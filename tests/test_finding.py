"""What findings say, and in which order."""

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.finding import (
    Finding,
    Severity,
    amount,
    counted,
    ranked,
    ring_numbers,
    sentence,
    worst,
)

LOW_DRAFT = Finding(
    code="draft-low",
    severity=Severity.STOP,
    says="the wall leans too little to release",
    measured=1.234,
    limit=3.0,
    unit="°",
    where_mm=(12.34, -0.04, 6.0),
    subject="plaque",
    basis="common practice, no source",
    advice="Lean it more.",
)
findings = st.builds(
    Finding,
    code=st.sampled_from(["draft-low", "gap-narrow", "vent-far"]),
    severity=st.sampled_from(Severity),
    says=st.just("a fact"),
    measured=st.none() | st.floats(-1e6, 1e6),
)


def test_the_sentence_holds_everything_in_order():
    """Subject, fact, numbers, place, advice."""
    assert sentence(LOW_DRAFT) == (
        "plaque: the wall leans too little to release (1.23°, limit 3°) at x 12.3, y 0, z 6 mm. "
        "Lean it more."
    )


def test_the_sentence_leaves_out_what_is_not_known():
    """Without subject, numbers, place and advice the fact stands alone."""
    bare = Finding(code="label-none", severity=Severity.NOTE, says="there is no room for a label")

    assert sentence(bare) == "there is no room for a label."


def test_a_measure_without_a_limit_stands_alone():
    """One number in brackets."""
    counted = Finding(code="vents", severity=Severity.NOTE, says="vents to drill", measured=7)

    assert sentence(counted) == "vents to drill (7)."


def test_a_limit_of_zero_is_a_limit():
    """Nothing allowed is not the same as nothing said."""
    holes = Finding(code="open", severity=Severity.STOP, says="edges are open", measured=4, limit=0)

    assert sentence(holes) == "edges are open (4, limit 0)."


def test_a_limit_without_a_measure_is_not_shown():
    """Nothing was found that could be held against it."""
    limited = Finding(code="x", severity=Severity.NOTE, says="no wall was found", limit=3.0)

    assert sentence(limited) == "no wall was found."


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (3.0, "mm", "3 mm"),
        (0.05, "mm", "0.05 mm"),
        (12.345, "mm", "12.3 mm"),
        (99.96, "mm", "100 mm"),
        (1234.5, "mm", "1234 mm"),
        (-1250.4, "mm", "-1250 mm"),
        (1.5, "", "1.5"),
        (5.0, "°", "5°"),
        (12.5, "%", "12.5%"),
        (0.0, "mm²", "0 mm²"),
    ],
)
def test_amounts_have_three_digits_and_their_unit(value, unit, words):
    """No thousandths of a millimeter, no exponents below a million, no space before ° and %."""
    assert amount(value, unit) == words


@given(st.floats(1e-3, 1e6))
def test_an_amount_is_true_to_half_a_percent(value):
    """What is shown is the number, rounded to three digits or to ones."""
    assert float(amount(value, "mm").split()[0]) == pytest.approx(value, rel=5.001e-3)


@given(st.lists(findings, max_size=8))
def test_ranked_findings_are_the_same_ones_gravest_first(some):
    """Nothing is lost, and equals keep their order."""
    order = [Severity.STOP, Severity.CAUTION, Severity.NOTE]

    assert ranked(some) == tuple(f for severity in order for f in some if f.severity is severity)


@given(st.lists(findings, max_size=8))
def test_the_worst_is_that_of_the_first_ranked(some):
    """Of no findings, none is the worst."""
    assert worst(some) == (ranked(some)[0].severity if some else None)


def test_a_finding_as_plain_values():
    """JSON takes it as it is, with its sentence."""
    plain = LOW_DRAFT.as_dict()

    assert json.loads(json.dumps(plain)) == {
        "code": "draft-low",
        "severity": "stop",
        "says": "the wall leans too little to release",
        "measured": 1.234,
        "limit": 3.0,
        "unit": "°",
        "where_mm": [12.34, -0.04, 6.0],
        "subject": "plaque",
        "basis": "common practice, no source",
        "advice": "Lean it more.",
        "cures": [],
        "place": "",
        "sentence": sentence(LOW_DRAFT),
    }


def test_a_place_with_a_name_is_told_by_it_and_by_the_ring_round_it():
    """Words come before coordinates; the number of the ring is told where there is one."""
    named = replace(LOW_DRAFT, place="the counter of the A in HARBOR")

    assert "(1.23°, limit 3°) at the counter of the A in HARBOR. Lean it more." in sentence(named)
    assert " at the counter of the A in HARBOR (ring 3). " in sentence(named, ring=3)
    assert "x 12.3" not in sentence(named)


def test_rings_have_the_numbers_of_the_list():
    """Findings are numbered in their order; a ring goes round named places that are no note."""
    named = replace(LOW_DRAFT, place="the top of the plaque")
    note = replace(named, severity=Severity.NOTE)

    assert ring_numbers([LOW_DRAFT, named, note, named]) == (None, 2, None, 4)


@pytest.mark.parametrize(
    ("number", "words"),
    [(0, "0 cautions"), (1, "1 caution"), (2, "2 cautions"), (21, "21 cautions")],
)
def test_only_one_thing_is_told_in_the_singular(number, words):
    """One caution, two cautions."""
    assert counted(number, "caution") == words


@pytest.mark.parametrize(
    ("value", "words"),
    [(99.94, "99.9 mm"), (100.4, "100 mm"), (999.7, "1000 mm"), (0.1234, "0.123 mm")],
)
def test_large_numbers_keep_their_whole_digits(value, words):
    """From a hundred on all whole digits are told, below that three."""
    assert amount(value, "mm") == words
