"""The commands: what each is for, and where what carries it out is found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from moldgen.language import in_words
from moldgen.wording import cut_short, nearest, one_of, shown

if TYPE_CHECKING:
    pass


_JOB_FILES = (":MakeCommand", ":CompareCommand", ":ArrangeCommand")
"""Forms of commands that take job files, which say what they are made with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One command: what it is for, an example, its form and what carries it out.

    What carries it out is named ``module:function``, so that help needs to import nothing.
    """

    about: str
    example: str
    run: str = ""
    form: str = ""
    makes: bool = False
    usual: str = ""
    """Options that short help shows, blanks between them; all if left out."""
    heats: bool = False
    """Whether it tells what notes of the log correct: times, thickness, lives."""
    parts: Mapping[str, Command] = field(default_factory=dict)
    """What comes behind its name, where it is several commands."""

    @property
    def uses_room(self) -> bool:
        """Whether the room's values hold where nothing is typed: not where a job file says all."""
        return self.makes and not self.form.endswith(_JOB_FILES)


LOG = {
    "add": Command(
        about="note what happened at a shot; job, sheet and computed times come from the job",
        example='moldgen log add outputs/high-tide --heated 52 --seen web --remark "rear corner"',
        usual="heated formed cooled seen measured cycle mold-ended photo who remark on from",
        run="moldgen.cli.log:do_add",
        form="moldgen.lesson.log.command:LogAddCommand",
    ),
    "show": Command(
        about="show what was noted, a table for each mold",
        example="moldgen log show --plastic HIPS",
        run="moldgen.cli.log:do_show",
        form="moldgen.lesson.log.command:LogShowCommand",
    ),
    "tell": Command(
        about="tell what notes say of each table: heating, cooling, cycles, thickness, printing",
        example="moldgen log tell",
        run="moldgen.cli.log_learned:do_tell",
        form="moldgen.lesson.log.command:LogTellCommand",
    ),
    "causes": Command(
        about="tell likely causes of what a note saw, what to change first, and the command for it",
        example="moldgen log causes 12 outputs/high-tide",
        run="moldgen.cli.log_learned:do_causes",
        form="moldgen.lesson.log.command:LogCausesCommand",
    ),
    "export": Command(
        about="write what was noted into a file: CSV, XLSX or JSON",
        example="moldgen log export log.xlsx",
        run="moldgen.cli.log:do_export",
        form="moldgen.lesson.log.command:LogExportCommand",
    ),
    "remove": Command(
        about="remove a note that was a slip, by its number",
        example="moldgen log remove 12",
        run="moldgen.cli.log:do_remove",
        form="moldgen.lesson.log.command:LogRemoveCommand",
    ),
}
"""What ``moldgen log`` is made of."""

