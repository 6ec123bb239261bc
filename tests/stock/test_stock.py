"""What comes with moldgen: every value sourced, in order, and as the tables print it."""

import re
from dataclasses import fields
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.count_calls import count_calls
from support.some import some

from moldgen.errors import SpecError
from moldgen.quantity import quantities
from moldgen.stock import (
    Gauge,
    InsertKind,
    Plastic,
    Sheet,
    Structure,
    load_drills,
    load_shop,
    nearest_drill,
)
from moldgen.stock.drill import Series
from moldgen.stock.gauge import nearest_gauge
from moldgen.stock.line_bending import plastic_to_bend
from moldgen.stock.shelf import Shelf

IMPERIAL: Any = "imperial"
"""Not the name of a system of drills."""
SHOP = load_shop(user_file=None)
ENTRIES = [
    entry
    for shelf in (SHOP.plastics, SHOP.filaments, SHOP.machines, SHOP.printers, SHOP.gauges)
    for entry in shelf.entries
] + list(SHOP.inserts.entries)
THERMAL = [(row, key) for row in published("plastic_thermal") for key in row if key != "plastic"]
NUTS = published("hex_nuts")
HOLES = published("clearance_holes")
DRILLS = published("drill_sizes")
GAUGES = published("inch_gauges")
SHRINKAGE = published("shrinkage")
TEMPERATURES = published("forming_temperatures")
drill_mm = st.floats(0.35, 12.6)


def identity(entry):
    return f"{type(entry).__name__} {entry.name}"


def named(rows, key):
    return {"argvalues": rows, "ids": [row[key] for row in rows]}


def test_there_is_enough_to_choose_from():
    """A shop starts with 12 plastics, 8 filaments, 3 machines, 6 printers, both gauge systems."""
    counts = {kind: len(SHOP.names(kind)) for kind in ("plastic", "filament", "machine", "printer")}

    assert counts == {"plastic": 12, "filament": 8, "machine": 3, "printer": 6}
    assert {name.split()[1] for name in SHOP.names("gauge")} == {"mm", "in"}


@pytest.mark.parametrize("entry", ENTRIES, ids=identity)
def test_every_value_has_a_source(entry):
    """Each number names its source and says how it is known, never a bare key or nothing."""
    assert all(entry.sources.values())
    for field in quantities(type(entry)):
        default = next(item.default for item in fields(entry) if item.name == field)
        if getattr(entry, field) in (None, default):
            continue
        source = entry.sources[field]
        assert re.search(r" \((published|from memory|common practice|derived)\)$", source), field


@pytest.mark.parametrize("plastic", SHOP.plastics.entries, ids=identity)
def test_texts_of_a_plastic_have_sources_too(plastic):
    """Structure and caution are claims like any number."""
    assert plastic.caution.endswith(".")
    assert {"structure", "caution"} <= plastic.sources.keys()


@pytest.mark.parametrize("plastic", SHOP.plastics.entries, ids=identity)
def test_crystalline_plastics_melt_and_lean_more(plastic):
    """Only crystalline sheet has a melting point; it shrinks more and needs more draft."""
    crystalline = plastic.structure is Structure.CRYSTALLINE
    amorphous = [other for other in SHOP.plastics.entries if other.structure is Structure.AMORPHOUS]

    assert (plastic.melting_degC is not None) == crystalline == (plastic.melting_kJ_kg > 0)
    if crystalline:
        assert plastic.shrinkage_male > max(other.shrinkage_male for other in amorphous)
        assert plastic.draft_male_deg > 5


@pytest.mark.parametrize("plastic", SHOP.plastics.entries, ids=identity)
def test_temperatures_of_a_plastic_stand_in_order(plastic):
    """It sets below its forming window; amorphous sheet forms above its glass transition."""
    assert plastic.set_degC < plastic.forming_low_degC < plastic.forming_degC
    assert plastic.forming_degC < plastic.forming_high_degC
    assert plastic.specific_heat_hot_J_kgK > plastic.specific_heat_J_kgK
    if plastic.structure is Structure.AMORPHOUS:
        assert plastic.set_degC < plastic.glass_degC + 5 < plastic.forming_low_degC


