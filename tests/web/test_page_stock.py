"""Stock on the page: the file that the command line reads, never half of it, never a wrong one."""

import pytest

from moldgen.errors import MoldgenError, SpecError
from moldgen.stock import load_shop
from moldgen.web import work
from moldgen.web.page_stock import PageStock
from moldgen.web.stock_entry import entry_from_form, own_entries, with_entry

BY_HAND = """# Ours, written by hand.
[source]
label = { says = "the label", how = "published" }

[plastic."Red styrene"]
based_on = "HIPS"   # from the ship chandler
density_kg_m3 = { value = 1040, source = "label" }

[printer.'In the loft']
based_on = "medium"
"""


@pytest.fixture
def file(tmp_path):
    """A stock file that somebody wrote by hand."""
    path = tmp_path / "moldgen" / "stock.toml"
    path.parent.mkdir()
    path.write_text(BY_HAND)
    return path


def test_an_entry_is_added_and_the_command_line_reads_it(file):
    """What stands in the file stays, comments too."""
    stock = PageStock(file)
    name, entry = entry_from_form(
        "printer", {"name": "Corner", "based_on": "large", "bed_width_mm": "310,5"}
    )

    stock.keep(with_entry(stock.text, "printer", name, entry), seen=stock.text)

    assert file.read_text().startswith(BY_HAND)
    assert load_shop(user_file=file).printer("corner").bed_width_mm == 310.5
    assert stock.shop.printer("Corner").bed_width_mm == 310.5
    assert "Corner" in stock.texts["stock.toml"]


@pytest.mark.parametrize(("kind", "name"), [("plastic", "Red styrene"), ("printer", "In the loft")])
def test_an_entry_is_changed_and_left_out_where_it_stands(kind, name):
    """However its name is quoted; everything else is as it was."""
    others = {key: value for key, value in own_entries(BY_HAND).items() if key != kind}
    changed = with_entry(BY_HAND, kind, name, {"based_on": "x", "title": 'Say "ahoy" \\ ='})
    gone = with_entry(changed, kind, name, None)

    assert own_entries(changed) == {**others, kind: {name: {"based_on": "x",
                                    "title": 'Say "ahoy" \\ ='}}}  # fmt: skip
    assert own_entries(gone)[kind] == {}
    assert "# Ours, written by hand." in gone
    assert '[source]\nlabel = { says = "the label"' in gone


def test_a_file_that_the_page_cannot_change_is_left_alone():
    """An entry within a larger table is for an editor."""
    text = "[printer]\nCorner = { based_on = 'large' }\n"

    with pytest.raises(MoldgenError, match="by hand"):
        with_entry(text, "printer", "Corner", {"based_on": "small"})


@pytest.mark.parametrize("entry", [
    {"based_on": "no such printer"}, {"based_on": "large", "bed_width_mm": 1e9},
    {"based_on": "large", "nonsense": "1"}, {"bed_width_mm": 200.0},
])  # fmt: skip
def test_a_wrong_entry_is_not_written(file, entry):
    """One sentence, and the file is as it was."""
    stock = PageStock(file)

    with pytest.raises(MoldgenError):
        stock.keep(with_entry(stock.text, "printer", "Corner", entry), seen=stock.text)

    assert file.read_text() == BY_HAND
    assert "Corner" not in stock.shop.printers.names


def test_what_somebody_else_changed_meanwhile_is_not_lost(file):
    """The page says so."""
    stock = PageStock(file)
    file.write_text(BY_HAND + "# and more\n")

    with pytest.raises(SpecError, match="changed elsewhere"):
        stock.keep("", seen=stock.text)

    assert file.read_text().endswith("# and more\n")


def test_a_worker_has_the_own_stock(file):
    """A sheet of the shop's own is found where no file can be read."""
    order = {
        "wish": {"beginning": "word", "values": {"words": ["A"], "plastic": "Red styrene"}},
        "stock": PageStock(file).texts,
    }

    assert work.picture(order, [], lambda words: None).blocks
    with pytest.raises(SpecError, match="Red styrene"):
        work.picture({"wish": order["wish"]}, [], lambda words: None)
