"""What notes of a table change: heat, report, card, class; and nothing of the mold itself."""

from concurrent.futures import Executor, Future
from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

import moldgen as mg
from moldgen.job.command.chart import ChartCommand
from moldgen.job.command.heat import HeatCommand
from moldgen.job.formats import Format
from moldgen.lesson.class_work.build import built_of, order_for
from moldgen.lesson.log.learn import experience_of
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.pipeline.heat.chart import chart_work
from moldgen.pipeline.heat.chart_files import wall_chart
from moldgen.pipeline.heat.make import heat_sheet
from moldgen.pipeline.heat.tables import tables_of
from moldgen.pipeline.heat.work import heat_work
from moldgen.pipeline.mold.card import job_card
from moldgen.pipeline.mold.day_rows import day_rows, day_text
from moldgen.pipeline.mold.plan import drill_list
from moldgen.pool.piece import answer_of, carry_out, piece_bytes
from moldgen.sandbox.messages import read_message
from moldgen.stock import Sheet, load_shop
from moldgen.stock.experience import NO_NOTES, experience_from_words
from moldgen.wording import band_text, span_s, span_text

SHOP = load_shop(user_file=None)
TABLE = "classroom-450x300"


def notes(seconds=70.0, n=7, **values):
    """Return notes of the usual sheet that took so long."""
    usual: dict[str, Any] = {
        "job": "PIER",
        "machine": TABLE,
        "plastic": "HIPS",
        "thickness_mm": 1.5,
    }
    return [
        ShotNote(
            noted=f"2026-03-{day:02d}T10:20", cycle=day, heated_s=seconds, **(usual | values)
        )
        for day in range(1, n + 1)
    ]  # fmt: skip


def shop_with(*told):
    """Return the stock with what notes say."""
    return replace(SHOP, experience=experience_of(told, SHOP))


NOTED = shop_with(*notes())
HIPS = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=1.5)
KNOWN = NOTED.experience.of(TABLE).heating
BY_NOTES = f"{KNOWN.factor(HIPS).value:.2f} times the computed 56 s, by 7 notes of this table"


def rows(shop, **words):
    """Return the rows of the heat command, by label."""
    made = heat_sheet(HeatCommand(plastic="HIPS", **words), shop=shop, with_files=False)
    return dict(made.summary), made


@cache
def design(noted):
    """Return the design of a small sign, with the log or without."""
    return mg.design(
        mg.sign("I", letter_height=20, gauge=1.5, forming="off"), stock=NOTED if noted else SHOP
    )


def test_heat_tells_the_corrected_time_and_says_so():
    """The time is the noted one, a line tells factor, computed time and number of notes."""
    told, made = rows(NOTED)

    assert told["Heat for"] == "about 1 min 10 s (1 min to 1 min 20 s)"
    assert told["By the log"] == BY_NOTES
    table = KNOWN.table_factor
    assert told["Log: heating"] == (
        f"Heating on this table takes {table.value:.2f} times what is computed "
        f"({table.low:.2f} to {table.high:.2f}; 7 notes)."
    )
    assert made.numbers["heat_s"] == pytest.approx(1.25 * made.numbers["heat_computed_s"], rel=0.01)
    assert made.numbers["heat_notes"] == 7
    assert [one.code for one in made.findings if "timed" in one.code] == []


def test_without_notes_heat_tells_what_it_told():
    """No line, no number and no row of a log where there is none."""
    told, made = rows(SHOP)
    other, _ = rows(shop_with(*notes(machine="bench-250x250")))

    assert told == other
    assert not [label for label in told if "og" in label and label != "Toward the clamp"]
    assert {"heat_computed_s", "heat_notes"}.isdisjoint(made.numbers)
    assert "machine-untimed" in [one.code for one in made.findings]


def test_other_sheets_go_by_the_notes_as_well():
    """Gauges and plastics nobody timed are foretold by the table's factor."""
    plain, noted = (heat_work(HeatCommand(plastic="HIPS"), shop) for shop in (SHOP, NOTED))

    assert len(noted.gauges) == len(plain.gauges) > 2
    for (gauge_mm, before), (same_mm, after) in zip(plain.gauges, noted.gauges, strict=True):
        assert gauge_mm == same_mm
        assert 1.15 < after.forming_s / before.forming_s < 1.35
    assert noted.plastics[1][1].forming_s > 1.1 * plain.plastics[1][1].forming_s
    assert any("7 notes of this table" in str(table.rows) for table in tables_of(noted))


def test_times_that_are_typed_go_before_those_of_the_log():
    """With --seen the machine is fitted to what is typed, and the log is not asked."""
    work = heat_work(HeatCommand(plastic="HIPS", seen=("HIPS 1.5mm 50s",)), NOTED, others=False)

    assert work.known is None
    assert work.heated.noted is None
    assert work.heated.forming_s == pytest.approx(50, rel=0.02)


def test_two_honest_times_far_from_the_computed_ones_are_enough():
    """A heater far stronger than its entry: typed they give no entry, and the log goes by them."""
    fast = ("HIPS 0.75mm 8s", "HIPS 1.5mm 16s")
    typed, _ = rows(SHOP, seen=fast)
    noted = shop_with(*notes(16.0, n=1), *notes(8.0, n=1, job="BUOY", thickness_mm=0.75))
    told, made = rows(noted)
    thin, _ = rows(noted, gauge_mm=0.75)

    assert "moldgen log add keeps them" in typed["Stock entry"]
    assert "Stock entry" not in told
    assert made.numbers["heat_s"] == pytest.approx(16, rel=0.1)
    assert told["Heat for"].startswith("about 17 s")
    assert thin["Heat for"].startswith("about 8 s")
    assert [one.code for one in made.findings if "note" in one.code or "time" in one.code] == []