@pytest.mark.parametrize("plastic", SHOP.plastics.entries, ids=identity)
def test_female_molds_give_smaller_parts(plastic):
    """Shrinkage in female molds is 0.1 to 0.3 percentage points more."""
    more = plastic.shrinkage_female - plastic.shrinkage_male

    assert 0.001 <= round(more, 6) <= 0.003


@pytest.mark.parametrize("row", **named(SHRINKAGE, "plastic"))
def test_shrinkage_is_within_the_published_band(row):
    """The male value is within the printed range of its plastic."""
    percent = 100 * SHOP.plastic(row["plastic"]).shrinkage_male

    assert float(row["low"]) <= round(percent, 6) <= float(row["high"])


def test_published_shrinkage_can_tell_the_plastics_apart():
    """The band of HDPE rejects the shrinkage of HIPS."""
    bands = {row["plastic"]: row for row in SHRINKAGE}

    assert 100 * SHOP.plastic("HIPS").shrinkage_male < float(bands["HDPE"]["low"])


@pytest.mark.parametrize("row", **named(TEMPERATURES, "plastic"))
def test_forming_window_is_as_the_table_prints_it(row):
    """Set, lower and upper limit are copied; the usual temperature is within its range."""
    plastic = SHOP.plastic(row["plastic"])

    assert plastic.set_degC == float(row["set"])
    assert plastic.forming_low_degC == float(row["lower"])
    assert float(row["normal_low"]) <= plastic.forming_degC <= float(row["normal_high"])
    assert plastic.forming_high_degC == float(row["upper"])


def test_forming_table_can_tell_two_plastics_apart():
    """The row of PC rejects the window of PETG."""
    row = next(row for row in TEMPERATURES if row["plastic"] == "PC")

    assert SHOP.plastic("PETG").forming_high_degC < float(row["lower"])


@pytest.mark.parametrize(("row", "key"), THERMAL, ids=[f"{r['plastic']} {k}" for r, k in THERMAL])
def test_thermal_data_are_as_crawford_prints_them(row, key):
    """Density, specific heat, conductivity and glass transition agree with Table 1.8."""
    plastic, printed = SHOP.plastic(row["plastic"]), row[key]
    if not printed:
        return
    ours = {
        "density_kg_m3": plastic.density_kg_m3,
        "specific_heat_kJ_kgK": plastic.specific_heat_J_kgK / 1000,
        "conductivity_W_mK": plastic.conductivity_W_mK,
        "glass_degC": plastic.glass_degC,
    }

    assert ours[key] == pytest.approx(float(printed), abs=1e-9)
    assert plastic.sources[key.replace("kJ", "J")].startswith("Crawford")


def test_thermal_table_can_tell_acrylic_from_polystyrene():
    """The conductivity of acrylic is not that of HIPS: rows swapped would fail."""
    row = next(row for row in published("plastic_thermal") if row["plastic"] == "PMMA cast")

    assert SHOP.plastic("HIPS").conductivity_W_mK != float(row["conductivity_W_mK"])


@pytest.mark.parametrize("entry", ENTRIES, ids=identity)
def test_what_decides_heating_and_is_from_memory_has_a_band(entry):
    """Conductivity, heats, melting and stiffness known from memory say how far they may be off."""
    decide = {
        "conductivity_W_mK", "specific_heat_J_kgK", "specific_heat_hot_J_kgK", "melting_kJ_kg",
        "melting_degC", "rubbery_MPa",
    }  # fmt: skip
    doubtful = {field for field in decide if entry.sources.get(field, "").endswith("(from memory)")}

    assert doubtful <= entry.bands.keys()
    for field, (low, high) in entry.bands.items():
        assert low <= getattr(entry, field) <= high
        assert low < high


@pytest.mark.parametrize("filament", SHOP.filaments.entries, ids=identity)
def test_no_number_of_a_filament_is_from_memory_alone(filament):
    """Whatever heat and load it stands, what is only remembered says what it lies between."""
    remembered = {
        field
        for field in quantities(type(filament))
        if filament.sources[field].endswith("(from memory)")
    }

    assert remembered <= filament.bands.keys()


