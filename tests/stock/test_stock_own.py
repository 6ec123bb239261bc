"""A shop's own entries: laid on those of moldgen, inherited, checked, located."""

import os
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from moldgen.errors import FileError, SpecError
from moldgen.stock import load_shop, user_stock_file
from moldgen.user_file import user_data_folder

WHOLE_PRINTER = """
[printer."Shed printer"]
bed_width_mm = "10 in"
bed_depth_mm = 200
bed_height_mm = 200
nozzle_mm = 0.4
layer_mm = 0.2
least_wall_mm = 0.8
least_hole_mm = "1/16 in"
clean_bridge_mm = 8
tolerance_mm = 0.25
hole_undersize_mm = 0.3
"""
OURS = '[plastic.Ours]\nbased_on = "HIPS"\n'


@pytest.fixture
def stock(tmp_path):
    """Return a function that loads the shop with the given words as the person's own file."""

    def load(words, *extra):
        paths = []
        for name, text in zip(
            ("stock.toml", "job.toml", "third.toml"), (words, *extra), strict=False
        ):
            path = tmp_path / name
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
            paths.append(path)
        return load_shop(paths[1:], user_file=paths[0])

    return load


def test_an_own_entry_inherits_what_is_not_written(stock):
    """Only the written value differs from the base; name, title and aliases are its own."""
    shop = stock(OURS + "set_degC = 80\n")
    ours, base = shop.plastic("ours"), shop.plastic("HIPS")

    assert ours.set_degC == 80 != base.set_degC
    assert ours.forming_degC == base.forming_degC
    assert (ours.name, ours.title, ours.aliases, ours.based_on) == ("Ours", "Ours", (), "HIPS")
    assert shop.plastic("styrene") is base


def test_an_own_value_says_whose_it_is(stock):
    """The written value is sourced to the file, the inherited one keeps its source."""
    ours = stock(OURS + "set_degC = 80\n").plastic("Ours")

    assert ours.sources["set_degC"] == "own entry in stock.toml"
    assert ours.sources["density_kg_m3"].startswith("Crawford")


def test_an_own_source_and_note_are_kept(stock):
    """A value may name a source of the file's own table, or free words."""
    ours = stock(
        '[source]\nlog = { says = "our log book", how = "published" }\n'
        + OURS
        + 'set_degC = { value = 80, source = "log", note = "May 3" }\n'
        + 'glass_degC = { value = 99, source = "the supplier" }\n'
    ).plastic("Ours")

    assert ours.sources["set_degC"] == "our log book, May 3 (published)"
    assert ours.sources["glass_degC"] == "the supplier"


def test_an_own_band_is_kept_and_inherited_until_the_value_is_written_anew(stock):
    """Both ends in the value's unit or another; a value without a band takes none over."""
    shop = stock(
        OURS
        + 'set_degC = { value = 80, between = [75, "185 °F"] }\n'
        + '[plastic.Next]\nbased_on = "Ours"\n'
        + '[plastic.Last]\nbased_on = "Ours"\nset_degC = 82\n'
    )

    assert shop.plastic("Ours").bands["set_degC"] == (75, pytest.approx(85))
    assert shop.plastic("Next").bands["set_degC"] == shop.plastic("Ours").bands["set_degC"]
    assert "set_degC" not in shop.plastic("Last").bands


@pytest.mark.parametrize(
    ("written", "sentence"),
    [
        ("set_degC = { value = 80, between = 5 }", r"set_degC, between must be two values, .*5\)"),
        ("set_degC = { value = 80, between = [81, 90] }", r"81 and 90 around 80"),
        ("set_degC = { value = 80, between = [70, 900] }", r"between must be at least -200"),
        ('caution = { value = "Hot.", between = [1, 2] }', r"left out for what is no number"),
    ],
)
def test_a_wrong_band_is_refused(stock, written, sentence):
    """One sentence: the field, what a band is, what was written."""
    with pytest.raises(SpecError, match=sentence):
        stock(OURS + written + "\n")


def test_an_own_filament_may_say_how_soft_it_gets(stock):
    """Its stiffness above the glass transition is read, inherited, and less than below."""
    based = '[filament.Ours]\nbased_on = "PLA"\n'

    assert stock(based + "rubbery_MPa = 2\n").filament("Ours").rubbery_MPa == 2
    assert stock(based + "rubbery_MPa = 2\n").filament("PLA").rubbery_MPa == 1.2
    assert stock(based).filament("Ours").rubbery_MPa == 1.2
    with pytest.raises(SpecError, match=r"rubbery_MPa must be less than modulus_MPa, 1997 MPa"):
        stock(based + "rubbery_MPa = 1998\n")
    with pytest.raises(SpecError, match=r"rubbery_MPa must be more than 0 MPa"):
        stock(based + "rubbery_MPa = 0\n")