def test_a_contradiction_is_told_with_the_note():
    """The note that does not go with the others is named, with what they foretell."""
    shop = shop_with(*notes(), *notes(160.0, 1, job="BOAT SHED"))
    _, made = rows(shop)
    (finding,) = [one for one in made.findings if one.code == "notes-contradict"]

    assert str(finding) == (
        "2026-03-01 10:20, BOAT SHED: HIPS 1.5 mm, 2 min 40 s: this note contradicts the "
        "others, which foretell about 1 min 10 s, and does not count. Correct what is wrong in "
        "the log."
    )


def test_every_kind_of_note_is_told_in_a_sentence():
    """Cooling, printing and lives stand beside the heating, each with range and notes."""
    shop = shop_with(
        *notes(cooled_s=30.0, told_cool_s=25.0, printed_h=6.0, told_print_h=5.0, filament="PETG"),
        *notes(n=1, job="BUOY", filament="ABS", mold_ended=True),
    )
    told, _ = rows(shop)

    known = shop.experience.of(TABLE)
    assert told["Log: cooling"].startswith(
        f"Parts stay on the mold {known.cooling.value:.2f} times as long as computed ("
    )
    assert told["Log: printing"].startswith(
        f"Printing takes {known.printing.value:.2f} times what is estimated ("
    )
    assert told["Log: printing"].endswith("; 1 note).")
    assert told["Mold life by the log"].endswith("1 mold of this table, none given up so far")
    assert told["Log: mold life"].startswith("ABS molds stand about ")
    ended = shop.experience.of(TABLE).lives[0]
    assert (ended.filament, ended.n_ended) == ("ABS", 1)


def test_a_mold_is_the_same_and_its_day_is_not():
    """Notes change the time of a design's day, tell of it, and leave its solid as it is."""
    plain, noted = design(False), design(True)
    before, after = plain.day.heated, noted.day.heated

    assert after.forming_s == pytest.approx(1.25 * before.forming_s, rel=0.01)
    assert (after.noted.n_notes, before.noted) == (7, None)
    assert "by 7 notes, forming window" in dict(day_rows(noted.day))["Heat and cool"]
    assert "by 7 notes of this table" in day_text(noted.day)["heat"]
    assert "moldgen log add" not in day_text(noted.day)["heat"]
    assert "moldgen log add" in day_text(plain.day)["heat"]
    assert (noted.cut.mesh.points_mm == plain.cut.mesh.points_mm).all()


def test_the_reasons_tell_of_the_notes():
    """What was chosen, and why: the heating time with its notes; nothing without a log."""
    told = {one.what: one.text for one in design(True).choices}

    assert told["heating time"] == f"heating time 1 min 10 s ({BY_NOTES})"
    assert "heating time" not in {one.what for one in design(False).choices}


@pytest.mark.parametrize("noted", [False, True])
def test_the_card_tells_the_time_of_its_table(noted):
    """Big numbers are those of the notes, and the words tell both times."""
    made = design(noted)
    card = job_card(
        made.request, made.checked, made.setting, drilling=drill_list(made.checked), day=made.day
    )
    heat = next(step for step in card.steps if step.name == "Heat")

    assert heat.value == span_text(made.day.heated.forming_s, *made.day.heated.band_s)
    assert heat.words.endswith("By 7 notes of this table; computed: 56 s.") is noted


def test_a_class_goes_by_the_notes():
    """A worker is told of the notes; its mold takes so long, and is another than before."""
    job = mg.sign("I", letter_height=20, gauge=1.5, forming="off")
    order = order_for(job, folder=Path(), stock={}, formats=[Format.STL])
    other = replace(order, experience=NOTED.experience.of_molds)
    numbers = built_of(answer_of(carry_out(other.piece()))).record.numbers

    assert numbers["heat_notes"] == 7
    assert other.piece() != order.piece()
    assert replace(order, experience=NO_NOTES).piece() == order.piece()
    assert band_text(numbers["heat_s"], *numbers["heat_band_s"]).startswith("about 1 min")


class Watcher(Executor):
    """Builds nothing, and keeps what was asked for."""

    def __init__(self):
        self.asked: list[bytes] = []

    def submit(self, work, /, *args, **options):
        """Say that it cannot be built."""
        self.asked.append(args[0])
        done: Future[bytes] = Future()
        done.set_result(carry_out(piece_bytes("the tide was out", {})))
        return done


@pytest.mark.parametrize("experience", [NO_NOTES, NOTED.experience])
def test_every_worker_of_a_class_is_told_of_the_notes(tmp_path, experience):
    """From Python as from the command line, what is known goes along with each order."""
    watcher = Watcher()
    like = mg.sign("NAME", letter_height=14, gauge=1.0)
    with pytest.raises(mg.SpecError, match="the tide was out"):
        mg.make_class(["ADA", "BO"], like, tmp_path, executor=watcher, experience=experience)

    told = [read_message(BytesIO(piece)).words["words"]["experience"] for piece in watcher.asked]
    assert [experience_from_words(words) for words in told] == [experience.of_molds] * 2


def test_the_wall_chart_goes_by_the_notes():
    """Its times are those of the heat command on the same table, and it says on what they rest."""
    command = ChartCommand(sheets=("HIPS 1.5",))
    plain, noted = chart_work(command, SHOP), chart_work(command, NOTED)
    heated = heat_work(HeatCommand(plastic="HIPS", gauge_mm=1.5), NOTED).heated

    assert noted.times["HIPS", 1.5].heat_band_s == span_s(heated.forming_s, *heated.band_s)
    assert noted.times != plain.times
    assert any("Times by 7 notes of this table." in part for part in wall_chart(noted).foot)
    assert not any("notes" in line for part in wall_chart(plain).foot for line in part)
