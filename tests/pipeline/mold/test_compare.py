"""One job made in several ways: each as if it were made alone, side by side."""

import csv
import io
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.patches import Rectangle
from PIL import Image

import moldgen as mg
from moldgen.errors import SpecError
from moldgen.export.picture.figure import new_figure, place_axes
from moldgen.export.picture.forming_scales import thickness_scale
from moldgen.export.picture.side_by_side import HeatingWindow, plot_windows
from moldgen.job.command.compare import MOST_VARIANTS, CompareCommand, Variant, variants_of
from moldgen.job.room import OwnRoom, RoomFilament, RoomSheet
from moldgen.pipeline.mold.compare_picture import sheet_row

JOB = mg.sign("A", letter_height_mm=30)
ROOM = OwnRoom(
    currency="EUR",
    sheet=(RoomSheet(gauge_mm=1.0, price=3.0), RoomSheet(plastic="ABS", gauge_mm=2)),
    filament=(RoomFilament(filament="PETG", price_kg=25.0), RoomFilament(filament="PLA")),
)  # fmt: skip


@pytest.fixture(scope="module")
def formed():
    """Two gauges of one sheet, formed."""
    return mg.compare(JOB, gauge="1, 2", room=ROOM)


def asked(**words):
    """What a command names, compared for the job."""
    return variants_of(CompareCommand(file="a.toml", **words), JOB, None)


def test_every_mold_is_as_if_made_alone(formed):
    """The rows hold the numbers that ``make`` gives for a job with that sheet."""
    for gauge_mm, row in zip((1.0, 2.0), formed.records, strict=True):
        alone = mg.make(mg.sign("A", letter_height_mm=30, gauge_mm=gauge_mm, forming="preview"))
        told = alone.numbers
        assert row["thinnest_mm"] == told["formed_thin_mm"]
        assert row["mean_mm"] == told["formed_mean_mm"]
        assert (row["heat_s"], row["cool_s"]) == (told["heat_s"], told["cool_s"])
        assert (row["mass_g"], row["print_s"]) == (told["print"]["mass_g"], told["print"]["time_s"])
        assert row["cautions"] == sum(one.severity == "caution" for one in alone.findings)


def test_cautions_are_counted():
    """A relief too deep has as many cautions in its row as the mold made alone."""
    job = mg.sign("SL", letter_height_mm=20, relief_mm=9, gauge_mm=1.0, forming="off")
    first, _ = mg.compare(job, gauge="1, 1.5", forming="off").records
    found = mg.make(job).findings

    assert first["cautions"] == sum(one.severity == "caution" for one in found) > 0
    assert first["stops"] == sum(one.severity == "stop" for one in found)


def test_prices_are_those_of_the_room(formed):
    """A sheet costs what is written; a print its mass times the price of a kilogram."""
    first, second = formed.records

    assert (first["sheet_price"], second["sheet_price"]) == (3.0, None)
    assert first["print_price"] == pytest.approx(first["mass_g"] * 25.0 / 1000)
    assert formed.table()[0][-1] == "cost"
    assert formed.table()[1][-1] == f"sheet 3.00 EUR, print {first['print_price']:.2f} EUR"
    bare = mg.compare(JOB, filament="PETG, PLA", forming="off")
    assert "cost" not in bare.table()[0]
    assert "thinnest" not in bare.table()[0]


def test_the_table_holds_what_the_csv_holds(formed):
    """The CSV reads back as the records; the words are the same numbers, rounded."""
    rows = list(csv.DictReader(io.StringIO(formed.csv_bytes().decode())))

    assert [float(row["thinnest_mm"]) for row in rows] == [
        row["thinnest_mm"] for row in formed.records
    ]
    assert [row["plastic"] for row in rows] == ["HIPS", "HIPS"]
    head, first, _ = formed.table()
    assert first[head.index("thinnest")] == f"{formed.records[0]['thinnest_mm']:.2f} mm"


def test_the_maps_share_one_scale(formed):
    """Both sheets are drawn on the scale of the thicker one, each with its own values."""
    row = sheet_row("A", [(mold.label, mold.figures) for mold in formed.molds if mold.figures])

    thin, thick = row.maps
    assert row.labels == ("HIPS 1 mm", "HIPS 2 mm")
    assert thin.scale.edges == thick.scale.edges
    assert thick.scale.edges[-1] == pytest.approx(2.0)
    assert np.median(thin.values) < 1.0 < np.median(thick.values)
    assert Image.open(io.BytesIO(formed.png_bytes())).size[0] == 1400
    with pytest.raises(SpecError, match="one scale"):
        replace(row, maps=(thin, replace(thick, scale=thickness_scale(4.0))))


def test_what_cannot_be_made_is_a_row_of_its_own():
    """A mold that does not fit into a clamp is told in its row; the others are compared."""
    long = mg.drawing(shape="anchor", width_mm=300, title="Long")
    found = mg.compare(long, machine="bench-250x250, workshop-600x600")

    small, large = found.records
    assert small["problem"] != ""
    assert small["mass_g"] is None
    assert large["problem"] == ""
    assert large["mass_g"] > 0
    assert found.table()[1] == ("HIPS 1.5 mm, bench-250x250", small["problem"])
    assert len(found.table()[2]) == len(found.table()[0])


def test_everything_named_is_combined():
    """Every sheet in every gauge on every table of every filament, each once."""
    found = asked(sheet=("HIPS, PETG", "HIPS"), gauge_mm=(1.0, 2.0), filament=("PLA; PETG",))

    assert len(found) == 8
    assert found[0] == Variant(
        plastic="HIPS", gauge_mm=1.0, machine="classroom-450x300", filament="PLA"
    )
    assert {one.machine for one in found} == {"classroom-450x300"}


def test_a_cupboard_is_compared_where_nothing_is_named():
    """The sheets of the room, each in its gauge; with anything named, that alone."""
    command = CompareCommand(file="a.toml")

    assert [(one.plastic, one.gauge_mm) for one in variants_of(command, JOB, ROOM)] == [
        ("HIPS", 1.0), ("ABS", 2.0),
    ]  # fmt: skip
    named = replace(command, gauge_mm=(1.0, 1.5))
    assert {one.plastic for one in variants_of(named, JOB, ROOM)} == {"HIPS"}


def test_too_little_and_too_much_are_refused():
    """One is nothing to compare; dozens are more than a table holds."""
    with pytest.raises(SpecError, match="more than one"):
        asked(sheet=("HIPS",))
    with pytest.raises(SpecError, match=f"at most {MOST_VARIANTS}"):
        asked(gauge_mm=tuple(1 + n / 10 for n in range(MOST_VARIANTS + 1)))
    with pytest.raises(SpecError, match=r"sheet must be a plastic in stock \(got 'HOPS'\)"):
        mg.compare(JOB, sheet="HIPS, HOPS")


def test_times_at_the_heater_are_bars():
    """Without forming runs: a bar from opening to closing, a line where it is formed."""
    windows = (
        HeatingWindow(label="thin", opens_s=30, forms_s=40, closes_s=50),
        HeatingWindow(label="never", opens_s=None, forms_s=None, closes_s=None),
    )
    with new_figure() as figure:
        axes = place_axes(figure, left_px=100, top_px=100, size_px=(600, 200))
        plot_windows(axes, windows)
        (bar,) = axes.patches
        (line,) = axes.lines

    assert isinstance(bar, Rectangle)
    assert (bar.get_x(), bar.get_width()) == (30, 20)
    assert np.array_equal(line.get_xdata(), [40, 40])
    assert [tick.get_text() for tick in axes.get_yticklabels()] == ["thin", "never"]
