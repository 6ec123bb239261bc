"""The commands: what each is for, and where what carries it out is found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldgen.wording import nearest, one_of

if TYPE_CHECKING:
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One command: what it is for, an example, its form and what carries it out.

    What carries it out is named ``module:function``, so that help needs to import nothing.
    """

    about: str
    example: str
    run: str
    form: str = ""
    makes: bool = False


COMMANDS = {
    "sign": Command(
        about="make a sign of words: raised letters, on a plaque or on their own",
        example='moldgen sign "HIGH TIDE" --letter-height 25',
        run="moldgen.cli.mold:do_sign",
        form="moldgen.job:SignCommand",
        makes=True,
    ),
    "tray": Command(
        about="make a tray of numbers: inside length, width and depth",
        example='moldgen tray 120 80 25 --compartments "3 x 2"',
        run="moldgen.cli.mold:do_tray",
        form="moldgen.job:TrayCommand",
        makes=True,
    ),
    "nest": Command(
        about="make a tray for things: nests with play and finger notches, by size or outline",
        example='moldgen nest "pliers 180 x 55 x 20" "shackle key 90 x 25 x 6"',
        run="moldgen.cli.mold:do_nest",
        form="moldgen.job.command.nest:NestCommand",
        makes=True,
    ),
    "raise": Command(
        about="raise a drawing (SVG, DXF) or a shape of the library",
        example="moldgen raise gull.svg --height 12",
        run="moldgen.cli.mold:do_raise",
        form="moldgen.job:DrawingCommand",
        makes=True,
    ),
    "bend": Command(
        about="lay out, heat and bend a strip: marks, dwell times, order, jigs, directions",
        example="moldgen bend --legs 80,120,60 --angles 90,110 --width 60",
        run="moldgen.cli.strip:do_bend",
        form="moldgen.job:BendCommand",
        makes=True,
    ),
    "heat": Command(
        about="tell how long to heat and cool a sheet, and how many cycles the mold stands",
        example="moldgen heat HIPS --gauge 0.75mm --filament PLA",
        run="moldgen.cli.heat:do_heat",
        form="moldgen.job.command.heat:HeatCommand",
        makes=True,
    ),
    "make": Command(
        about="make what a job file says",
        example="moldgen make tide-sign.toml",
        run="moldgen.cli.make:do_make",
        form="moldgen.job.command.mold:MakeCommand",
        makes=True,
    ),
    "adapt": Command(
        about="make a part, a picture or a height map formable",
        example="moldgen adapt hull.stl --draw-direction best",
        run="moldgen.cli.brought:do_adapt",
        form="moldgen.job.command.adapt:AdaptCommand",
        makes=True,
    ),
    "check": Command(
        about="check a part from elsewhere (STL, 3MF, OBJ): will it form and come off?",
        example="moldgen check bracket.stl --plastic HIPS --gauge 2",
        run="moldgen.cli.brought:do_check",
        form="moldgen.job:CheckCommand",
        makes=True,
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
    ),
    "letters": Command(
        about="make a letter set: molds on feet that fit a rail, on print plates, with a tray",
        example='moldgen letters --characters "A-Z 0-9 .,!?-&" --word "PIER 4"',
        run="moldgen.cli.fixture:do_letters",
        form="moldgen.job.command.letters:LettersCommand",
        makes=True,
    ),
    "measure": Command(
        about="measure a part (STL, 3MF, OBJ): size, draft, walls, mass, what printing it takes",
        example="moldgen measure bracket.stl --filament PETG",
        run="moldgen.cli.printing:do_measure",
        form="moldgen.job.command.printing:MeasureCommand",
        makes=True,
    ),
    "refit": Command(
        about="change a part: scale to a length, mirror, cut flat, thicken, hollow, add vents",
        example="moldgen refit bracket.stl --measured 61.2 --length 63 --vents",
        run="moldgen.cli.printing:do_refit",
        form="moldgen.job.command.printing:RefitCommand",
        makes=True,
    ),
    "split": Command(
        about="cut a part into pieces that fit the printer, with pins and numbers",
        example="moldgen split long-sign.stl --printer bed-180",
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
    "schema": Command(
        about="show the schema of job files, for editors, or of findings.json, for programs",
        example="moldgen schema > job.schema.json",
        run="moldgen.cli.lists:do_schema",
    ),
}


def overview() -> str:
    """Return what ``moldgen --help`` shows."""
    rows = "\n".join(f"  {name:<8}{command.about}" for name, command in COMMANDS.items())
    return (
        "moldgen makes molds for vacuum forming, checked and vented, and jigs to bend strips.\n\n"
        f"{rows}\n\n"
        "To begin:  moldgen sign \"HIGH TIDE\"\n"
        "Options:   moldgen COMMAND --help\n"
        'Measures:  bare numbers are millimeters or degrees; "1/8 in" will do as well'
    )  # fmt: skip


def unknown_command(name: str) -> str:
    """Return what to say about a command that is none."""
    if name.startswith("-"):
        return f"a command must come before {name}. Begin with {one_of(COMMANDS)}."
    hint = nearest(name, COMMANDS.keys(), most=1) or f"Choose {one_of(COMMANDS)}."
    return f"{name!r} is not a command. {hint}"


def load_function(place: str) -> Any:
    """Return what ``module:name`` names; only now is the module imported."""
    from importlib import import_module

    module, _, name = place.partition(":")
    return getattr(import_module(module), name)