@pytest.mark.parametrize(
    ("kind", "name", "field", "low", "high", "before"),
    [
        ("plastic", "PETG", "conductivity_W_mK", 0.19, 0.21, 0.29),
        ("filament", "PETG", "conductivity_W_mK", 0.19, 0.21, 0.29),
        ("filament", "PLA", "conductivity_W_mK", 0.13, 0.267, 0.12),
        ("filament", "PLA", "softens_degC", 63, 65, 60),
        ("filament", "PA12", "deflection_degC", 130, 135, 145),
        ("plastic", "APET", "density_kg_m3", 1330, 1340, 1360),
    ],
)
def test_bands_of_the_stock_are_the_reported_ones(kind, name, field, low, high, before):
    """As reported: printed PLA softens at 63 to 65 degrees and conducts 0.13 (bulk) to 0.267.

    The last is Materials 2026, 19(13), 2793; what stood here before lies outside each band.
    """
    entry = getattr(SHOP, kind)(name)

    assert entry.bands[field] == (low, high)
    assert not low <= before <= high


def test_abs_conducts_what_compilations_say_and_the_table_s_value_is_within_its_band():
    """0.17 W/(m K), sheet and filament; Crawford's 0.25 stays the far end of the sheet's band."""
    sheet, filament = SHOP.plastic("ABS"), SHOP.filament("ABS")

    assert sheet.conductivity_W_mK == filament.conductivity_W_mK == 0.17
    assert sheet.bands["conductivity_W_mK"][1] == 0.25
    assert "Crawford prints 0.25" in sheet.sources["conductivity_W_mK"]


@pytest.mark.parametrize("filament", SHOP.filaments.entries, ids=identity)
def test_a_filament_is_rubber_above_its_glass_transition_unless_it_has_crystals(filament):
    """Less than a hundredth of the modulus is left if amorphous, some tenths if crystalline."""
    left = filament.rubbery_MPa / filament.modulus_MPa

    if filament.structure is Structure.CRYSTALLINE:
        assert 0.1 < left < 0.4
    else:
        assert left < 0.01


def test_printed_pla_is_as_reported_above_its_glass_transition():
    """Polymers 2024, 16(11), 1526: 1.2 MPa and 65 degrees; PETG's value would not do."""
    pla = SHOP.filament("PLA")

    assert pla.rubbery_MPa == 1.2 != SHOP.filament("PETG").rubbery_MPa
    assert pla.sources["rubbery_MPa"] == "Polymers 2024, 16(11), 1526: printed PLA (published)"
    assert pla.bands["softens_degC"][1] == 65


def test_filaments_stand_heat_in_the_usual_order():
    """By heat deflection PLA < PETG < HIPS < ABS = ASA < PC; service stays below deflection."""
    order = ["PLA", "PETG", "HIPS", "ABS", "ASA", "PC"]
    deflection = [SHOP.filament(name).deflection_degC for name in order]

    assert deflection == sorted(deflection)
    assert deflection[3] == deflection[4]
    assert len(set(deflection)) == 5


@pytest.mark.parametrize("filament", SHOP.filaments.entries, ids=identity)
def test_filaments_are_weaker_across_layers_and_used_below_deflection(filament):
    """Layers part first, and nobody advises service above heat deflection."""
    assert filament.strength_across_layers_MPa < filament.strength_MPa
    assert filament.service_degC < filament.deflection_degC


@pytest.mark.parametrize("printer", SHOP.printers.entries, ids=identity)
def test_printers_follow_the_rules_of_their_nozzle(printer):
    """Two lines make a wall, the layer is within 80 percent of the nozzle, bridges to 10 mm."""
    assert printer.least_wall_mm == pytest.approx(2 * printer.nozzle_mm)
    assert 0.25 * printer.nozzle_mm <= printer.layer_mm <= 0.8 * printer.nozzle_mm
    assert printer.clean_bridge_mm == 10
    assert 1.4 <= printer.least_hole_mm <= 2.0


