"""Hot sheet on a mold of the same polymer: which pairs weld, and what keeps them apart."""

from dataclasses import replace
from itertools import product

import pytest

from moldgen.stock import load_shop
from moldgen.table.sticking import RELEASE_AGENT, sticking_text, sticks

SHOP = load_shop(user_file=None)
WELDS = {
    ("HIPS", "HIPS"), ("GPPS", "HIPS"), ("ABS", "ABS"), ("ABS", "ASA"), ("PETG", "PETG"),
    ("APET", "PETG"), ("PC", "PC"),
}  # fmt: skip
PAIRS = [
    (plastic.name, filament.name)
    for plastic, filament in product(SHOP.plastics.entries, SHOP.filaments.entries)
]


@pytest.mark.parametrize(("plastic", "filament"), PAIRS)
def test_sheet_sticks_to_its_own_polymer_and_to_no_other(plastic, filament):
    """Two of one polymer weld; the text is there for them and empty for all others."""
    one, other = SHOP.plastic(plastic), SHOP.filament(filament)

    assert sticks(one, other) == ((plastic, filament) in WELDS)
    text = sticking_text(one, other)
    assert (RELEASE_AGENT in text and "another filament" in text) == sticks(one, other)
    assert bool(text) == sticks(one, other)


def test_own_entries_are_told_by_family_or_by_name():
    """An entry without a family is compared by its name; its case does not matter."""
    pp, petg = SHOP.plastic("PP"), SHOP.filament("PETG")
    printed = replace(petg, name="Our pp", family="Polypropylene")

    assert sticks(pp, printed)
    assert sticks(pp, replace(petg, name="pp", family=""))
    assert sticks(replace(pp, family="", based_on="PETG"), replace(petg, family=""))
    assert not sticks(pp, replace(petg, name="PLA", family=""))
