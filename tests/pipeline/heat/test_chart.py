"""The wall chart's times: those of the heat command, or a reason why there are none."""

import json

import pytest

import moldgen as mg
from moldgen.cli.app import main
from moldgen.errors import SpecError
from moldgen.job.command.chart import ChartCommand, sheet_from
from moldgen.job.room import OwnRoom, RoomSheet
from moldgen.pipeline.heat.chart import chart_work
from moldgen.pipeline.heat.chart_files import wall_chart
from moldgen.stock import Sheet, load_shop
from moldgen.table.heat_up import heat_up
from moldgen.wording import span_s

SHOP = load_shop(user_file=None)


def work(*sheets, **words):
    """Return the times of a chart."""
    return chart_work(ChartCommand(sheets=sheets, **words), SHOP)


def test_times_are_those_of_the_sheet_on_the_table():
    """From and to are the ends of the band that the heat command tells."""
    made = work("HIPS 1.5; PETG 1", machine="bench-250x250")
    heated = heat_up(
        Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.5), SHOP.machine("bench-250x250")
    )
    told = made.times["HIPS", 1.5]

    assert told.heat_band_s == span_s(heated.forming_s, *heated.band_s)
    assert told.reason == ""
    assert 0 < told.cool_band_s[0] < told.cool_band_s[1]


def test_sheets_that_nobody_has_are_left_blank():
    """A chart of two sheets of different thickness has two blanks, each with its reason."""
    made = work("HIPS 1.5; PETG 1")

    assert made.gauges_mm == (1.0, 1.5)
    assert made.times["HIPS", 1.0].reason == made.times["PETG", 1.5].reason != ""
    assert made.times["HIPS", 1.0].heat_band_s is None


@pytest.mark.parametrize(
    ("sheets", "machine", "says"),
    [
        ("ABS 6", "classroom-450x300", "quarter of an hour"),
        ("PMMA extruded 3", "classroom-450x300", "no safe time at any heat"),
    ],
)
def test_a_time_that_cannot_be_told_is_left_out_with_its_reason(sheets, machine, says):
    """The cell on the wall has the reason in place of the figures."""
    made = work(sheets, machine=machine)
    (row,) = wall_chart(made).rows

    assert [one.heat for one in row.cells] == [""]
    assert says in row.cells[0].reason


def test_pvc_gets_no_time_where_its_finding_is_a_stop():
    """At open coils PVC is not heated at all, whatever the time would be."""
    coils = next(one for one in SHOP.machines.entries if one.heater_kind == "coil")
    told = work("PVC rigid 1", machine=coils.name).times["PVC rigid", 1.0]

    assert told.heat_band_s is None
    assert "not at this heater" in told.reason


def test_less_heat_is_told_beside_the_time():
    """Where only less heat has a window the chart tells to what the heater is turned down."""
    made = work("PP 3")
    (row,) = wall_chart(made).rows

    assert made.times["PP", 3.0].power_percent % 5 == 0
    assert row.cells[0].power == f"{made.times['PP', 3.0].power_percent} % power"


def test_without_sheets_the_usual_ones_are_told_and_fit_the_page():
    """Five plastics, five thicknesses; what is not sold is blank."""
    made = work()

    assert len(made.plastics) == len(made.gauges_mm) == 5
    assert made.times["ABS", 0.75].reason == "not in stock"
    assert sum(one.heat_band_s is not None for one in made.times.values()) >= 15


def test_the_foot_tells_how_far_the_times_may_be_trusted():
    """A table that nobody timed is said to be a guess, and local rules stand there too."""
    foot = " ".join(" ".join(lines) for lines in wall_chart(work("HIPS 1")).foot)

    assert "Nobody has timed a sheet on this table yet" in foot
    assert "Trust: heating" in foot
    assert "Local rules come first" in foot
    assert "never with a finger" in foot


@pytest.mark.parametrize(
    ("sheets", "says"),
    [
        (("HIPS",), "sheets must be plastic and thickness, such as \"HIPS 1.5 mm\" (got 'HIPS')"),
        (("HIPS 40",), "sheets, thickness must be at least 0.1 mm and at most 12 mm"),
        (("HIPS 1; ABS 1; PETG 1; PP 1; PC 1; HDPE 1",), "sheets must be of at most 5 plastics"),
        (("HIPS 1; HIPS 2; HIPS 3; HIPS 4; HIPS 5; HIPS 6",), "of at most 5 thicknesses (got 6)"),
    ],
)
def test_wrong_sheets_are_refused_in_one_sentence(sheets, says):
    """What is no sheet, too thick, or more than one page holds."""
    with pytest.raises(SpecError) as caught:
        ChartCommand(sheets=sheets)

    assert says in str(caught.value)


def test_a_sheet_is_read_as_people_write_it():
    """A decimal comma, inches and a name of two words."""
    assert sheet_from("sheets", "PVC rigid 0,75 mm") == ("PVC rigid", 0.75)
    assert sheet_from("sheets", "HIPS 1/16 in") == ("HIPS", 1.5875)
    assert ChartCommand(sheets=("HIPS 1,5, ABS 2",)).named == (("HIPS", 1.5), ("ABS", 2.0))


def test_the_room_says_which_sheets_there_are():
    """The cupboard is the chart; a room that says nothing leaves the usual ones."""
    room = OwnRoom(sheet=(RoomSheet(plastic="ABS", gauge_mm=2.0), RoomSheet()))
    values = room.values(ChartCommand)

    assert values["sheets"] == ("ABS 2 mm", "HIPS 1.5 mm")
    assert values["machine"] == room.machine
    assert "sheets" not in OwnRoom().values(ChartCommand)


def test_the_chart_is_made_by_command_and_from_python(tmp_path, monkeypatch):
    """Both write the same page; the numbers are in the findings for programs."""
    monkeypatch.chdir(tmp_path)
    made = mg.heating_chart(sheets=["HIPS 1 mm"])

    assert main(["chart", "--sheets", "HIPS 1", "--out", "made", "--quiet"]) == 0
    pdf = (tmp_path / "made" / "heating-chart.pdf").read_bytes()
    assert made.files("pdf") == {"heating-chart.pdf": pdf}
    told = json.loads((tmp_path / "made" / "findings.json").read_text())
    assert told["numbers"]["sheets"][0]["plastic"] == "HIPS"


def test_a_plastic_that_is_not_in_stock_is_told_by_the_option(tmp_path, monkeypatch, capsys):
    """Exit code 2, the option named, and nothing is written."""
    monkeypatch.chdir(tmp_path)

    assert main(["chart", "--sheets", "HOPS 1", "--out", "made"]) == 2
    assert "--sheets must be" in capsys.readouterr().err
    assert not (tmp_path / "made").exists()