def test_a_known_name_changes_that_entry_in_place(stock):
    """Overriding one value of HIPS keeps its title, its aliases and its place in the list."""
    shop = stock("[plastic.hips]\nset_degC = 80\n")

    assert shop.plastic("styrene").set_degC == 80
    assert shop.plastic("styrene").title == "HIPS (high-impact polystyrene)"
    assert shop.names("plastic") == load_shop(user_file=None).names("plastic")


def test_a_forming_window_may_be_a_single_temperature(stock):
    """Lower, usual and upper limit may be equal where a supplier gives only one."""
    ours = stock(
        OURS + "forming_low_degC = 140\nforming_degC = 140\nforming_high_degC = 140\n"
    ).plastic("Ours")

    assert ours.forming_low_degC == ours.forming_degC == ours.forming_high_degC == 140


def test_a_change_may_name_itself_as_its_base(stock):
    """Writing based_on = "HIPS" under HIPS means the HIPS that was there."""
    shop = stock('[plastic.HIPS]\nbased_on = "HIPS"\nset_degC = 80\n')

    assert shop.plastic("HIPS").set_degC == 80
    assert shop.plastic("HIPS").forming_degC == 147


def test_entries_may_be_based_on_each_other_in_any_order(stock):
    """The chain is followed through the file, forwards, backwards, by alias, to changed entries."""
    shop = stock(
        '[plastic.Third]\nbased_on = "Second"\n'
        '[plastic.Second]\nbased_on = "styrene"\nforming_degC = 145\n'
        "[plastic.HIPS]\nset_degC = 81\n"
    )

    assert shop.plastic("Third").set_degC == 81
    assert shop.plastic("Third").forming_degC == 145
    assert shop.plastic("Third").based_on == "Second"


def test_the_file_beside_the_job_goes_before_the_persons(stock):
    """Of three files with the same entry the last one counts."""
    shop = stock(*(OURS + f"set_degC = {value}\n" for value in (70, 71, 72)))

    assert shop.plastic("Ours").set_degC == 72
    assert shop.names("plastic").count("Ours") == 1


def test_a_whole_entry_needs_no_base(stock):
    """An entry with every value stands alone; lengths may be written in inches."""
    printer = stock(WHOLE_PRINTER).printer("shed-printer")

    assert printer.bed_width_mm == 254
    assert printer.least_hole_mm == 1.5875
    assert printer.based_on == ""


@pytest.mark.parametrize(
    ("words", "field", "value"),
    [
        ('set_degC = "185 °F"', "set_degC", 85),
        ('set_degC = "185F"', "set_degC", 85),
        ('set_degC = "85 °C"', "set_degC", 85),
        ('set_degC = "85"', "set_degC", 85),
        ('shrinkage_male = "0.5 %"', "shrinkage_male", 0.005),
        ("glass_degC = 99", "glass_degC", 99),
        ('glass_degC = "-4 °F"', "glass_degC", -20),
    ],
)
def test_values_may_carry_their_unit(stock, words, field, value):
    """Degrees Fahrenheit, degrees Celsius and percent are read as a teacher writes them."""
    assert getattr(stock(OURS + words).plastic("Ours"), field) == pytest.approx(value)


def test_an_own_gauge_names_plastics_by_any_name(stock):
    """The gauge is found for the plastic, and for the own one based on it."""
    shop = stock(OURS + '[gauge."0.7 mm"]\ngauge_mm = "0.7 mm"\nplastics = ["styrene", "HIPS"]\n')

    assert shop.gauges.find("0.7 mm").plastics == ("HIPS",)
    assert 0.7 in [gauge.gauge_mm for gauge in shop.gauges_for("Ours")]
    assert 0.7 not in [gauge.gauge_mm for gauge in shop.gauges_for("ABS")]


def test_an_own_plastic_is_sold_in_the_gauges_of_its_base(stock):
    """A plastic based on one based on HIPS is bought in the gauges of HIPS and in its own."""
    shop = stock(
        OURS + '[plastic.Later]\nbased_on = "Ours"\n'
        '[gauge."0.9 mm"]\nbased_on = "1 mm"\ngauge_mm = 0.9\nplastics = ["Later"]\n'
    )
    base = {gauge.name for gauge in shop.gauges_for("HIPS")}

    assert {gauge.name for gauge in shop.gauges_for("Later")} == base | {"0.9 mm"}