@pytest.mark.parametrize("machine", SHOP.machines.entries, ids=identity)
def test_machines_are_as_large_as_their_names_say(machine):
    """The name gives the clear opening; margins and vacuum are within common practice."""
    width, depth = map(int, re.search(r"(\d+)x(\d+)$", machine.name).groups())

    assert (machine.opening_width_mm, machine.opening_depth_mm) == (width, depth)
    assert 12 <= machine.clamp_margin_mm <= 25
    assert machine.sheet_depth_mm == depth + 2 * machine.clamp_margin_mm


@pytest.mark.parametrize("row", **named(published("vacuum_units"), "inHg"))
def test_vacuum_levels_convert_as_published(row):
    """A machine written in inches of mercury holds the published kilopascals."""
    machine = next(
        entry
        for entry, level in zip(SHOP.machines.entries, ("15", "20", "25"), strict=True)
        if level == row["inHg"]
    )

    assert machine.vacuum_kPa == pytest.approx(float(row["kPa"]), abs=0.005)


@pytest.mark.parametrize("row", **named(GAUGES, "inch"))
def test_inch_gauges_convert_as_published(row):
    """Each inch gauge is in stock, in millimeters to the printed digits, with its metric name."""
    gauge = SHOP.gauges.find(f"0{row['inch']} in")

    assert gauge.gauge_mm == pytest.approx(float(row["mm"]), abs=half_last_digit(row["mm"]))
    if row["sold_as_mm"]:
        assert gauge.nominal_mm == float(row["sold_as_mm"])
        assert gauge.gauge_mm == pytest.approx(gauge.nominal_mm, rel=0.02)


def test_gauge_pairs_can_tell_a_misprint():
    """Erratum: .354 in is sold as 9 mm; the printed 8.5 mm would be 5 percent off."""
    assert SHOP.gauges.find("0.354 in").gauge_mm != pytest.approx(8.5, rel=0.02)


@pytest.mark.parametrize("plastic", SHOP.plastics.entries, ids=identity)
def test_every_plastic_is_sold_in_some_gauges(plastic):
    """Gauges come thinnest first, and each can be made a sheet."""
    thicknesses = [gauge.gauge_mm for gauge in SHOP.gauges_for(plastic)]

    assert len(thicknesses) >= 3
    assert thicknesses == sorted(thicknesses)
    assert Sheet(plastic=plastic, gauge_mm=thicknesses[0]).gauge_mm < 2.01


@pytest.mark.parametrize("row", **named(published("acrylic_mass"), "inch"))
def test_sheet_weighs_what_the_table_says(row):
    """Acrylic weighs the printed pounds per square foot, within a percent of its density."""
    sheet = Sheet(plastic=SHOP.plastic("acrylic"), gauge_mm=float(row["inch"]) * 25.4)
    kg_m2_per_lb_ft2 = 0.45359237 / 0.3048**2

    assert sheet.mass_kg_m2 / kg_m2_per_lb_ft2 == pytest.approx(float(row["lb_ft2"]), rel=0.01)


def test_area_weights_can_tell_acrylic_from_styrene():
    """The same rows reject the density of polystyrene."""
    row = published("acrylic_mass")[1]
    sheet = Sheet(plastic=SHOP.plastic("styrene"), gauge_mm=float(row["inch"]) * 25.4)

    assert sheet.mass_kg_m2 / 4.8824 < 0.95 * float(row["lb_ft2"])


@pytest.mark.parametrize("gauge_mm", [0.09, 12.1, 0, -1])
def test_sheets_out_of_all_range_are_refused(gauge_mm):
    """A sheet is 0.1 to 12 mm thick."""
    with pytest.raises(SpecError, match=r"gauge_mm must be at least 0\.1 mm and at most 12 mm"):
        Sheet(plastic=SHOP.plastic("ABS"), gauge_mm=gauge_mm)


@pytest.mark.parametrize("row", **named(NUTS, "thread"))
def test_nuts_are_as_the_standard_has_them(row):
    """Width across flats and thickness of ISO 4032."""
    nut = SHOP.insert(row["thread"], "nut")

    assert nut.across_flats_mm == float(row["s"])
    assert nut.thickness_mm == float(row["m"])


