"""The heat command: what it says, observed times, files only if asked, bad input."""

import json
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from moldgen.cli.app import main
from moldgen.errors import SpecError
from moldgen.job.command.heat import HeatCommand, seen_from
from moldgen.pipeline.heat.life_rows import advice_text, life_text
from moldgen.pipeline.heat.make import heat_sheet
from moldgen.pipeline.heat.picture import curves_of
from moldgen.pipeline.heat.rows import window_text
from moldgen.pipeline.heat.work import heat_work
from moldgen.stock import load_shop
from moldgen.wording import clock_text

SHOP = load_shop(user_file=None)
SIGN = ["heat", "HIPS", "--gauge", "0.75mm", "--machine", "bench-250x250", "--fan"]
SLOW = ["heat", "HIPS", "--gauge", "0.75mm"]
SEEN = ["--seen", "HIPS 0.75mm 30s", "--seen", "HIPS 1.5mm 60s"]


@pytest.fixture(autouse=True)
def elsewhere(monkeypatch, tmp_path):
    """Work in an empty folder, without anybody's own stock."""
    monkeypatch.chdir(tmp_path)


def heard(capsys, *words):
    """Return exit code and what was shown."""
    return main(list(words)), capsys.readouterr().out


def test_a_teacher_reads_it_at_a_glance(capsys):
    """Time and band, window, signs, cooling, the mold, what burns: and nothing is written."""
    code, out = heard(capsys, *SIGN)

    assert code == 0
    assert re.search(r"Heat for +about 3\d s \(\d+ to \d+\)", out)
    assert re.search(
        r"Ready when +it ripples, draws level again, then sags evenly, and a dent springs back", out
    )
    assert re.search(
        r"Forming window +open \d+ s, from \d+ s to \d+ s, when a face passes 182 °C", out
    )
    assert re.search(
        r"Cool for +about \d s \(\d to \d+\), with a fan \d s, thinnest place \d s", out
    )
    assert re.search(r"PETG mold +any number in a row, its top does not sink; edges begin", out)
    assert re.search(r"Print it from +.*PC.*\(stay hard\).*ABS.*PETG.*\(top lasts", out)
    assert re.search(r"Hot +heater, sheet and mold burn at a touch", out)
    assert re.search(r"Fumes +Styrene fumes", out)
    assert re.search(
        r"Never +leave a heater that is on; heat PVC .hydrogen chloride. unless local rules", out
    )
    assert "nobody has timed a sheet" in out
    assert list(Path().iterdir()) == []


def test_observed_times_are_used_and_given_back(capsys):
    """The times come back, other sheets are foretold, and the entry is a stock file."""
    code, out = heard(capsys, "heat", "HIPS", "--gauge", "0.75", *SEEN)
    entry = out.partition("says where):")[2]

    assert code == 0
    assert re.search(r"Heat for +about 30 s", out)
    assert re.search(r"Timed +heater_share 0\.\d+ at 370 °C explains 2 times within \d %", out)
    assert re.search(r"Other gauges +.*1\.5 mm (59 s|1 min)", out)
    assert re.search(r"Other plastics +.*PETG \d+ s", out)
    Path("own.toml").write_text(entry, encoding="utf-8")
    again = heard(capsys, "heat", "HIPS", "--gauge", "0.75", "--stock", "own.toml",
                  "--machine", "My timed table")[1]  # fmt: skip
    assert re.search(r"Heat for +about 30 s", again)
    assert "nobody has timed" not in again


def test_times_that_contradict_each_other_give_no_entry(capsys):
    """One figure for the misfit, and instead of a block for the stock file a sentence why."""
    seen = ["--seen", "HIPS 0.75mm 30s", "--seen", "HIPS 1.5mm 20s"]
    code, out = heard(capsys, "heat", "HIPS", *seen)
    said = " ".join(out.split())
    told = json.loads(heard(capsys, "heat", "HIPS", *seen, "--json")[1])
    figure = f"{told['numbers']['misfit_percent']:.0f}"

    assert code == 0
    assert re.search(rf"Timed no heater explains these 2 times; .* is off by {figure} %", said)
    assert f"no heater explains all the observed times ({figure}%, limit 16%)" in said
    assert "Stock entry none is offered: the observed times contradict each other" in said
    assert "[machine." not in out
    assert "fits as well" not in said
    assert "machine_toml" not in told["numbers"]
    assert main(["heat", "HIPS", *seen, "--out", "made"]) == 0
    assert not Path("made/machine.toml").exists()


