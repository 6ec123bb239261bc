"""How many chords a circle or an arc needs."""

from math import cos, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.solid.arcs import chords_for, segments_for


@given(st.floats(0.01, 500), st.floats(0.05, 2 * pi), st.floats(1e-4, 0.5))
def test_chords_stay_as_near_as_asked_and_no_fewer_do(radius, turn, chord):
    """With as many chords none strays further; with one fewer they would."""
    n = chords_for(radius, turn, chord_mm=chord)

    if radius > chord:
        assert radius * (1 - cos(turn / n / 2)) <= chord * (1 + 1e-6)
        assert n == 1 or radius * (1 - cos(turn / (n - 1) / 2)) > chord * (1 - 1e-6)


@pytest.mark.parametrize("radius", [0.0, 0.01, 0.02])
def test_a_circle_no_wider_than_the_chord_strays_takes_the_least(radius):
    """There is nothing left to be near to."""
    assert chords_for(radius, pi / 2, chord_mm=0.02, at_least=3) == 3
    assert segments_for(radius, 0.02, at_least=12) == 12


def test_sides_of_a_circle_come_in_fours():
    """A circle of 10 mm needs 71 sides for 0.01 mm: 18 for each quarter."""
    assert chords_for(10, 2 * pi, chord_mm=0.01) == 71
    assert segments_for(10, 0.01) == 72
    assert segments_for(10, 5.0, at_least=16) == 16


def test_what_does_not_turn_is_one_chord():
    """A straight piece, whatever its radius, needs no corner."""
    assert chords_for(float("inf"), 0.0, chord_mm=0.01) == 1
    assert chords_for(5.0, 0.0, chord_mm=0.01) == 1
