"""The papers of a class: labels, one risk form, the print queue, plates of named objects."""

import csv
import io
import zipfile
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import numpy as np
import openpyxl
import pytest
import shapely
from support.at_once import AtOnce
from support.pdf_text import pdf_pages
from support.some import some

import moldgen as mg
from moldgen.cli.app import main
from moldgen.errors import SpecError
from moldgen.export.report.cautions import first_cautions
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.formats import Format
from moldgen.job.printer_words import RoomPrinter, printers_from
from moldgen.job.room import OwnRoom, load_room
from moldgen.lesson.class_work.make import build_class
from moldgen.lesson.class_work.mold_lives import lives_row, worn_findings
from moldgen.lesson.class_work.papers import class_risks
from moldgen.lesson.class_work.prints import (
    class_queue,
    n_prints,
    on_other_printers,
    queue_findings,
    queue_text,
)
from moldgen.lesson.layout.piece import Placing, Shot
from moldgen.lesson.roster.roster import roster_of_text
from moldgen.pipeline.stage import quiet
from moldgen.printing.pack import APART_MM
from moldgen.stock import load_shop
from moldgen.stock.experience import Experience, NoteEstimate, PrinterExperience

SHOP = load_shop(user_file=None)
ROSTER = "name,word,group,color,pieces\nAda,OAR,1,red,\nBoris,KEEL,2,,2\n"
CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """Return a class that was made once: its folder, result and works."""
    out = tmp_path_factory.mktemp("class")
    words = ClassCommand(
        file="r.csv", like="tag.toml", formats=(Format.THREE_MF,), printers=("2 x medium; small",)
    )
    result, works = build_class(
        roster_of_text(ROSTER), mg.sign("NAME", letter_height=14, gauge_mm=1.0), words,
        folder=Path(), out=out, shop=SHOP, progress=quiet, executor=AtOnce(),
    )  # fmt: skip
    return out, result, works


def test_there_is_a_label_for_each_piece(shared):
    """Name, mold, sheet with its color, and group; two pieces have two labels."""
    (lines,) = pdf_pages(shared[1].files["labels.pdf"])
    words = [line.text for line in lines]

    assert words.count("Ada") == 1
    assert words.count("Boris") == 2
    assert {"Mold: OAR", "Mold: KEEL (1 of 2)", "Mold: KEEL (2 of 2)", "Group 2"} <= set(words)
    assert "HIPS 1 mm, red" in words
    assert words.count("HIPS 1 mm") == 2


def test_a_class_has_one_risk_form_for_all(shared):
    """Each hazard of any of its jobs stands there once, local rules first."""
    _, result, works = shared
    (lines,) = pdf_pages(result.files["risks.pdf"])
    told = " ".join(line.text for line in lines)
    rows = class_risks(works)

    assert len({row.hazard for row in rows}) == len(rows) >= 8
    assert first_cautions()[0].split(".")[0] in told
    assert set(class_risks([*works, *works])) == set(rows)


def test_the_queue_is_in_table_list_and_workbook(shared):
    """The same rows in each; hours and grams are those of the molds that are on the plates."""
    _, result, works = shared
    rows = list(csv.DictReader(io.StringIO(result.files["print-queue.csv"].decode("utf-8-sig"))))
    book = openpyxl.load_workbook(io.BytesIO(result.files["class-list.xlsx"]))["Print queue"]
    cells = [[str(cell.value or "") for cell in row] for row in book.iter_rows(min_row=2)]
    page = result.files["overview.html"].decode()
    told = {work.entry.name: work.record.numbers["print"] for work in works}

    assert [list(row.values()) for row in rows] == cells
    assert {row["Printer"] for row in some(rows)} <= {"medium 1", "medium 2", "small"}
    assert sum(float(row["Print (h)"]) for row in rows) == pytest.approx(
        sum(one["time_s"] for one in [told["Ada"], told["Boris"], told["Boris"]]) / 3600, abs=0.02
    )
    assert "Print queue" in page
    assert dict(result.summary)["Print queue"].startswith("1 plate on 3 printers")


