"""The person's own room: asked for, checked, kept, used, and told from what was typed."""

import io
import tomllib

import pytest

import moldgen as mg
from moldgen.cli.app import main
from moldgen.job import BendCommand, SignCommand, load_job
from moldgen.job.room import load_room
from moldgen.stock import load_shop

OWN = ["setup", "--machine", "460 x 310", "--table", "470 x 320", "--holes", "12 x 1,5",
       "--tallest", "150", "--heater", "quartz", "--printer", "235x235x250", "--currency", "EUR",
       "--filaments", "PLA = 21,5; PETG", "--sheets", "ABS 2 = 5.5; hips 1,0",
       "--paper", "letter", "--strip-heater", "Wire-600"]  # fmt: skip


@pytest.fixture(autouse=True)
def home(monkeypatch, tmp_path):
    """An empty folder for the room, and another to work in."""
    (tmp_path / "work").mkdir()
    monkeypatch.chdir(tmp_path / "work")
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def answer(monkeypatch, *lines):
    """Type these lines when asked."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def test_a_room_is_kept_as_it_was_typed(home):
    """Own table and printer become entries of the stock; names are those of the stock."""
    assert main(OWN) == 0

    room, shop = load_room(), load_shop()
    table, printer = shop.machine(room.machine), shop.printer(room.printer)
    assert (table.opening_width_mm, table.opening_depth_mm) == (460, 310)
    assert (table.table_width_mm, table.table_depth_mm, table.tallest_mm) == (470, 320, 150)
    assert (table.hole_pitch_mm, table.hole_diameter_mm, table.heater_kind) == (12, 1.5, "quartz")
    assert table.sheet_width_mm == 460 + 2 * table.clamp_margin_mm
    assert (printer.bed_width_mm, printer.bed_depth_mm, printer.bed_height_mm) == (235, 235, 250)
    assert [(one.filament, one.price_kg) for one in room.filament] == [
        ("PLA", 21.5),
        ("PETG", None),
    ]
    assert [(one.plastic, one.gauge_mm, one.price) for one in room.sheet] == [
        ("ABS", 2, 5.5), ("HIPS", 1, None),
    ]  # fmt: skip
    assert (room.currency, room.paper, room.strip_heater) == ("EUR", "Letter", "wire-600")


def test_what_is_not_said_again_stays(home):
    """A second setup changes what it names, and keeps the rest and the own entries."""
    main(OWN)

    assert main(["setup", "--paper", "A4"]) == 0

    room = load_room()
    assert (room.paper, room.machine, room.printer) == ("A4", "our-table", "our-printer")
    assert load_shop().machine("our-table").opening_width_mm == 460


def test_commands_use_the_room(tmp_path):
    """A sign takes sheet, machines and paper of the room; what is typed goes before."""
    main(OWN)
    main(["sign", "A", "--save-job", "a.toml"])
    main(["sign", "A", "--save-job", "b.toml", "--gauge", "1", "--machine", "bench-250x250"])

    job, typed = load_job("a.toml"), load_job("b.toml")
    assert (job.machine, job.printer, job.filament) == ("our-table", "our-printer", "PLA")
    assert (job.sheet.plastic, job.sheet.gauge_mm, job.output.paper) == ("ABS", 2, "Letter")
    assert (typed.machine, typed.sheet.gauge_mm) == ("bench-250x250", 1)


def test_a_strip_keeps_its_own_plastic():
    """The sheets of the room are formed; a strip is bent of acrylic as before."""
    main(OWN)
    main(["bend", "--legs", "80,120", "--angles", "90", "--save-job", "a.toml"])

    job = load_job("a.toml")
    assert (job.strip.plastic, job.strip.thickness_mm) == ("PMMA cast", 3)
    assert (job.printer, job.output.paper) == ("our-printer", "Letter")


def test_a_saved_job_needs_no_room(monkeypatch, tmp_path, capsys):
    """Own table and printer go along in a stock file: the same bytes where there is no room."""
    main(OWN)
    main(["sign", "A", "--save-job", "a.toml"])
    made = []
    for home in (tmp_path / "home", tmp_path / "nowhere"):
        monkeypatch.setenv("MOLDGEN_HOME", str(home))
        assert main(["make", "a.toml", "--formats", "stl,svg", "--out", str(home) + "-out"]) == 0
        out = tmp_path / f"{home.name}-out"
        made.append({path.name: path.read_bytes() for path in out.iterdir()})

    assert made[0] == made[1]
    assert tomllib.loads((tmp_path / "work/a-stock.toml").read_text())["machine"].keys() == {
        "our-table"
    }


def test_a_job_file_says_all(capsys):
    """A job made in a room is the job made without one: same summary, same numbers."""
    main(["sign", "A", "--save-job", "a.toml"])
    told = []
    for command in (["setup", "--show"], OWN):
        main(command)
        capsys.readouterr()
        assert main(["make", "a.toml", "--formats", "json", "--json"]) == 0
        told.append(capsys.readouterr().out)

    assert "Classroom table" in told[0]
    assert told[0] == told[1]


def test_functions_are_told_of_the_room():
    """A library call is the same with and without a room; ``room()`` hands it over."""
    bare = mg.sign("A")
    main(OWN)

    assert mg.sign("A") == bare
    told = mg.sign("A", **mg.room().options)
    assert (told.machine, told.sheet.plastic, told.output.paper) == ("our-table", "ABS", "Letter")
    strip = mg.strip(legs="80,120", angles="90", **mg.room().strip_options)
    assert (strip.printer, strip.strip.plastic) == ("our-printer", "PMMA cast")


def test_a_room_elsewhere_is_read(tmp_path, home):
    """``room`` takes the folder of another room; an empty one gives the usual values."""
    main(OWN)

    assert mg.room(home).machine == "our-table"
    assert mg.room(tmp_path) == mg.OwnRoom()


@pytest.mark.parametrize("spec", [SignCommand, BendCommand])
def test_a_usual_room_changes_nothing(spec):
    """Without a setup the room holds what commands have by default."""
    values = mg.OwnRoom().values(spec)

    assert len(values) >= 4
    for field, value in values.items():
        assert value == next(
            f.default for f in spec.__dataclass_fields__.values() if f.name == field
        )


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--machine", "250 x 250", "--table", "228 x 228"],
         "--table must be at least the opening, 250 x 250 mm (got 228 x 228 mm)"),
        (["--machine", "250 x 250", "--holes", "15"], '--holes must be a size like "15 x 2"'),
        (["--machine", "250 x 250", "--holes", "2 x 15"],
         "--holes must be less than hole_pitch_mm, 2 mm"),
        (["--machine", "0 x 250"], "--machine must be more than 0 mm"),
        (["--table", "250 x 250"], "--table must be used with a table of your own"),
        (["--machine", "clasroom-450x300"], "Did you mean classroom-450x300"),
        (["--printer", "5 x 5 x 5"], "--printer must be at least 20 mm"),
        (["--printer", "big"], "--printer must be a printer in stock"),
        (["--sheets", "HIPS"], '--sheets must be like "HIPS 1.5 = 3.20; ABS 2"'),
        (["--sheets", "HOPS 2"], "--sheets must be a plastic in stock (got 'HOPS')"),
        (["--sheets", "HIPS 40"], "--sheets must be at least 0.1 mm and at most 12 mm"),
        (["--sheets", "HIPS 1 = much"], "--sheets must be a number"),
        (["--filaments", "PETG = -2"], "--filaments must be at least 0"),
        (["--currency", "E" * 30], "--currency must be at most 8 letters"),
        (["--paper", "B5"], "--paper must be A4 or Letter"),
        (["--show", "--paper", "A4"], "--show must be used alone"),
        (["--show", "--forget"], "--show must be used alone"),
    ],
)  # fmt: skip
def test_a_wrong_answer_is_one_sentence(home, capsys, words, sentence):
    """What cannot be is told by its option, and nothing is kept."""
    assert main(["setup", *words]) == 2

    told = capsys.readouterr().err
    assert sentence in told
    assert len(told.splitlines()) == 1
    assert not home.exists()


def test_questions_are_asked_again_until_answered(monkeypatch, capsys):
    """Each answer is checked at once; Enter takes what stands in brackets."""
    answer(monkeypatch, "250 x 250", "228 x 228", "260 x 260", "", "", "", "", "EUR", "",
           "HIPS x", "HIPS 1 = 3", "", "", "", "")  # fmt: skip

    assert main(["setup"]) == 0

    asked = capsys.readouterr().err
    assert "--table must be at least the opening, 250 x 250 mm (got 228 x 228 mm)" in asked
    assert asked.count("(--table)") == asked.count("(--sheets)") == 2
    room = load_room()
    assert (load_shop().machine(room.machine).table_width_mm, room.currency) == (260, "EUR")
    assert (room.sheet[0].price, room.printer) == (3, mg.OwnRoom().printer)


def test_the_table_is_asked_for_only_if_it_is_ones_own(monkeypatch, capsys):
    """A table of the stock has its sizes already."""
    answer(monkeypatch, *[""] * 9)

    assert main(["setup"]) == 0

    assert "(--holes)" not in capsys.readouterr().err
    assert load_room() == mg.OwnRoom()


def test_nobody_there_is_told(monkeypatch, home, capsys):
    """Where no line comes, one sentence says what to do, and nothing is kept."""
    answer(monkeypatch, "450 x 300")

    assert main(["setup"]) == 2

    assert "nobody answers here" in capsys.readouterr().err.splitlines()[-1]
    assert not home.exists()


def test_a_room_is_shown_and_forgotten(home, capsys):
    """--show tells the room and its file, --forget removes it, and a second time is no error."""
    main(OWN)
    capsys.readouterr()
    assert main(["setup", "--show"]) == 0
    shown = capsys.readouterr().out
    assert "our-table (Own table, opening 460 x 310 mm)" in shown
    assert str(home / "room.toml") in shown

    assert main(["setup", "--forget"]) == 0
    assert main(["setup", "--forget"]) == 0

    assert load_room() == mg.OwnRoom()
    main(["setup", "--show"])
    assert "nothing is kept: these are usual" in capsys.readouterr().out


def test_help_shows_the_rooms_values(capsys):
    """What holds if an option is left out is what the room says."""
    main(OWN)
    main(["sign", "--help"])

    assert "(usual: our-table)" in " ".join(capsys.readouterr().out.split())


def test_what_the_room_lacks_is_told_of_the_room(home, capsys):
    """A name that left the stock is told as the room's; a typed one as the option's."""
    main(OWN)
    path = home / "room.toml"
    path.write_text(
        path.read_text().replace('printer = "our-printer"', 'printer = "gone"'), encoding="utf-8"
    )
    capsys.readouterr()

    assert main(["sign", "A"]) == 2
    assert "printer of the room (moldgen setup) must be a printer" in capsys.readouterr().err
    assert main(["sign", "A", "--printer", "gone"]) == 2
    assert "--printer must be a printer in stock" in capsys.readouterr().err


@pytest.mark.parametrize("words", ["nonsense", '[room]\nmachin = "x"\n', "[room]\nsheet = []\n"])
def test_a_damaged_room_is_one_sentence(home, capsys, words):
    """The file is named, and the room can still be forgotten."""
    home.mkdir()
    (home / "room.toml").write_text(words, encoding="utf-8")

    assert main(["sign", "A"]) == 2
    assert "room.toml" in capsys.readouterr().err
    assert main(["setup", "--forget"]) == 0
