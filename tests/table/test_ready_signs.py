"""What a person sees of a hot sheet: by plastic, tried with a stick, from the stock."""

from dataclasses import replace

import pytest

from moldgen.stock import load_shop
from moldgen.table.ready_signs import STICK, ready_row, ready_text

SHOP = load_shop(user_file=None)
SHEETS = pytest.mark.parametrize("plastic", SHOP.plastics.entries, ids=lambda one: one.name)
SEEN = {
    "HIPS": ("ripples", "level again", "a dent springs back"),
    "ABS": ("ripples", "level again", "a dent springs back"),
    "PETG": ("sags early", "soft as rubber"),
    "APET": ("still clear",),
    "PMMA extruded": ("soft as rubber",),
    "PC": ("little shows",),
    "PP": ("clear", "glossy", "sags much"),
    "HDPE": ("clear", "glossy"),
}


@SHEETS
def test_every_sheet_says_how_it_looks_when_ready_and_when_too_hot(plastic):
    """Signs are data of the stock, with where they come from, and short."""
    assert {"ready", "too_hot", "family"} <= plastic.sources.keys()
    for sign in (plastic.ready, plastic.too_hot):
        assert 10 < len(sign) < 110
        assert not sign.endswith(".")
    assert ready_text(plastic).endswith(f"{plastic.too_hot} (common practice, no source).")


@pytest.mark.parametrize(("name", "words"), SEEN.items())
def test_a_plastic_has_its_own_signs(name, words):
    """Styrene ripples and flattens, PETG turns to rubber, PP turns clear."""
    assert all(word in ready_text(SHOP.plastic(name)) for word in words)


@pytest.mark.parametrize("name", ["PETG", "PC"])
def test_bubbles_are_said_to_be_heat_or_water(name):
    """Sheet that takes up water bubbles wet as well as hot."""
    too_hot = SHOP.plastic(name).too_hot
    assert "bubbles" in too_hot
    assert "wet" in too_hot or "not dried" in too_hot


@SHEETS
def test_the_hot_sheet_is_dented_with_a_stick(plastic):
    """Whatever an entry of the stock says, the stick and the finger are named."""
    own = replace(plastic, ready="press it with a thumb", sources={"ready": "our notes"})

    for one in (plastic, own):
        assert STICK in ready_text(one)
        assert "wooden stick, never with a finger" in ready_row(one)
    assert ready_text(own).endswith("(our notes).")
