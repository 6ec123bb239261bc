"""Numbers as people write them: measures with their units, lists of them, sizes."""

import pytest
from conftest import half_last_digit, published
from hypothesis import given
from hypothesis import strategies as st

from moldgen.errors import SpecError
from moldgen.written_number import measure, parted, parted_size

UNITS = published("written_units")
LENGTH = "a number in mm, cm, m, in, ft or thou"
numbers = st.floats(-1e9, 1e9, allow_subnormal=False)


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
        ("1,5", "mm", 1.5),
        (",5", "mm", 0.5),
        ("0,125 in", "mm", 3.175),
        ("2,54cm", "mm", 25.4),
        ("-1,5e2", "mm", -150),
        ("62,5 °F", "°C", 30.5 / 1.8),
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
        ("3,5,1", "mm", f"gauge must be {LENGTH} (got '3,5,1'). Write it like 6.5 or 1/8."),
        ("3,", "mm", f"gauge must be {LENGTH} (got '3,'). Write it like 6.5 or 1/8."),
        ("1.234,5", "mm", f"gauge must be {LENGTH} (got '1.234,5'). Write it like 6.5 or 1/8."),
        (
            "1,500",
            "mm",
            "gauge must be one number (got '1,500', which may mean two). Write 1.500 or 1500.",
        ),
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


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        ("80,120,60", ["80", "120", "60"]),
        ("80, 120 , 60", ["80", "120", "60"]),
        ("80 120 60", ["80", "120", "60"]),
        ("80;120; 60", ["80", "120", "60"]),
        ("80,5; 120", ["80,5", "120"]),
        ("80,5", ["80", "5"]),
        ("80", ["80"]),
        ("80 mm 12cm 3 in", ["80 mm", "12cm", "3 in"]),
        ('3 1/2 in 1-1/4" 5', ["3 1/2 in", '1-1/4"', "5"]),
        ("90 up 110 down -45", ["90 up", "110 down", "-45"]),
        ("80,,60", ["80", "", "60"]),
        ("80,", ["80", ""]),
        ("", [""]),
        ("high tide", ["high tide"]),
        ("80 high tide", ["80 high tide"]),
    ],
)
def test_a_list_is_parted_by_one_mark(words, parts):
    """Semicolons go before commas, commas before blanks; what is no list stays whole."""
    assert parted(words) == parts


@pytest.mark.parametrize(
    ("words", "sides"),
    [
        ("120x80x25", ("120", "80", "25")),
        ("120 x 80 X 25", ("120", "80", "25")),
        ("120×80*25 mm", ("120 mm", "80 mm", "25 mm")),
        ("12 in x 80 x 2.5 cm", ("12 in", "80 cm", "2.5 cm")),
        ("5 1/2 x 3 x 1 in", ("5 1/2 in", "3 in", "1 in")),
        ("120x80", ()),
        ("120x80x25x3", ()),
        ("fox x box x 3", ()),
        ("", ()),
    ],
)
def test_a_size_is_parted_into_its_sides(words, sides):
    """A unit at the end counts for every side without one; any other number of sides is none."""
    assert parted_size(words, 3) == sides
