"""How words, choices and places are said."""

from hypothesis import given
from hypothesis import strategies as st

from moldgen.wording import did_you_mean, nearest, one_of


def test_a_near_name_is_offered_and_else_the_choice():
    """Capitals, spaces and hyphens make no difference; without a near name all are listed."""
    shapes = ["wave-plaque", "anchor", "star"]

    assert did_you_mean("Wave Plaqe", shapes) == "Did you mean wave-plaque?"
    assert did_you_mean("zzz", shapes) == "Choose wave-plaque, anchor or star."
    assert did_you_mean("zzz", shapes, otherwise=["star"]) == "Choose star."
    assert did_you_mean("zzz", iter(shapes)) == "Choose wave-plaque, anchor or star."


def test_a_spelling_stands_for_its_name():
    """Several spellings of one name offer it once."""
    spellings = {"hips": "HIPS", "hipss": "HIPS", "hipp": "HIPP"}

    assert nearest("hipz", spellings) == "Did you mean HIPS or HIPP?"
    assert nearest("hipz", spellings, most=1) == "Did you mean HIPS?"
    assert nearest("petg", spellings) == ""


@given(st.lists(st.text("ab", min_size=1, max_size=3), min_size=1, max_size=5))
def test_a_choice_names_everything_once_and_in_order(names):
    """Commas between, "or" before the last."""
    assert one_of(names).replace(" or ", ", ").split(", ") == names
    assert one_of(names).count(" or ") == (len(names) > 1)