COMMANDS = {
    "sign": Command(
        about="make a sign of words: raised letters, on a plaque or on their own",
        example='moldgen sign "HIGH TIDE" --letter-height 25',
        run="moldgen.cli.mold:do_sign",
        form="moldgen.job:SignCommand",
        makes=True,
        heats=True,
        usual="as letter-height relief font tactile plastic gauge machine out save-job mend",
    ),
    "tray": Command(
        about="make a tray of numbers: inside length, width and depth",
        example='moldgen tray 120 80 25 --compartments "3 x 2"',
        run="moldgen.cli.mold:do_tray",
        form="moldgen.job:TrayCommand",
        makes=True,
        heats=True,
        usual="compartments corner side plastic gauge machine printer out save-job mend",
    ),
    "nest": Command(
        about="make a tray for things: nests with play and finger notches, by size or outline",
        example='moldgen nest "pliers 180 x 55 x 20" "shackle key 90 x 25 x 6"',
        usual="play grip depth plastic gauge machine printer out save-job mend",
        run="moldgen.cli.mold:do_nest",
        form="moldgen.job.command.nest:NestCommand",
        makes=True,
        heats=True,
    ),
    "raise": Command(
        about="raise a drawing (SVG, DXF) or a shape of the library",
        example="moldgen raise gull.svg --height 12",
        run="moldgen.cli.mold:do_raise",
        form="moldgen.job:DrawingCommand",
        makes=True,
        heats=True,
        usual="shape height width part plastic gauge machine out save-job mend",
    ),
    "bend": Command(
        about="lay out, heat and bend a strip: marks, dwell times, order, jigs, directions",
        example="moldgen bend --legs 80,120,60 --angles 90,110 --width 60",
        run="moldgen.cli.strip:do_bend",
        form="moldgen.job:BendCommand",
        makes=True,
        usual="legs angles width radius stand plastic thickness strip-heater out save-job",
    ),
    "heat": Command(
        about="tell how long to heat and cool a sheet, and how many cycles the mold stands",
        example="moldgen heat HIPS --gauge 0.75mm --filament PLA",
        run="moldgen.cli.heat:do_heat",
        form="moldgen.job.command.heat:HeatCommand",
        makes=True,
        heats=True,
        usual="gauge machine filament cycles seen fan thinnest out",
    ),
    "chart": Command(
        about="make a wall chart of heating and cooling times: sheets by thickness, on one page",
        example='moldgen chart --sheets "HIPS 1; HIPS 1.5; PETG 1"',
        run="moldgen.cli.heat:do_chart",
        form="moldgen.job.command.chart:ChartCommand",
        makes=True,
        heats=True,
    ),
    "make": Command(
        about="make what a job file says",
        example="moldgen make tide-sign.toml",
        run="moldgen.cli.make:do_make",
        form="moldgen.job.command.mold:MakeCommand",
        makes=True,
        heats=True,
        usual="plastic gauge machine printer filament formats out mend",
    ),
    "new": Command(
        about="ask what you wish for, a sign, a tray, a shape or a strip, and make it",
        example="moldgen new",
        run="moldgen.cli.new:do_new",
    ),
    "compare": Command(
        about="make one job in several sheets, tables or filaments, and compare them in a table",
        example='moldgen compare tide-sign.toml --gauge "1, 1.5, 2"',
        run="moldgen.cli.compare:do_compare",
        form="moldgen.job.command.compare:CompareCommand",
        usual="sheet gauge machine filament forming units stock formats out",
        makes=True,
        heats=True,
    ),
    "class": Command(
        about="make what each person of a class makes, with lists and job cards",
        example="moldgen class names.csv --like tag.toml",
        run="moldgen.cli.school_class:do_class",
        form="moldgen.job.command.school_class:ClassCommand",
        makes=True,
        usual="like sizes alone lesson-min trim-places cluster paper formats out",
        heats=True,
    ),
    "arrange": Command(
        about="arrange molds of several jobs on sheets, printer beds and stock, as few as it takes",
        example='moldgen arrange tide-sign.toml "tag-*.toml" --tighter',
        usual="tighter turns gap stock-sheet kerf machine printer out",
        run="moldgen.cli.arrange:do_arrange",
        form="moldgen.job.command.arrange:ArrangeCommand",
        makes=True,
    ),
    "adapt": Command(
        about="make a part, a picture or a height map formable",
        example="moldgen adapt hull.stl --draw-direction best",
        run="moldgen.cli.brought:do_adapt",
        form="moldgen.job.command.adapt:AdaptCommand",
        makes=True,
        heats=True,
        usual="as draw-direction unit width height side plastic gauge machine out",
    ),
    "check": Command(
        about="check a part from elsewhere (STL, 3MF, OBJ): will it form and come off?",
        example="moldgen check bracket.stl --plastic HIPS --gauge 2",
        run="moldgen.cli.brought:do_check",
        form="moldgen.job:CheckCommand",
        makes=True,
        usual="draw-direction unit plastic gauge machine forming out",
        heats=True,
    ),
    "fixture": Command(
        about="list or make what helps at the table: plugs, frames, gauges, guides, handles",
        example="moldgen fixture plug --machine classroom-450x300",
        run="moldgen.cli.fixture:do_fixture",
        form="moldgen.job.command.fixture:FixtureCommand",
        makes=True,
    ),
    "trim": Command(
        about="where and how to cut a part from its sheet, with gauges, templates and cradles",
        example="moldgen trim tide-sign.toml --line offset --flange 12",
        run="moldgen.cli.fixture:do_trim",
        form="moldgen.job.command.fixture:TrimCommand",
        makes=True,
        usual="line height fixing own unit plastic gauge flange out",
    ),
    "letters": Command(
        about="make a letter set: molds on feet that fit a rail, on print plates, with a tray",
        example='moldgen letters --characters "A-Z 0-9 .,!?-&" --word "PIER 4"',
        run="moldgen.cli.fixture:do_letters",
        form="moldgen.job.command.letters:LettersCommand",
        makes=True,
        usual="characters counts letter-height font word storage plastic gauge printer out",
    ),
    "measure": Command(
        about="measure a part (STL, 3MF, OBJ): size, draft, walls, mass, what printing it takes",
        example="moldgen measure bracket.stl --filament PETG",
        run="moldgen.cli.printing:do_measure",
        form="moldgen.job.command.printing:MeasureCommand",
        makes=True,
        usual="unit draw-direction infill filament printer plastic gauge out",
    ),
    "refit": Command(
        about="change a part: scale to a length, mirror, cut flat, thicken, hollow, add vents",
        example="moldgen refit bracket.stl --measured 61.2 --length 63 --vents",
        run="moldgen.cli.printing:do_refit",
        form="moldgen.job.command.printing:RefitCommand",
        makes=True,
        usual="length measured up mirror cut thicken hollow vents unit out",
    ),
    "split": Command(
        about="cut a part into pieces that fit the printer, with pins and numbers",
        example="moldgen split long-sign.stl --printer small",
        usual="printer dowel keys play unit filament out",
        run="moldgen.cli.printing:do_split",
        form="moldgen.job.command.printing:SplitCommand",
        makes=True,
    ),
    "test-piece": Command(
        about="make small test prints: which vent hole and which pin fits",
        example='moldgen test-piece --dowel "steel 4"',
        run="moldgen.cli.printing:do_test_piece",
        form="moldgen.job.command.printing:TestPieceCommand",
        makes=True,
    ),
    "page": Command(
        about="design in a browser, alone or with a class on the same network",
        example="moldgen page --lan",
        run="moldgen.cli.page:do_page",
        form="moldgen.job.command.page:PageCommand",
    ),
    "scheduler": Command(
        about="hand out the molds of classes to several machines: a cluster",
        example="moldgen scheduler --host shed --cluster-keys keys",
        run="moldgen.cli.cluster:do_scheduler",
        form="moldgen.job.command.cluster:SchedulerCommand",
    ),
    "worker": Command(
        about="build molds for a cluster on this machine",
        example="moldgen worker tls://shed:8786 --cluster-keys keys",
        run="moldgen.cli.cluster:do_worker",
        form="moldgen.job.command.cluster:WorkerCommand",
    ),
    "log": Command(
        about="keep what happened at each shot, and show it: times, what was seen, thicknesses",
        example="moldgen log add outputs/high-tide --heated 52 --seen good",
        parts=LOG,
    ),
    "shapes": Command(
        about="list the outline library, or draw it on a picture sheet",
        example="moldgen shapes --sheet shapes.png",
        run="moldgen.cli.lists:do_shapes",
    ),
    "stock": Command(
        about="list sheets, filaments, forming machines, printers, heaters... with every source",
        example="moldgen stock sheet",
        run="moldgen.cli.lists:do_stock",
    ),
    "fonts": Command(
        about="list the fonts for signs that form well, or all fonts there are",
        example="moldgen fonts --all",
        run="moldgen.cli.lists:do_fonts",
    ),
    "setup": Command(
        about="keep your room: table, printer, sheets, filaments; all commands then use it",
        example='moldgen setup --machine "450 x 300" --printer "220 x 220 x 250"',
        usual="machine table holes heater printer filaments sheets units language show forget",
        run="moldgen.cli.setup:do_setup",
        form="moldgen.job.command.setup:SetupCommand",
    ),
    "schema": Command(
        about="show the schema of job files, for editors, or of findings.json, for programs",
        example="moldgen schema > job.schema.json",
        run="moldgen.cli.lists:do_schema",
    ),
}