@pytest.mark.parametrize("row", **named(HOLES, "thread"))
def test_clearance_holes_are_as_the_standard_has_them(row):
    """Fine, medium and coarse holes of ISO 273, all wider than the screw."""
    hole = SHOP.insert(row["thread"], InsertKind.CLEARANCE)

    assert hole.hole_fine_mm == float(row["fine"])
    assert hole.hole_mm == float(row["medium"])
    assert hole.hole_coarse_mm == float(row["coarse"])
    assert float(row["thread"][1:]) < hole.hole_fine_mm < hole.hole_mm < hole.hole_coarse_mm


def test_insert_tables_can_tell_a_shifted_row():
    """The row of M5 rejects the nut and the hole of M4."""
    assert SHOP.insert("M4", "nut").across_flats_mm != float(NUTS[2]["s"])
    assert SHOP.insert("M4", "clearance").hole_mm != float(HOLES[2]["medium"])


@pytest.mark.parametrize("thread", ["M3", "M4", "M5"])
def test_heat_set_holes_are_wider_than_the_screw(thread):
    """The insert takes room around the thread, less than a nut would."""
    insert, nut = SHOP.insert(thread, "heat-set"), SHOP.insert(thread, "nut")

    assert float(thread[1:]) < insert.hole_mm < nut.across_flats_mm
    assert insert.thickness_mm > nut.thickness_mm


@pytest.mark.parametrize("row", **named(DRILLS, "name"))
def test_drills_are_as_the_table_prints_them(row):
    """Name, printed inches and, where they are remembered, millimeters agree."""
    drill = next(drill for drill in load_drills() if drill.name == row["name"])

    assert drill.printed == row["inch"]
    assert drill.diameter_mm == pytest.approx(25.4 * float(row["inch"]), rel=1e-12)
    if not row["mm"]:
        return
    assert drill.diameter_mm == pytest.approx(float(row["mm"]), abs=half_last_digit(row["mm"]))


def test_drill_table_can_tell_a_neighbor():
    """The row of #40 rejects #39: the printed digits tell every drill from the next."""
    row = next(row for row in DRILLS if row["name"] == "#40")
    neighbor = next(drill for drill in load_drills() if drill.name == "#39")

    assert abs(neighbor.diameter_mm - float(row["mm"])) > 10 * half_last_digit(row["mm"])


def test_each_drill_series_is_complete_and_rises():
    """80 numbers falling to #1, 26 letters, 64ths to half an inch, tenths to 13 mm."""
    series = {kind: [drill for drill in load_drills() if drill.series is kind] for kind in Series}
    sizes = {kind: [drill.diameter_mm for drill in drills] for kind, drills in series.items()}

    assert all(rising == sorted(set(rising)) for rising in sizes.values())
    assert [drill.name for drill in series[Series.NUMBER]] == [f"#{n}" for n in range(80, 0, -1)]
    assert "".join(drill.name for drill in series[Series.LETTER]) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert [Fraction(drill.printed) for drill in series[Series.FRACTION]] == [
        Fraction(n, 64) for n in range(1, 33)
    ]
    assert sizes[Series.METRIC][-1] == 13.0
    steps = {round(upper - lower, 6) for lower, upper in pairwise(sizes[Series.METRIC])}
    assert steps == {0.05, 0.1}


def test_number_drills_end_below_the_letters():
    """#1 is smaller than A, and E is a quarter of an inch."""
    drills = {drill.name: drill for drill in load_drills()}

    assert drills["#1"].diameter_mm < drills["A"].diameter_mm
    assert drills["E"].diameter_mm == drills["1/4 in"].diameter_mm == 6.35