def test_an_own_insert_replaces_the_one_of_its_thread(stock):
    """The supplier's hole goes before the usual one, under any name."""
    shop = stock('[insert."our brass"]\nbased_on = "heat-set M4"\nhole_mm = 5.7\n')

    assert shop.insert("M4", "heat-set").hole_mm == 5.7
    assert shop.insert("M3", "heat-set").hole_mm == 4.0


def test_a_file_with_a_byte_order_mark_is_read(stock):
    """Some editors begin a file with one."""
    assert stock(b"\xef\xbb\xbf" + OURS.encode()).plastic("Ours")


def test_an_empty_file_adds_nothing(stock):
    """Nothing written, nothing changed."""
    assert stock("") == load_shop(user_file=None)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("[plastic.X]\nset_degC = 80\n", r'plastic "X", structure must be given \(got nothing\)'),
        (OURS + "set_degc = 80", r'"Ours" must be made of fields of a plastic .* mean set_degC'),
        (OURS + "sources = {value = 1}", r"made of fields of a plastic \(got 'sources'\)"),
        (OURS + 'name = "Other"', r"must be made of fields of a plastic \(got 'name'\)"),
        (OURS + "set_degC = true", r"Ours\", set_degC must be a number, .* \(got true\)"),
        (OURS + "set_degC = [80]", r"set_degC must be a number, .* \(got a list\)"),
        (OURS + "set_degC = 2020-01-01", r"set_degC must be a number, .*\(got 2020-01-01\)"),
        (OURS + 'set_degC = "warm"', r"set_degC must be a number in °C or °F \(got 'warm'\)"),
        (OURS + 'set_degC = "85 mm"', r"set_degC must be a number in °C .* Correct the unit"),
        (OURS + "set_degC = nan", r"set_degC must be at least -200 °C .* \(got nan °C\)"),
        (OURS + "set_degC = inf", r"set_degC must be .* \(got inf °C\)"),
        (OURS + "density_kg_m3 = -1050", r"density_kg_m3 must be .* \(got -1050 kg/m³\)"),
        (OURS + "density_kg_m3 = 1.05", r"density_kg_m3 must be at least 100 kg/m³"),
        (OURS + f"density_kg_m3 = {'9' * 400}", r"density_kg_m3 must be .*beyond all bounds"),
        (OURS + "shrinkage_male = 0.5", r"shrinkage_male must be at least 0 and at most 0\.06"),
        (OURS + 'shrinkage_male = "50 %"', r"shrinkage_male must be .* \(got 0\.5\)"),
        (OURS + 'modulus_MPa = "5 %"', r"modulus_MPa must be a number in MPa \(got '5 %'\)"),
        (OURS + "set_degC = 128", r"forming_low_degC must be at least set_degC, 128 °C"),
        (OURS + "forming_degC = 200", r"forming_high_degC must be at least forming_degC, 200"),
        (OURS + 'structure = "glassy"', r"structure must be amorphous or crystalline \(got 'gl"),
        (OURS + "structure = 3", r"structure must be amorphous or crystalline \(got 3\)"),
        (OURS + 'structure = ["amorphous"]', r"structure must be amorphous or crystalline"),
        (OURS + "title = 3", r"title must be a text in quotes \(got 3\)"),
        (OURS + 'aliases = "red"', r"aliases must be a list of texts \(got 'red'\)"),
        (OURS + "aliases = 3", r"aliases must be a list of texts \(got 3\)"),
        (OURS + "aliases = [3]", r"aliases must be a text in quotes \(got 3\)"),
        (OURS + 'aliases = ["petg"]', r"aliases must be no other entry's name \(got 'petg'\)"),
        (OURS + "set_degC = {source = \"x\"}", r"set_degC, value must be given \(got nothing\)"),
        (OURS + "set_degC = {value = 1, sorce = 2}", r"source, note or between .*'sorce'"),
        (OURS + "set_degC = {value = 80, source = 7}", r"set_degC, source must be a text in quo"),
        (OURS + "set_degC = {value = 80, note = 7}", r"set_degC, note must be a text in quotes"),
        ('[plastic.A]\nbased_on = "HIPSS"', r"\"A\", based_on must be .* Did you mean HIPS\?"),
        ("[plastic.A]\nbased_on = 3", r'plastic "A", based_on must be a text in quotes'),
        ('[plastic.A]\nbased_on = "a"', r'plastic "A", based_on .*\(got A -> A\)'),
        (
            '[plastic.A]\nbased_on = "B"\n[plastic.B]\nbased_on = "C"\n[plastic.C]\nbased_on = "a"',
            r"based_on must be an entry that is not based on this one \(got A -> B -> C -> A\)",
        ),
        ('[plastic.A]\nbased_on="HIPS"\n[plastic.a]\nbased_on="ABS"', r'"a" must be written once'),
        ("[plastics.A]\nset_degC = 3", r"section must be plastic, .* Did you mean plastic\?"),
        ("plastic = 3", r"stock\.toml: plastic must be a table \(got 3\)"),
        ("[plastic]\nHIPS = 3", r'plastic "HIPS" must be a table \(got 3\)'),
        ('[plastic."-"]\nbased_on = "HIPS"', r"name must be a word \(got '-'\)"),
        ("source = 3", r"source must be a table"),
        ('[source]\na = "x"', r'source "a" must be a table'),
        ('[source]\na = {says = "x"}', r'source "a" must be made of says and how \(got says\)'),
        ('[source]\na = {says = "x", how = "heard"}', r"how must be published, from memory, comm"),
        ('[source]\na = {says = "x", how = [1]}', r"how must be published, from .* \(got \[1\]\)"),
        ('[source]\na = {says = 1, how = "derived"}', r"says must be a text in quotes"),
        ('[source]\na = {said = 1}', r"made of says or how \(got 'said'\)"),
        ('[machine.S]\nbased_on="bench-250x250"\nheater_sides=1.5', r"heater_sides must be a whol"),
        ('[machine.S]\nbased_on="bench-250x250"\nheater_sides=3', r"heater_sides must be at least"),
        ('[machine.S]\nbased_on="bench-250x250"\nheater_kind="gas"', r"heater_kind must be coil, "),
        ('[machine.S]\nbased_on="bench-250x250"\nvacuum_kPa="31 inHg"', r"vacuum_kPa must be .* a"),
        ('[machine.S]\nbased_on="bench-250x250"\nvacuum_kPa="15 kg"', r"vacuum_kPa .* Correct the"),
        ('[machine.S]\nbased_on="bench-250x250"\nopening_width_mm=251', r"sheet_width_mm must be at"
         r" least the opening and the clamp margin on both sides, 281 mm \(got 280 mm\)"),
        ('[machine.S]\nbased_on="bench-250x250"\nsheet_depth_mm=279', r"sheet_depth_mm must be at"),
        ('[machine.S]\nbased_on="bench-250x250"\nhole_diameter_mm=10', r"hole_diameter_mm must be "
         r"less than hole_pitch_mm, 10 mm"),
        ('[printer.P]\nbased_on="bed-220"\nlayer_mm=0.4', r"layer_mm must be less than nozzle_mm"),
        ('[printer.P]\nbased_on="bed-220"\nleast_wall_mm=0.3', r"least_wall_mm must be at least n"),
        ('[printer.P]\nbased_on="bed-220"\nbed_width_mm="220 °"', r"bed_width_mm must be a number "
         r"in mm, cm"),
        ('[gauge.G]\ngauge_mm = 1\nplastics = ["PTEG"]', r'gauge "G", plastics must be a plastic in'
         r" stock \(got 'PTEG'\)\. Did you mean PETG\?"),
        ('[gauge.G]\ngauge_mm = 13\nplastics = ["PETG"]', r"gauge_mm must be .* at most 12 mm"),
        ('[insert.I]\nthread = "M8"\nkind = "nut"\nthickness_mm = 6', r"across_flats_mm must be g"),
        ('[insert.I]\nthread = "M8"\nkind = "clearance"', r"hole_mm must be given for a clearance"),
        ('[insert.I]\nthread = "M8"\nkind = "heat-set"\nhole_mm = 9', r"thickness_mm must be give"),
    ],
)  # fmt: skip
def test_a_wrong_entry_is_refused_in_one_sentence(stock, words, sentence):
    """The sentence names the file, the entry and the field."""
    with pytest.raises(SpecError, match=sentence) as caught:
        stock(words)

    assert "stock.toml: " in str(caught.value)
    assert "\n" not in str(caught.value)