def test_plates_are_named_objects_apart_by_the_gap_of_the_printer(shared):
    """Every plate opens as 3MF; its bodies seen from above are as far apart as they must be."""
    out, _, _ = shared
    for path in some(sorted((out / "arrangement").glob("plate-*.3mf"))):
        names, feet = objects_of(path)
        assert set(names) == {"OAR", "KEEL"}
        assert len(names) == 3
        for one, other in combinations(feet, 2):
            assert one.distance(other) >= APART_MM - 1e-3


def objects_of(path):
    """Return names and footprints of the objects of a 3MF file, where they are placed."""
    with zipfile.ZipFile(path) as packed:
        model = ElementTree.fromstring(packed.read("3D/3dmodel.model"))
    objects = {one.get("id"): one for one in model.iter(f"{CORE}object")}
    names, feet = [], []
    for item in model.iter(f"{CORE}item"):
        one = objects[item.get("objectid")]
        place = np.array(item.get("transform").split(), float).reshape(4, 3)
        assert np.linalg.det(place[:3]) == pytest.approx(1.0)
        corners = [[float(v.get(axis)) for axis in "xyz"] for v in one.iter(f"{CORE}vertex")]
        points = (np.array(corners) @ place[:3] + place[3])[:, :2]
        names.append(one.get("name"))
        feet.append(shapely.MultiPoint(points).convex_hull)
    return names, feet


def test_a_mold_formed_alone_is_a_plate_of_its_own(shared):
    """Without an arrangement each mold is printed by itself, the longest first, side by side."""
    _, _, works = shared
    queue = class_queue(works, None, [RoomPrinter(count=2)], shop=SHOP)

    assert sorted(slot.plate.holds for slot in queue.slots) == [("Ada",), ("Boris",)]
    assert [slot.start_s for slot in queue.slots] == [0.0, 0.0]
    assert queue_text(queue).startswith("2 plates on 2 printers: the last is done after ")
    assert queue_findings(queue) == ()


def test_what_fits_none_of_the_printers_is_told(shared):
    """A plate that is wider than the bed is a finding, with whose it is."""
    _, _, works = shared
    wide = replace(
        works[0],
        record=replace(works[0].record, numbers={**works[0].record.numbers, "width_mm": 900.0}),
    )
    queue = class_queue([wide, works[1]], None, [], shop=SHOP)
    (finding,) = queue_findings(queue)

    assert [slot.plate.holds for slot in queue.slots] == [("Boris",)]
    assert finding.says == "Plate 1 fits none of the printers, Ada"


def test_what_another_printer_has_room_for_is_no_stop_any_more(shared):
    """The stop of its own bed is taken back, what was changed is told, and others stay."""
    _, _, works = shared
    record = replace(
        works[0].record, stops=2, codes=("print-beyond-bed", "draft-lost"),
        findings=("does not fit.", "too steep."),
    )  # fmt: skip
    moved, stays = moved_works([replace(works[0], record=record), works[1]], ["large", "medium"])

    assert (moved.record.stops, moved.record.findings) == (1, ("too steep.",))
    assert moved.changes[-1] == "printed on large, which has room for it"
    assert stays == works[1]
    assert on_other_printers(works, None) == tuple(works)


def moved_works(works, printers):
    """Return works of which each mold is alone on a plate of a printer."""
    alone = Shot(placings=(Placing(piece=0, x_mm=0, y_mm=0, turn_deg=0),))
    plates = [
        SimpleNamespace(
            printer=SimpleNamespace(name=name), owners=[(number, 0)],
            layout=SimpleNamespace(shots=[alone]),
        )
        for number, name in enumerate(printers)
    ]  # fmt: skip
    printed = [SimpleNamespace(file=str(number)) for number in range(len(works))]
    there: Any = SimpleNamespace(plates=plates, printed=printed)
    return on_other_printers(works, there)


def test_printing_and_costs_count_what_stands_on_the_plates(shared):
    """Boris has two pieces on one sheet, and so two prints; alone, one is formed twice."""
    _, result, works = shared
    grams = [work.record.numbers["print"]["mass_g"] for work in works]

    assert n_prints(works, None) == (1, 1)
    assert dict(result.summary)["Printing"].endswith(
        f" {grams[0] + 2 * grams[1]:.0f} g of filament"
    )