@pytest.mark.parametrize(
    ("diameter_mm", "system", "at_most", "name"),
    [
        (1.0, "metric", True, "1 mm"),
        (1.0, "inch", True, "#61"),
        (1.0, "inch", False, "#61"),
        (1.01, "inch", False, "#60"),
        (0.04 * 25.4, "inch", True, "#60"),
        (1.19, "metric", True, "1.1 mm"),
        (1.19, "metric", False, "1.2 mm"),
        (1.35, "metric", False, "1.3 mm"),
        (2.45, "metric", False, "2.4 mm"),
        (6.35, "inch", True, "1/4 in"),
        (6.35, "inch", False, "1/4 in"),
        (0.3, "metric", True, "0.3 mm"),
        (13, "metric", False, "13 mm"),
    ],
)
def test_nearest_drill(diameter_mm, system, at_most, name):
    """A vent gets the drill a person would pick from the index."""
    assert nearest_drill(diameter_mm, system, at_most=at_most).name == name
    assert SHOP.nearest_drill(diameter_mm, system, at_most=at_most).name == name


@settings(max_examples=30)
@given(drill_mm, st.sampled_from(["metric", "inch"]))
def test_no_drill_is_nearer(diameter_mm, system):
    """The choice beats every drill of its system, and from below never exceeds."""
    metric = system == "metric"
    choice = [
        drill.diameter_mm for drill in load_drills() if (drill.series is Series.METRIC) == metric
    ]

    nearest = nearest_drill(diameter_mm, system, at_most=False).diameter_mm
    below = nearest_drill(diameter_mm, system, at_most=True).diameter_mm

    assert abs(nearest - diameter_mm) == pytest.approx(
        min(abs(size - diameter_mm) for size in choice), abs=1e-8
    )
    assert below <= diameter_mm + 1e-6
    assert not any(below + 1e-6 < size <= diameter_mm for size in choice)


@pytest.mark.parametrize(
    ("wanted_mm", "at_least", "found_mm"),
    [
        (1.4, True, 1.5),
        (1.6, True, 2.0),
        (1.6, False, 1.524),
        (0.06 * 25.4, True, 1.524),
        (0.1, True, 0.5),
        (2.27, False, 2.032),
        (2.286, False, 2.54),
    ],
)
def test_nearest_gauge(wanted_mm, at_least, found_mm):
    """HIPS comes as 0.5 to 6.35 mm; from a tie the thicker sheet is taken."""
    found = SHOP.nearest_gauge_mm(wanted_mm, "HIPS", at_least=at_least)

    assert found == pytest.approx(found_mm)


def test_a_tie_between_gauges_goes_to_the_thicker():
    """Halfway between two gauges the safe choice is the thicker one."""
    gauges = [Gauge(name=f"{mm} mm", gauge_mm=mm, plastics=()) for mm in (1.0, 2.0)]

    assert nearest_gauge(gauges, 1.5, at_least=False).gauge_mm == 2.0


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("hips", "HIPS"),
        ("High-impact polystyrene", "HIPS"),
        ("Styrene", "HIPS"),
        ("pet-g", "PETG"),
        ("PVC-RIGID", "PVC rigid"),
        ("pvc", "PVC rigid"),
        ("acrylic", "PMMA extruded"),
        (" polycarbonate ", "PC"),
    ],
)
def test_plastics_are_found_by_any_of_their_names(name, found):
    """Capitals, hyphens and common names make no difference."""
    assert SHOP.plastic(name).name == found


def test_acrylic_to_form_is_extruded_and_to_bend_is_cast():
    """The plain word means what is bought for the work; a full name means itself."""
    assert SHOP.plastic("Acrylic").name == "PMMA extruded"
    assert plastic_to_bend(SHOP, "Acrylic").name == "PMMA cast"
    assert plastic_to_bend(SHOP, "extruded acrylic").name == "PMMA extruded"
    assert plastic_to_bend(SHOP, "HIPS").name == "HIPS"


def test_a_name_goes_before_a_title_and_a_later_entry_before_an_earlier():
    """What a person adds under a known title or alias is what the words then mean."""
    first, later, named = (
        Gauge(name=name, title=title, aliases=aliases, gauge_mm=1, plastics=())
        for name, title, aliases in [
            ("a", "thin", ("sign sheet",)),
            ("b", "thin", ("sign sheet", "tray sheet")),
            ("tray sheet", "thick", ("thin",)),
        ]
    )
    shelf = Shelf("gauge", (first, named, later))

    assert shelf.find("tray sheet") is named
    assert shelf.find("thin") is later
    assert shelf.find("sign sheet") is later
    assert Shelf("gauge", (later, first)).find("thin") is first