def test_no_entry_has_more_than_all_of_the_heat(capsys):
    """A share over 1 explains a time, but is not offered for the stock file: the log keeps it."""
    _, out = heard(capsys, "heat", "HIPS", "--seen", "HIPS 1.5mm 30s")
    said = " ".join(out.split())

    assert "Stock entry none: more heat arrives than the heater of this entry gives off" in said
    assert "moldgen log add keeps them, and every command goes by them." in said
    assert "[machine." not in out


def test_minutes_are_said_one_way(capsys):
    """From a minute on no time is told in seconds alone, findings included."""
    for words in (["HIPS", *SEEN], ["HIPS"], ["PC", "--gauge", "3"]):
        _, out = heard(capsys, "heat", *words)
        told = out.partition("For your stock file")[0]
        assert [s for s in re.findall(r"(?<![\d.])(\d+) s\b", told) if int(s) >= 60] == []
    assert "sees" not in out
    assert "ready first; the opening on average takes" in out or "never gets hot enough" in out


def test_stages_of_heating_are_told_in_order(capsys):
    """The usual lines of progress, if asked for, none on a quiet screen."""
    stages = []
    words = HeatCommand(plastic="HIPS")
    heat_sheet(words, shop=SHOP, with_files=False, progress=stages.append)

    assert [(stage.number, stage.of) for stage in stages] == [(k, 5) for k in range(1, 6)]
    assert main([*SIGN, "--verbose"]) == 0
    assert "2/5 heating the sheet" in capsys.readouterr().err


def test_files_come_if_asked_for(capsys):
    """Picture, report, numbers and the machine, in the folder that was named; twice the same."""
    for folder in ("one", "two"):
        code, out = heard(capsys, "heat", "HIPS", *SEEN, "--out", folder)
        assert code == 0
        assert f"4 files in {folder}" in out
    names = sorted(path.name for path in Path("one").glob("[!.]*"))
    assert names == ["findings.json", "heating.png", "machine.toml", "report.html"]
    for name in names:
        assert (Path("one") / name).read_bytes() == (Path("two") / name).read_bytes()
    report = Path("one/report.html").read_text(encoding="utf-8")
    for words in ("Observed times", "What to print the mold from", "Hottest in the PETG mold",
                  "Never leave a heater that is on", "Warm up", "kW/m²"):  # fmt: skip
        assert words in report
    assert "machine" in tomllib.loads(Path("one/machine.toml").read_text(encoding="utf-8"))


def test_formats_alone_ask_for_files(capsys):
    """Who names a format gets the file, in a folder of the title's name."""
    assert heard(capsys, "heat", "HIPS", "--formats", "json")[0] == 0

    assert [path.as_posix() for path in Path().rglob("[!.]*.*")] == [
        "outputs/heating-hips-1-5-mm/findings.json"
    ]


def test_programs_get_numbers(capsys):
    """The same as JSON, with the entry as text."""
    code, out = heard(capsys, *SLOW, *SEEN, "--filament", "PLA", "--cycles", "12", "--json")
    told = json.loads(out)

    assert code == told["exit_code"] == 0
    numbers = told["numbers"]
    assert numbers["heat_band_s"][0] < numbers["heat_s"] < numbers["heat_band_s"][1]
    assert numbers["opens_s"] < numbers["heat_s"] < numbers["closes_s"]
    assert len(numbers["softened_mm"]) == 12
    assert numbers["filaments"][-1] == "PLA"
    assert tomllib.loads(numbers["machine_toml"])
    assert told["files"] == []


