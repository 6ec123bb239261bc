"""Written measures become numbers in one unit, and specifications refuse bad ones."""

from dataclasses import dataclass, replace
from math import inf, nan
from typing import Annotated

import numpy as np
import pytest
from conftest import ROOT

from moldgen.errors import SpecError
from moldgen.job import BendCommand, SignCommand, load_job
from moldgen.quantity import Meaning, Quantity, Spec, marks, quantities


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
