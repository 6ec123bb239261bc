"""Written measures become numbers in one unit, and specifications refuse bad ones."""

from dataclasses import dataclass, replace
from math import inf, nan
from typing import Annotated

import numpy as np
import pytest
from conftest import ROOT, half_last_digit, published
from hypothesis import given
from hypothesis import strategies as st

from moldgen.errors import SpecError
from moldgen.job import BendCommand, SignCommand, load_job
from moldgen.quantity import Meaning, Quantity, Spec, marks, measure, quantities

UNITS = published("written_units")
LENGTH = "a number in mm, cm, m, in, ft or thou"
numbers = st.floats(-1e9, 1e9, allow_subnormal=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Board(Spec):
    """A board: the smallest specification with every kind of field."""

    width_mm: Annotated[float, Quantity("mm", "width", above=0, at_most=500)]
    lean_deg: Annotated[float | None, Quantity("°", "lean", at_least=0, below=45)] = None
    wood: Annotated[str, Meaning("what it is made of")] = "larch"
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plank(Board):
    """A board with one field more."""

    length_mm: Annotated[float, Quantity("mm", "length", above=0)] = 900.0


@pytest.mark.parametrize("row", UNITS, ids=lambda row: row["unit"])
def test_units_have_their_published_factors(row):
    """One of each unit is the printed number of ours."""
    value = measure("x", f"1 {row['unit']}", unit=row["si_unit"])

    assert value == pytest.approx(float(row["factor"]), abs=half_last_digit(row["factor"]), rel=0)


def test_published_factors_can_tell_the_water_column_from_mercury():
    """The same table rejects the inch of water, 0.24884 kPa, for the inch of mercury."""
    row = next(row for row in UNITS if row["unit"] == "inHg")

    assert abs(0.24884 - float(row["factor"])) > half_last_digit(row["factor"])


@pytest.mark.parametrize(
    ("words", "unit", "value"),
    [
        ("6", "mm", 6),
        ("6.", "mm", 6),
        (".5", "mm", 0.5),
        ("+6mm", "mm", 6),
        ("  6 mm ", "mm", 6),
        ("-2.5cm", "mm", -25),
        ("1e2", "mm", 100),
        ("1.5E-1 m", "mm", 150),
        ("3.5in", "mm", 88.9),
        ("1/8 in", "mm", 3.175),
        ('1 1/2"', "mm", 38.1),
        ("1  1/2 ″", "mm", 38.1),
        ("1-1/2 inches", "mm", 38.1),
        ("2 inch", "mm", 50.8),
        ("1/2”", "mm", 12.7),
        ("-1 1/2 in", "mm", -38.1),
        ("-1/4", "mm", -0.25),
        ("60 thou", "mm", 1.524),
        ("4 millimeters", "mm", 4),
        ("5", "°", 5),
        ("5°", "°", 5),
        ("5 deg", "°", 5),
        ("5 degrees", "°", 5),
        ("1.5 min", "s", 90),
        ("90 sec", "s", 90),
        ("130 °C", "°C", 130),
        ("130 C", "°C", 130),
        ("212 °F", "°C", 100),
        ("32F", "°C", 0),
        ("-40 deg F", "°C", -40),
        ("320° F", "°C", 160),
        ("7 %", "", 0.07),
        ("0.07", "", 0.07),
        ("120 W/m²", "W/m²", 120),
        ("120", "W/m²", 120),
    ],
)
def test_measures_are_read_as_people_write_them(words, unit, value):
    """Fractions, mixed numbers, inch marks, degrees and percent come out in our unit."""
    assert measure("x", words, unit=unit) == pytest.approx(value, rel=1e-14, abs=1e-12)


@pytest.mark.parametrize(
    ("words", "unit", "message"),
    [
        ("", "mm", f"gauge must be {LENGTH} (got ''). Write it like 6.5 or 1/8."),
        ("thick", "mm", f"gauge must be {LENGTH} (got 'thick'). Write it like 6.5 or 1/8."),
        ("nan", "mm", f"gauge must be {LENGTH} (got 'nan'). Write it like 6.5 or 1/8."),
        ("inf", "mm", f"gauge must be {LENGTH} (got 'inf'). Write it like 6.5 or 1/8."),
        ("1/0 in", "mm", f"gauge must be {LENGTH} (got '1/0 in'). Write it like 6.5 or 1/8."),
        ("1 1/0", "mm", f"gauge must be {LENGTH} (got '1 1/0'). Write it like 6.5 or 1/8."),
        ("1/00 in", "mm", f"gauge must be {LENGTH} (got '1/00 in'). Write it like 6.5 or 1/8."),
        ("3,5 mm", "mm", f"gauge must be {LENGTH} (got '3,5 mm'). Write it like 6.5 or 1/8."),
        ("1/2/3", "mm", f"gauge must be {LENGTH} (got '1/2/3'). Write it like 6.5 or 1/8."),
        ("3 kg", "mm", f"gauge must be {LENGTH} (got '3 kg'). Correct the unit."),
        ("3 °", "mm", f"gauge must be {LENGTH} (got '3 °'). Correct the unit."),
        ("3 MM", "mm", f"gauge must be {LENGTH} (got '3 MM'). Correct the unit."),
        ("3 mm high", "mm", f"gauge must be {LENGTH} (got '3 mm high'). Correct the unit."),
        ("5 mm", "°", "gauge must be a number in ° or deg (got '5 mm'). Correct the unit."),
        ("5 %", "°C", "gauge must be a number in °C or °F (got '5 %'). Correct the unit."),
        ("5 F", "mm", f"gauge must be {LENGTH} (got '5 F'). Correct the unit."),
        ("5 mm", "", "gauge must be a number, plain or in % (got '5 mm'). Correct the unit."),
        ("5 kg", "MPa", "gauge must be a number in MPa (got '5 kg'). Correct the unit."),
        (
            "a" * 60,
            "MPa",
            f"gauge must be a number in MPa (got '{'a' * 37}...'). Write it like 6.5 or 1/8.",
        ),
    ],
)
def test_what_is_no_measure_is_refused(words, unit, message):
    """One sentence: the field, the rule, the words, and what to do."""
    with pytest.raises(SpecError, match="gauge must be") as caught:
        measure("gauge", words, unit=unit)

    assert str(caught.value) == message


@given(numbers, st.sampled_from(["", " mm", "mm", " cm", " in", '"', " ft"]))
def test_a_number_survives_being_written(number, suffix):
    """What Python writes with all its digits is read back, times the unit's factor."""
    factor = {"cm": 10, "in": 25.4, '"': 25.4, "ft": 304.8}.get(suffix.strip(), 1)

    assert measure("x", f"{number!r}{suffix}", unit="mm") == pytest.approx(
        number * factor, rel=1e-15, abs=0
    )


@given(st.booleans(), st.integers(0, 999), st.integers(0, 999), st.integers(1, 999))
def test_a_mixed_number_is_the_sum_of_its_parts(negative, whole, top, bottom):
    """Sign, whole part and fraction, with a space or a hyphen between."""
    value = (-1 if negative else 1) * (whole + top / bottom)

    for between in (" ", "-", "   "):
        words = f"{'-' * negative}{whole}{between}{top}/{bottom}"
        assert measure("x", words, unit="mm") == pytest.approx(value, rel=1e-15, abs=1e-300)


@given(st.text(max_size=30))
def test_any_words_are_read_or_refused_in_one_line(words):
    """Whatever is typed gives a number or a SpecError of one line, never another error."""
    for unit in ("mm", "", "°C"):
        assert _read_or_refused(words, unit)


def _read_or_refused(words, unit):
    try:
        return isinstance(measure("x", words, unit=unit), float)
    except SpecError as refused:
        return len(str(refused).splitlines()) == 1


@pytest.mark.parametrize("words", ["1" * 5000, "1" * 5000 + "/" + "1" * 5000, "1e999", 10**400])
def test_numbers_beyond_all_bounds_are_refused(words):
    """A number too large for the machine is told so."""
    with pytest.raises(SpecError, match=r"width must be more than 0 mm \(got"):
        Quantity("mm", "width", above=0).read("width", words)


def test_integers_too_large_say_so():
    """The sentence does not repeat four hundred digits, whichever sign they have."""
    quantity = Quantity("mm", "width", above=0, at_most=500)
    for number in (10**400, -(10**400)):
        with pytest.raises(SpecError, match="beyond") as caught:
            quantity.read("width", number)

        expected = (
            "width must be more than 0 mm and at most 500 mm (got a number beyond all bounds)."
        )
        assert str(caught.value) == expected


@pytest.mark.parametrize(
    ("quantity", "rule"),
    [
        (Quantity("mm", "x", above=0), "more than 0 mm"),
        (Quantity("mm", "x", at_least=0.5), "at least 0.5 mm"),
        (Quantity("mm", "x", below=7), "less than 7 mm"),
        (Quantity("mm", "x", at_most=12), "at most 12 mm"),
        (Quantity("°", "x", at_least=0, below=45), "at least 0 ° and less than 45 °"),
        (Quantity("", "x", above=0, at_most=1), "more than 0 and at most 1"),
        (Quantity("mm", "x"), "a finite number"),
    ],
)
def test_limits_are_told_as_text(quantity, rule):
    """Every limit appears with its word and its unit."""
    assert quantity.rule == rule


@pytest.mark.parametrize(
    ("quantity", "good", "bad"),
    [
        (Quantity("mm", "x", above=2), 2.0000001, 2),
        (Quantity("mm", "x", at_least=2), 2, 1.9999999),
        (Quantity("mm", "x", below=2), 1.9999999, 2),
        (Quantity("mm", "x", at_most=2), 2, 2.0000001),
        (Quantity("mm", "x"), -1e300, nan),
        (Quantity("mm", "x"), 1e300, inf),
        (Quantity("mm", "x"), 0, -inf),
    ],
)
def test_limits_hold_to_the_last_digit(quantity, good, bad):
    """A value on the right side passes, one on the wrong side does not."""
    quantity.check("x", good)

    with pytest.raises(SpecError, match="x must be"):
        quantity.check("x", bad)


def test_a_value_just_over_the_limit_is_told_with_all_its_digits():
    """The sentence never says that 45 must be less than or equal to 45."""
    with pytest.raises(SpecError, match="lean") as caught:
        Quantity("°", "lean", at_most=45).check("lean", 45.0000001)

    assert str(caught.value) == "lean must be at most 45 ° (got 45.0000001 °)."


def test_a_specification_refuses_bad_numbers_when_it_is_made():
    """The field, the rule and the value stand in the sentence, and on the error."""
    with pytest.raises(SpecError, match="width_mm") as caught:
        Board(width_mm=-3)

    error = caught.value
    assert str(error) == "width_mm must be more than 0 mm and at most 500 mm (got -3 mm)."
    assert (error.field, error.got, error.hint) == ("width_mm", "-3 mm", "")
    with pytest.raises(SpecError, match=r"width_mm must be .* \(got 0 mm\)"):
        Board(width_mm=0)


def test_a_field_left_out_is_not_checked():
    """None stands for a value that rules will find."""
    assert Board(width_mm=3).lean_deg is None

    with pytest.raises(SpecError, match="lean_deg must be at least 0 ° and less than 45 °"):
        Board(width_mm=3, lean_deg=45)


def test_marks_are_the_documented_fields_in_order():
    """Fields without a mark are left out; a subclass has its parent's marks first."""
    assert list(marks(Board)) == ["width_mm", "lean_deg", "wood"]
    assert list(marks(Plank)) == ["width_mm", "lean_deg", "wood", "length_mm"]
    assert list(quantities(Plank)) == ["width_mm", "lean_deg", "length_mm"]
    assert marks(Board)["wood"] == Meaning("what it is made of")


def test_marks_are_found_once_and_cannot_be_changed():
    """The same mapping is handed out again, so it must be read only."""
    assert marks(Board) is marks(Board)
    assert marks(Board) is not marks(Plank)
    with pytest.raises(TypeError, match="does not support item assignment"):
        marks(Board)["wood"] = Meaning("steel")  # type: ignore[index]


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: SignCommand(words="HIGH TIDE"),
         "words must be a tuple (got 'HIGH TIDE'). Write ('HIGH TIDE',)."),
        (lambda: SignCommand(words=(1,)), "words 1 must be a text (got 1)."),
        (lambda: SignCommand(words=("A",), gauge_mm="2 mm"),
         "gauge_mm must be a number, at least 0.1 mm and at most 12 mm (got '2 mm'). "
         "Write it like 6.5."),
        (lambda: SignCommand(words=("A",), gauge_mm=True),
         "gauge_mm must be a number, at least 0.1 mm and at most 12 mm (got true). "
         "Write it like 6.5."),
        (lambda: SignCommand(words=("A",), forming="off"),
         "forming must be auto, off, preview or fine, of type FormingLook (got 'off'). "
         "Write FormingLook.OFF."),
        (lambda: SignCommand(words=("A",), tactile=1), "tactile must be True or False (got 1)."),
        (lambda: SignCommand(words=("A",), font=None), "font must be a text (got None)."),
        (lambda: BendCommand(angles="90", legs_mm=(10.0, -1.0)),
         "legs_mm 2 must be more than 0 mm and at most 3000 mm (got -1 mm)."),
        (lambda: replace(load_job(ROOT / "examples/tide-sign.toml"), sheet="HIPS"),
         "sheet must be of type JobSheet (got 'HIPS')."),
    ],
)  # fmt: skip
def test_a_value_of_another_type_is_refused_when_made(make, sentence):
    """A specification made by hand checks the type of each field, in one sentence."""
    with pytest.raises(SpecError) as told:
        make()

    assert str(told.value) == sentence


def test_numbers_of_any_kind_are_numbers():
    """A whole number, or one out of an array, is as good as any other."""
    assert SignCommand(words=("A",), gauge_mm=np.float32(2)).gauge_mm == 2
    assert SignCommand(words=("A",), gauge_mm=np.int64(2), draft_deg=None).draft_deg is None