def test_the_file_that_wrote_the_value_is_named(stock):
    """A mistake in the person's file is not blamed on the file beside the job."""
    with pytest.raises(SpecError, match=r"stock\.toml: plastic \"Ours\", set_degC"):
        stock(OURS + "set_degC = -999\n", OURS.replace("HIPS", "Ours"))


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"set_degC = = 3", r"stock\.toml is not TOML: .*line 1.*\. Correct that place\."),
        (b"[plastic.A]\n[plastic.A]\n", r"is not TOML: Cannot declare"),
        (b"\x89PNG\r\n\x1a\n\x00\xff", r"stock\.toml is not text in UTF-8\. Give a stock file"),
        (b"PK\x03\x04\x00\x00", r"stock\.toml is not TOML"),
        (b"a = " + b"[" * 100_000, r"stock\.toml is nested too deeply for a stock file"),
        (b"a = " + b"9" * 5000, r"stock\.toml has a word of over 2,500 characters"),
        (b"#" * 1_000_001, r"stock\.toml is too large for a stock file \(over 1 MB\)"),
    ],
    ids=["syntax", "twice", "picture", "zip", "nested", "long number", "large"],
)
def test_a_file_that_is_no_stock_file_is_refused(stock, content, sentence):
    """One sentence with the file and what to do, never the parser's traceback."""
    with pytest.raises(FileError, match=sentence):
        stock(content)


