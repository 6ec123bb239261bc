"""Strip heaters in stock: at least three, each value with its source, impossible ones refused."""

from dataclasses import fields, replace

import pytest
from support.some import some

from moldgen.errors import SpecError
from moldgen.stock import ElementKind, StripHeater, load_shop

SHOP = load_shop(user_file=None)
HEATERS = SHOP.strip_heaters.entries
WIRE = SHOP.strip_heater("wire-600")


def test_there_is_one_of_every_kind():
    """Wire, tube and bar, found by name, title or alias."""
    assert len(HEATERS) >= 3
    assert {heater.element for heater in HEATERS} == set(ElementKind)
    assert SHOP.strip_heater("Hot Wire") is WIRE
    assert SHOP.names("strip_heater") == tuple(heater.name for heater in HEATERS)


@pytest.mark.parametrize("heater", HEATERS, ids=lambda heater: heater.name)
def test_every_value_has_a_source(heater):
    """And the source says how it is known."""
    given = {field.name for field in fields(StripHeater)} - {
        "name", "title", "aliases", "based_on", "sources", "bands",
    }  # fmt: skip
    if heater.sides == 1:
        given -= {"sides"}
    assert given <= set(heater.sources)
    known = ("(published)", "(from memory)", "(common practice)", "(derived)")
    assert all(any(how in text for how in known) for text in heater.sources.values())


@pytest.mark.parametrize("heater", HEATERS, ids=lambda heater: heater.name)
def test_the_bands_are_what_3_mm_needs(heater):
    """Three to eight thicknesses of 3 mm; the bed holds the least leg on either side."""
    assert 9 <= heater.band_mm <= 24
    assert heater.band_mm / 2 < heater.least_leg_mm <= heater.bed_depth_mm / 2


def test_bare_wires_keep_their_distance():
    """At least 3 mm of air between wire and strip (trade rule)."""
    for heater in some(HEATERS):
        if heater.element is ElementKind.WIRE:
            assert heater.gap_mm - heater.element_width_mm / 2 >= 3


def test_an_own_strip_heater_is_read_from_a_file(tmp_path):
    """Based on one in stock, with an inch measure."""
    own = tmp_path / "stock.toml"
    own.write_text(
        '[strip_heater."Shed bench"]\nbased_on = "wire-600"\nbed_length_mm = "36 in"\n',
        encoding="utf-8",
    )
    heater = load_shop([own], user_file=None).strip_heater("shed bench")
    assert heater.bed_length_mm == pytest.approx(914.4)
    assert heater.gap_mm == WIRE.gap_mm


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"gap_mm": 0}, r"gap_mm must be 0 for a bar and more for a wire or tube \(got 0 mm for a"),
        ({"element": ElementKind.BAR}, r"gap_mm must be 0 for a bar .* \(got 6 mm for a bar\)"),
        ({"gap_mm": 0.9}, r"gap_mm must be more than half the element, 1 mm \(got 0\.9 mm\)"),
        ({"band_mm": 400}, r"band_mm must be at most the depth of the bed, 300 mm"),
        ({"element_degC": 20}, r"element_degC must be at least 50 °C"),
        ({"sides": 3}, r"sides must be at least 1 and at most 2"),
        ({"power_W": 0}, r"power_W must be more than 0 W"),
    ],
)
def test_impossible_heaters_are_refused(changed, sentence):
    """One sentence: field, rule, value, what to do."""
    with pytest.raises(SpecError, match=sentence):
        replace(WIRE, **changed)


def test_an_unknown_name_has_a_hint():
    """The nearest names are offered."""
    with pytest.raises(SpecError, match=r"strip_heater must be .* Did you mean wire-600\?"):
        SHOP.strip_heater("wire-60")