def test_another_printer_is_as_quick_as_its_line_lays(shared):
    """One of thicker layers and lines takes less time for the same plate."""
    _, _, works = shared
    thick = mg.load_stock().printer("medium")
    queue = class_queue(works[:1], None, [RoomPrinter(printer="large")], shop=SHOP)
    large = SHOP.printer("large")
    (slot,) = queue.slots

    assert slot.end_s / slot.plate.time_s == pytest.approx(
        laid_mm2(thick) / laid_mm2(large), rel=1e-9
    )


def test_each_printer_of_the_queue_goes_by_its_own_notes(shared):
    """One that takes twice what is estimated takes twice as long as one that nobody noted."""
    _, _, works = shared
    twice = NoteEstimate(value=2.0, low=1.8, high=2.2, n_notes=9)
    of_log = Experience(printers=(PrinterExperience(printer="large", printing=twice),))
    shops = SHOP, replace(SHOP, experience=of_log)
    plain, noted = (
        class_queue(works[:1], None, [RoomPrinter(printer="large")], shop=shop) for shop in shops
    )
    same = class_queue(works[:1], None, [RoomPrinter(printer="medium")], shop=shops[1])

    assert noted.end_s == pytest.approx(2 * plain.end_s)
    assert same.end_s == pytest.approx(same.slots[0].plate.time_s)


def with_lives(work, stood, pieces=1, **more):
    """Return the work of a person whose mold stands so many cycles by the notes."""
    told = {"cycles_stood": stood, "cycles_stood_band": [4.2, 30.0], "cycles_stood_molds": 3}
    record = replace(work.record, numbers={**work.record.numbers, **told, **more})
    return replace(work, record=record, entry=replace(work.entry, pieces=pieces))


def test_a_class_tells_how_long_its_molds_last(shared):
    """The shortest-lived mold is told, and a mold that is formed on more often than it stands."""
    _, _, works = shared
    ada, boris = with_lives(works[0], 8.4), with_lives(works[1], 12.0, pieces=13)
    alive = with_lives(works[0], None)

    assert lives_row([ada, boris]) == (
        ("Mold life by the log", "about 8 cycles each, by 3 molds of this table"),
    )
    assert lives_row([alive])[0][1] == "4 cycles or more each, by 3 molds of this table"
    assert lives_row(works) == ()
    (finding,) = worn_findings([ada, boris, alive, works[0]])
    assert (finding.subject, finding.measured) == ("Boris", 12.0)
    assert finding.says.startswith("13 cycles are wanted of the mold")
    assert worn_findings([with_lives(works[1], 12.0, pieces=12)]) == ()


def laid_mm2(printer):
    """Return the cross-section of a line, side by side with the next: 1.1 of the bore wide."""
    return printer.layer_mm * (1.1 * printer.nozzle_mm - 0.2146 * printer.layer_mm)


def test_printers_are_written_as_people_say_them():
    """A count, an x and a name; several parted by semicolons or given one by one."""
    assert printers_from("printers", ["2 x medium; large"]) == (
        RoomPrinter(count=2), RoomPrinter(printer="large"),
    )  # fmt: skip
    with pytest.raises(SpecError, match="printers, count must be at least 1"):
        printers_from("printers", ["0 x medium"])


def test_a_room_keeps_its_printers(monkeypatch, tmp_path, capsys):
    """Setup keeps them, shows them, and a class prints on them if nothing else is said."""
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path / "home"))

    assert main(["setup", "--printers", "3 x medium; large"]) == 0
    assert "3 x medium; large" in capsys.readouterr().out
    room = load_room()
    assert [(one.printer, one.count) for one in room.printers] == [("medium", 3), ("large", 1)]
    assert room.values(ClassCommand)["printers"] == ("3 x medium", "large")
    assert "printers" not in OwnRoom().values(ClassCommand)
    assert main(["setup", "--printers", "2 x huge"]) == 2
    assert "--printers must be" in capsys.readouterr().err
