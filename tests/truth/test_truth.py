"""The program's numbers against the world's: each within its promise, each able to fail."""

import pytest
from support.some import some

from moldgen import trust
from moldgen.trust import Trust
from truth.rows import all_comparisons

CHEAP = all_comparisons(slow=False)
PROMISES = [one for one in vars(trust).values() if isinstance(one, Trust)]


def name_of(one):
    """Return a name for a comparison."""
    return one.quantity


@pytest.mark.parametrize("one", CHEAP, ids=name_of)
def test_the_program_agrees_with_the_world(one):
    """Every number is as near what is known as its row says."""
    assert abs(one.off(one.value)) <= one.within


@pytest.mark.parametrize("one", CHEAP, ids=name_of)
def test_a_plausible_wrong_input_is_found_out(one):
    """The same number from a wrong input is farther off than it may be."""
    assert abs(one.off(one.wrong())) > one.within


def test_no_promise_is_closer_than_what_is_tested():
    """Each row is held to no more than the program promises of its kind."""
    for one in some(all_comparisons(slow=True)):
        assert one.trust.share is None or one.within <= one.trust.share


def test_every_promise_in_numbers_has_a_row():
    """What promises a share of the number has an outside value it is held to."""
    proven = {one.trust.quantity for one in all_comparisons(slow=True)}
    for promise in some(PROMISES):
        assert promise.share is None or promise.quantity in proven
    assert {one.quantity for one in PROMISES if one.share is None} == {
        trust.RELEASE.quantity, trust.MOLD_LIFE.quantity, trust.SAWN.quantity,
    }  # fmt: skip


def test_promises_are_told_in_words():
    """A share is told in percent, and words go before it; a band goes to both sides."""
    assert trust.FACE_THICKNESS.text == "to about 10 %"
    assert trust.SIZES.text.startswith("to 0.02 mm")
    assert trust.CORNER_THICKNESS.band(0.5) == pytest.approx((0.4, 0.6))
    with pytest.raises(ValueError, match="no share is promised"):
        trust.RELEASE.band(100)
    assert len({one.quantity for one in PROMISES}) == len(PROMISES)