_PURPOSE = "moldgen makes molds for vacuum forming, checked and vented, and jigs to bend strips."
_MEASURES = 'bare numbers are millimeters or degrees; "1/8 in" will do as well'


_NAME_COLUMN = max(map(len, COMMANDS)) + 1


def overview() -> str:
    """Return what ``moldgen --help`` shows."""
    rows = "\n".join(
        f"  {name:<{_NAME_COLUMN}}{in_words(command.about)}" for name, command in COMMANDS.items()
    )
    return (
        f"{in_words(_PURPOSE)}\n\n"
        f"{rows}\n\n"
        f'{in_words("To begin:"):<10} moldgen sign "HIGH TIDE"\n'
        f"{in_words('Options:'):<10} moldgen COMMAND --help\n"
        f"{in_words('Measures:'):<10} {in_words(_MEASURES)}"
    )


def overview_of(name: str, command: Command) -> str:
    """Return what help shows of a command that is several."""
    rows = "\n".join(f"  {part:<8}{in_words(one.about)}" for part, one in command.parts.items())
    about = in_words(command.about)
    choice = f"{{{','.join(command.parts)}}}"
    return (
        f"{in_words('usage:')} moldgen {name} {choice} {in_words('[options]')}\n\n"
        f"{about[0].upper()}{about[1:]}.\n\n"
        f"{rows}\n\n"
        f"{in_words('Options:')} moldgen {name} {next(iter(command.parts))} --help\n\n"
        f"{in_words('Example:')} {command.example}"
    )


def unknown_command(name: str) -> str:
    """Return what to say about a command that is none."""
    if name.startswith("-"):
        return f"a command must come before {cut_short(name)}. Begin with {one_of(COMMANDS)}."
    hint = nearest(name, COMMANDS.keys(), most=1) or f"Choose {one_of(COMMANDS)}."
    return f"{shown(name)} is not a command. {hint}"


def load_function(place: str) -> Any:
    """Return what ``module:name`` names; only now is the module imported."""
    from importlib import import_module

    module, _, name = place.partition(":")
    return getattr(import_module(module), name)