def test_a_given_file_must_be_there(tmp_path):
    """A path given outright is not passed over, as the person's own file and as the job's."""
    missing = tmp_path / "none.toml"

    with pytest.raises(FileError, match=r"none\.toml cannot be read: no such file"):
        load_shop(user_file=missing)
    with pytest.raises(FileError, match=r"none\.toml cannot be read: no such file"):
        load_shop([missing], user_file=None)


def test_a_folder_and_an_impossible_name_are_refused(tmp_path):
    """A folder cannot be read, nor a name that no file can have."""
    with pytest.raises(FileError, match=r"cannot be read: is a directory"):
        load_shop([tmp_path], user_file=None)
    with pytest.raises(FileError, match=r"cannot be read: not a usable file name"):
        load_shop([Path("a\0b")], user_file=None)


def test_the_usual_place_may_be_empty(tmp_path):
    """A person without own entries gets what comes with moldgen."""
    assert load_shop(user_file=lambda: tmp_path / "none.toml") == load_shop(user_file=None)


def test_the_usual_place_is_read(tmp_path):
    """A file at the usual place counts without being named."""
    path = tmp_path / "stock.toml"
    path.write_text(OURS, encoding="utf-8")

    assert load_shop(user_file=lambda: path).plastic("Ours")


@pytest.mark.parametrize(
    ("platform", "environment", "path"),
    [
        ("linux", {"HOME": "/home/ana"}, "/home/ana/.config/moldgen/stock.toml"),
        ("linux", {"HOME": "/h", "XDG_CONFIG_HOME": "/etc/x"}, "/etc/x/moldgen/stock.toml"),
        ("linux", {"HOME": "/h", "XDG_CONFIG_HOME": "x"}, "/h/.config/moldgen/stock.toml"),
        ("linux", {"HOME": "/h", "XDG_CONFIG_HOME": ""}, "/h/.config/moldgen/stock.toml"),
        ("darwin", {"HOME": "/Users/a"}, "/Users/a/Library/Application Support/moldgen/stock.toml"),
        ("win32", {"USERPROFILE": "/u", "APPDATA": "/u/r"}, "/u/r/moldgen/stock.toml"),
        ("win32", {"USERPROFILE": "/u"}, "/u/AppData/Roaming/moldgen/stock.toml"),
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="the paths are written with slashes")
def test_own_entries_are_kept_in_the_configuration_folder(platform, environment, path):
    """Each platform has its place, and a relative setting is passed over."""
    assert user_stock_file(platform, environment) == Path(path)


def test_the_data_files_are_part_of_the_package():
    """The files are found as resources, and each holds entries of its own kind only."""
    for kind in ("plastic", "filament", "machine", "printer", "gauge", "insert"):
        words = files("moldgen.stock").joinpath(f"{kind}.toml").read_text(encoding="utf-8")

        assert set(tomllib.loads(words)) == {"source", kind}


def test_one_variable_moves_everything_that_is_a_persons_own(tmp_path):
    """The stock and what the page keeps; without it the page has the platform's place for data."""
    moved = {"MOLDGEN_HOME": str(tmp_path)}

    assert user_stock_file("linux", moved).parent == tmp_path
    assert user_data_folder(moved) == tmp_path
    assert user_data_folder({}).name == "moldgen"
    assert user_data_folder({}).is_absolute()