def test_quiet_shows_what_is_grave(capsys):
    """Nothing for styrene; PVC under bare coils is told, and leaves 1."""
    assert main([*SIGN, "-q"]) == 0
    assert capsys.readouterr() == ("", "")
    assert main(["heat", "PVC rigid", "--gauge", "0.75", "--machine", "bench-250x250", "-q"]) == 1
    shown = capsys.readouterr()
    assert shown.out == ""
    assert re.match("moldgen: stop: PVC rigid: PVC that overheats gives off hydrogen", shown.err)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "PLASTIC must be given"),
        (["HIBS"], "plastic must be a plastic in stock .* Did you mean HIPS"),
        (["HIPS", "--gauge", "20"], "--gauge must be at least 0.1 mm and at most 12 mm"),
        (["HIPS", "--gauge", "1kg"], "--gauge must be a number in mm"),
        (["HIPS", "--machine", "bench"], "--machine must be a machine in stock"),
        (["HIPS", "--filament", "PLAY"], "--filament must be a filament in stock .*mean PLA"),
        (["HIPS", "--cycles", "2.5"], "--cycles must be a whole number"),
        (["HIPS", "--cycles", "0"], "--cycles must be at least 1 and at most 200"),
        (["HIPS", "--thinnest", "0"], "--thinnest must be more than 0 and at most 1"),
        (["HIPS", "--infill", "130 %"], "--infill must be more than 0 and at most 1"),
        (["HIPS", "--seen", "30s"], r"--seen 1 must be plastic, gauge and time"),
        (["HIPS", *SEEN, "--seen", "HIBS 1mm 30s"], "--seen 3 must be a plastic in stock"),
        (["HIPS", "--seen", "HIPS 20mm 30s"], "--seen 1, gauge must be at least 0.1 mm"),
        (["HIPS", "--seen", "HIPS 1mm 2000min"], "--seen 1, time must be more than 0 s and at"),
        (["HIPS", "--seen", "HIPS 0.1mm 60min"], "seen must be times that classroom-450x300 can"),
        (["HIPS", "--formats", "stl", "--out", "x"], "--formats must be html, png or json"),
        (["HIPS", "--stock", "none.toml"], "none.toml"),
        (["HIPS", "ABS"], "'ABS' is one word too many"),
    ],
    ids=lambda value: " ".join(value)[:40] if isinstance(value, list) else "",
)
def test_slips_are_told_in_one_sentence(words, says, capsys):
    """Exit code 2, one line, nothing written."""
    code = main(["heat", *words])
    shown = capsys.readouterr()

    assert (code, shown.out) == (2, "")
    assert re.search(says, shown.err), shown.err
    assert shown.err.count("\n") == 1
    assert list(Path().iterdir()) == []


def test_a_machine_that_is_too_cool_is_named(capsys):
    """A person's own weak heater: what it cannot do, and what to do."""
    Path("own.toml").write_text(
        '[machine.weak]\nbased_on = "classroom-450x300"\nheater_degC = 150\n', encoding="utf-8"
    )
    code = main(["heat", "HIPS", "--stock", "own.toml", "--machine", "weak"])

    assert code == 2
    assert re.match(
        r"moldgen: --machine must be able to bring 1.5 mm HIPS to 127 °C \(got weak, which brings",
        capsys.readouterr().err,
    )


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("HIPS 0.75mm 30s", ("HIPS", 0.75, 30)),
        ("hips .030 in 25", ("hips", 0.762, 25)),
        ('PVC rigid 1/16" 1.5 min', ("PVC rigid", 1.5875, 90)),
        ("Our red styrene 2 2 min", ("Our red styrene", 2, 120)),
        ("PMMA cast 3 mm 170 s", ("PMMA cast", 3, 170)),
    ],
)
def test_what_was_seen_is_read(words, found):
    """Names of several words, fractions of inches, minutes."""
    told = seen_from("seen", words)

    assert (told.plastic, told.gauge_mm, told.seconds) == pytest.approx(found)


@pytest.mark.parametrize(
    "words", ["", "HIPS", "HIPS 1mm", "1mm 30s", "HIPS 1mm 30s more", "x" * 300]
)
def test_what_cannot_be_read_is_refused(words):
    """All three are needed, in their order."""
    with pytest.raises(SpecError, match=r"^seen must be plastic, gauge and time"):
        seen_from("seen", words)


@pytest.mark.parametrize(
    ("time_s", "words"),
    [(0.2, "1 s"), (31.6, "32 s"), (59.4, "59 s"), (59.6, "1 min"), (73.2, "1 min 13 s"),
     (99.4, "1 min 39 s"), (99.6, "1 min 40 s"), (122.4, "2 min"), (118, "2 min"),
     (127, "2 min 5 s"), (3600, "60 min")],
)  # fmt: skip
def test_times_are_said_as_they_are_counted(time_s, words):
    """Whole seconds at first, five at a time later."""
    assert clock_text(time_s) == words


