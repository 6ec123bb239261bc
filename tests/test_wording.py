"""How words, choices and places are said."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.wording import about_text, band_text, did_you_mean, nearest, one_of


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


@pytest.mark.parametrize(
    ("times_s", "words"),
    [
        ((51.2, 39.4, 68.3), "about 50 s (40 to 70)"),
        ((7.2, 6.1, 8.8), "about 7 s (6 to 9)"),
        ((12.4, 10.8, 14.5), "about 12 s (11 to 14)"),
        ((58.0, 48.0, 71.0), "about 1 min (50 s to 1 min 10 s)"),
        ((55.0, 40.0, 106.0), "about 55 s (40 s to 1 min 50 s)"),
        ((112.0, 88.0, 149.0), "about 1 min 50 s (1 min 30 s to 2 min 30 s)"),
        ((328.0, 244.0, 570.0), "about 5 min 30 s (4 min to 9 min 30 s)"),
        # Rounded, both ends would be the middle: a step is left between.
        ((25.2, 24.0, 26.0), "about 25 s (20 to 30)"),
        ((0.4, 0.3, 0.5), "about 1 s (1 to 2)"),
    ],
)
def test_a_time_that_is_not_known_well_is_rounded_with_its_band(times_s, words):
    """As a person counts: by ones, fives, tens, half minutes; never surer than it is."""
    assert band_text(*times_s) == words


@given(st.floats(0.1, 3000), st.floats(1.01, 2), st.floats(1.01, 2))
def test_a_rounded_time_is_near(time_s, sooner, later):
    """No more than half a step off, and the same in a band as alone."""
    told = band_text(time_s, time_s / sooner, time_s * later)
    assert told.startswith("about ")
    alone = about_text(time_s)
    assert told.startswith(f"about {alone} (") or alone.endswith("min")
    number = sum(
        float(count) * {"min": 60, "s": 1}[unit]
        for count, unit in zip(alone.split()[::2], alone.split()[1::2], strict=True)
    )
    assert abs(number - time_s) <= max(0.5 + 0.5 * (time_s < 1), 0.1 * time_s + 0.5)