def test_every_spelling_leads_to_one_entry():
    """No name, title or alias of one entry is also one of another of its kind."""
    for kind in ("plastics", "filaments", "machines", "printers", "gauges", "inserts"):
        shelf = getattr(SHOP, kind)
        for entry in some(shelf.entries):
            for word in (entry.name, entry.title, *entry.aliases):
                assert shelf.find(word) is entry


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: SHOP.plastic("PTEG"), r"plastic must be a plastic in stock \(got 'PTEG'\)\. Did y"
                                       r"ou mean PETG\?"),
        (lambda: SHOP.plastic("poly carbonat"), r"plastic .*Did you mean PC"),
        (lambda: SHOP.plastic("oak"), r"plastic must .* Choose HIPS, GPPS, .* HDPE or LDPE\."),
        (lambda: SHOP.plastic(""), r"plastic must be a plastic in stock \(got ''\)\. Choose"),
        (lambda: SHOP.filament("PLAA"), r"filament must .* Did you mean PLA"),
        (lambda: SHOP.machine("class-room 450"), r"machine must .* mean classroom-450x300"),
        (lambda: SHOP.printer("medum"), r"printer must .* Did you mean medium"),
        (lambda: SHOP.insert("M7", "nut"), r"thread must be a thread with a nut in stock .*'M7'"),
        (lambda: SHOP.insert("M6", "heat-set"), r"thread .* heat-set in stock \(got 'M6'\)"),
        (lambda: SHOP.insert("M4", "bolt"), r"kind must be nut, heat-set or clearance \(got 'bol"),
        (lambda: SHOP.names("plastics"), r"kind must be plastic, .* Did you mean plastic\?"),
        (lambda: SHOP.gauges_for("PTEG"), r"plastic must .* Did you mean PETG\?"),
        (lambda: SHOP.nearest_gauge_mm(50, "ABS", at_least=True), r"wanted_mm must be at most the "
                                                                   r"thickest gauge sold, 6\.35"),
        (lambda: SHOP.nearest_gauge_mm(0, "ABS", at_least=True), r"wanted_mm must be more than 0"),
        (lambda: nearest_drill(0.1, at_most=True), r"diameter_mm must be at least 0\.3 mm and at"),
        (lambda: nearest_drill(20, "inch", at_most=True), r"diameter_mm must .* at most 12\.7 mm"),
        (lambda: nearest_drill(float("nan"), at_most=False), r"diameter_mm must .*\(got nan mm\)"),
        (lambda: nearest_drill(1, IMPERIAL, at_most=True), r"system must be metric or inch"),
    ],
)  # fmt: skip
def test_what_is_not_in_stock_is_refused(call, sentence):
    """One sentence with the nearest names or the choice."""
    with pytest.raises(SpecError, match=sentence):
        call()


def test_loading_is_quick():
    """Every file is read once, in some hundred function calls for each entry."""
    assert count_calls(lambda: load_shop(user_file=None)) < 130_000


def test_loading_twice_gives_equal_shops():
    """The same files make the same stock, and entries can be compared and hashed."""
    assert load_shop(user_file=None) == SHOP
    assert len({SHOP.plastic("ABS"), load_shop(user_file=None).plastic("ABS")}) == 1


def test_plastics_can_be_made_by_hand():
    """A program that asks for its own values gets the same checks."""
    known = SHOP.plastic("ABS")
    values = {field.name: getattr(known, field.name) for field in fields(known)}

    with pytest.raises(SpecError, match=r"^forming_degC must be at least forming_low_degC, 127 °C"):
        Plastic(**values | {"forming_degC": 120.0})


def test_ones_own_acrylic_is_bent_as_it_is(tmp_path):
    """A stock entry called acrylic is taken at the strip heater, too."""
    path = tmp_path / "shed.toml"
    path.write_text('[plastic.acrylic]\nbased_on = "PMMA extruded"\n', encoding="utf-8")
    shop = load_shop([path], user_file=None)

    assert plastic_to_bend(shop, "acrylic").name == shop.plastic("acrylic").name == "acrylic"