def test_rows_say_it_when_things_go_wrong():
    """A window that never opens, a mold that no pause helps, a mold that stays hard."""
    thick = heat_work(HeatCommand(plastic="HIPS", gauge_mm=4.0, filament="PLA"), SHOP, others=False)
    assert window_text(thick.heated) == "none: a face is too hot before the other is hot enough"
    assert "whatever the pause" in life_text(thick.life, 30)
    thin = heat_work(HeatCommand(plastic="HIPS", gauge_mm=0.5, filament="PC"), SHOP, others=False)
    assert life_text(thin.life, 30).startswith("stays hard: its edges reach at most ")
    assert advice_text([thick.life]) == "none of the filaments in stock lasts"
    wanted = HeatCommand(plastic="HIPS", gauge_mm=0.5, cycles=3, filament="PLA")
    few = heat_work(wanted, SHOP, others=False)
    assert "cycles in a row, 3 are wanted; edges begin to round in" in life_text(few.life, 3)


def test_the_picture_shows_the_whole_window():
    """Axes reach past the moment it closes and the hottest face, in round steps."""
    made = heat_work(HeatCommand(plastic="ABS"), SHOP, others=False)
    curves = curves_of(made.heated)

    assert curves.last_s > made.heated.clock.closes_s
    assert curves.high_degC >= SHOP.plastic("ABS").forming_high_degC
    assert curves.high_degC % 20 == 0
    plastic, clock = SHOP.plastic("ABS"), made.heated.clock
    assert curves.window_degC == (plastic.forming_low_degC, plastic.forming_high_degC)
    assert (curves.opens_s, curves.closes_s) == (clock.opens_s, clock.closes_s)
    assert curves.forming_s == made.heated.forming_s


@pytest.mark.parametrize(
    ("machine", "names"),
    [("bench-250x250", ["face at the heater", "mean", "back"]),
     ("two-sided", ["both faces", "mean", "inside"])],
)  # fmt: skip
def test_the_curves_of_the_picture_are_the_computed_temperatures(machine, names):
    """Each curve passes through what was computed when formed; names tell what is heated."""
    sides = [one for one in SHOP.machines.entries if one.heater_sides == 2]
    chosen = sides[0].name if machine == "two-sided" else machine
    heated = heat_work(HeatCommand(plastic="HIPS", machine=chosen), SHOP, others=False).heated

    curves = curves_of(heated)

    at_pull = {
        told: float(np.interp(curves.forming_s, curves.times_s, values))
        for told, values in curves.curves_degC
    }
    assert list(at_pull) == names
    own = (heated.front_degC, heated.mean_degC)
    assert list(at_pull.values())[:2] == pytest.approx(own, abs=2)
    last = heated.back_degC if names[2] == "back" else heated.coldest_degC
    assert at_pull[names[2]] == pytest.approx(last, abs=2)
    assert curves.times_s[-1] <= curves.last_s


def test_times_that_disagree_widen_the_band():
    """The misfit counts among the doubts, and a fan cools sooner than still air."""
    seen = ("HIPS 0.75mm 30s", "HIPS 1.5mm 90s")
    odd = heat_work(HeatCommand(plastic="HIPS", seen=seen), SHOP, others=False)

    assert odd.fit.misfit > 0.15
    (left_open,) = (one for one in odd.heated.doubts if "leave open" in one.what)
    assert left_open.sooner == left_open.later >= odd.fit.misfit
    assert odd.blown.stiff_s < 0.95 * odd.whole.stiff_s
    assert odd.thinnest.stiff_s < 0.5 * odd.whole.stiff_s


def test_what_is_made_of_a_sheet_alone():
    """A sheet nobody timed leaves no machine; the picture is a PNG."""
    words = HeatCommand(plastic="HIPS")

    files = heat_sheet(words, shop=SHOP, with_files=True).files
    assert sorted(files) == ["findings.json", "heating.png", "report.html"]
    assert files["heating.png"].startswith(b"\x89PNG")
