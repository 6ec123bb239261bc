"""The recipe for a letter set: a mold for each letter, on feet that fit one rail."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from unicodedata import normalize

from moldgen.errors import SpecError
from moldgen.export.report.table import Table
from moldgen.finding import Finding, Severity, counted, ranked
from moldgen.fixture.fixture import Bench, Fixture
from moldgen.fixture.kinds import kind_named
from moldgen.fixture.letters.foot import (
    BLANK,
    FOOT_DRAFT_DEG,
    FOOT_MM,
    FOOT_RIM_MM,
    GROOVE_DEPTH_MM,
    RAIL_MM,
    FootRule,
)
from moldgen.fixture.letters.rail import build_rail
from moldgen.fixture.letters.tray import SAFETY, USE, build_letter_tray
from moldgen.fixture.spec import RailSpec
from moldgen.job.command.letters import LettersCommand, Storage, letter_counts
from moldgen.job.formats import PRINT_FORMATS
from moldgen.pipeline.file_set import OutputFile
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.fixture.files import Used, fixture_output
from moldgen.pipeline.fixture.make import bench_of, numbers_of, print_text
from moldgen.pipeline.letters.mold import (
    PLAY_MM,
    cut_groove,
    foot_findings,
    letter_mold,
    rule_of_set,
)
from moldgen.pipeline.letters.storage import formed_trays
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.plan import drill_list
from moldgen.pipeline.mold.tables import opening_text
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage
from moldgen.printing.pack import packed_on_plates
from moldgen.solid.mesh import Body
from moldgen.stock import Shop

TITLE = "Letter set"
LETTERS_USE = "Set the letters foot to foot over the rail, clamp a sheet, and form the whole word."
LETTERS_SAFETY = (
    "Let molds cool between cycles; warm letters shift on the rail and burn fingers at their edges."
)
FORMED_STEP = (
    "Make the mold of each tray with moldgen make letter-tray-1.toml, and so on; draw a sheet into "
    "it, let it cool, and trim it."
)
_AS_MEANT = {"top-radius-under-rule", "draft-under-rule", "edge-convex"}
"""What the feet are told once, for all letters."""


def make_letters(command: LettersCommand, *, shop: Shop, progress: Progress) -> Result:
    """Make a letter set; see `design_letters`."""
    return design_letters(command, shop=shop, progress=progress).render(progress=progress)


def design_letters(command: LettersCommand, *, shop: Shop, progress: Progress) -> Output:
    """Work out a letter set: molds on print plates, their tray, and a rail if a word is named.

    Parameters
    ----------
    command : LettersCommand
        What is wanted.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told which letter is being made.

    Raises
    ------
    MoldgenError
        If a letter cannot be made: one sentence that says which, and what to change.
    """
    if not command.characters.strip():
        raise SpecError("characters", "given", "nothing", 'Write them like "A-Z 0-9".')
    counts = letter_counts(command)
    bench = bench_of(command, shop)
    rule = rule_of_set(counts, command)
    steps = len(counts) + 2
    tell = telling_first_use(progress)
    bodies: list[Body] = []
    found: dict[str, list[Finding]] = {}
    vented: dict[str, Mold] = {}
    for letter, finding in foot_findings(counts, rule):
        found.setdefault(finding.code, []).append(replace(finding, subject=letter))
    for number, (letter, count) in enumerate(counts.items(), start=1):
        tell(Stage(number, steps, f"letter {letter}"))
        name, mold = letter_mold(letter, rule, command, shop)
        vented[letter] = mold
        grooved = [cut_groove(one, rule) for one in mold.bodies]
        bodies += [Body(f"{name} {k}", one.mesh) for k in range(1, count + 1) for one in grooved]
        for finding in mold.findings:
            if finding.subject == name and finding.code in _AS_MEANT:
                continue
            found.setdefault(finding.code, []).append(replace(finding, subject=letter))
    progress(Stage(steps - 1, steps, "packing plates and tray"))
    used, left_out = _used(bodies, counts, rule, command, bench)
    trays: tuple[OutputFile, ...] = ()
    if command.storage is Storage.FORMED:
        trays = _tray_files(formed_trays(counts, rule, command, bench))
    findings = ranked((*_grouped(found), *left_out, _sharp_feet()))
    summary = (*_summary(counts, rule, used, bench, command), ("Vents", _vents_text(vented)))
    if trays:
        summary += (("Trays to form", f"{len(trays)}: make the mold of each with moldgen make"),)
    numbers = numbers_of([one for _, _, one in used], bench, command) | {"counts": counts}
    return fixture_output(
        Result(title=TITLE, summary=summary, findings=findings, numbers=numbers),
        used, bench, formats=command.formats, units=command.units, usual=PRINT_FORMATS,
        tables=(_table(counts, rule), _vent_table(vented)),
        first=_steps(command), besides=trays, stage=Stage(steps, steps, "writing files"),
    )  # fmt: skip


def _tray_files(trays: Mapping[str, bytes]) -> tuple[OutputFile, ...]:
    purpose = "the job of a mold for a tray: moldgen make makes it"
    return tuple(
        OutputFile(name=name, purpose=purpose, content=partial(bytes, text), format=None)
        for name, text in trays.items()
    )


def _sharp_feet() -> Finding:
    return Finding(
        code="feet-sharp",
        severity=Severity.NOTE,
        says="the feet have less draft and sharper edges than the rules ask, so that the joints "
        "show little; edge radius",
        measured=FOOT_RIM_MM,
        unit="mm",
        subject=TITLE,
        basis=f"as meant: {FOOT_DRAFT_DEG:g}° of draft; the joints let the air out",
        advice="Ease the outer edges of the first and the last foot with sandpaper if the sheet "
        "thins there.",
    )


def _used(
    bodies: list[Body],
    counts: Mapping[str, int],
    rule: FootRule,
    command: LettersCommand,
    bench: Bench,
) -> tuple[list[Used], list[Finding]]:
    plates = packed_on_plates(bodies, bench.printer)
    letters = Fixture(
        name="letters",
        title=TITLE,
        plates=plates,
        shown=plates[0],
        facts=(
            ("Foot", f"{rule.depth_mm:.1f} mm deep, {FOOT_MM:g} mm high"),
            ("Groove", f"{RAIL_MM[0] + 2 * PLAY_MM:g} x {GROOVE_DEPTH_MM:g} mm, for a rail of "
             f"{RAIL_MM[0]:g} x {RAIL_MM[1]:g} mm"),
        ),
    )  # fmt: skip
    used: list[Used] = [(LETTERS_USE, LETTERS_SAFETY, letters)]
    left_out: list[Finding] = []
    if command.word:
        kind = kind_named("rail")
        spec = RailSpec(
            word=command.word, letter_height_mm=command.letter_height_mm, mirrored=command.mirrored,
            font=command.font, clearance_mm=PLAY_MM,
        )  # fmt: skip
        used.append((kind.use, kind.safety, build_rail(spec, bench)))
        left_out += _missing(command.word, counts)
    if command.storage is Storage.PRINTED:
        used.append((USE, SAFETY, build_letter_tray(counts, rule, bench)))
    return used, left_out


def _missing(word: str, counts: Mapping[str, int]) -> list[Finding]:
    """Return a caution if the set cannot write the word."""
    asked = normalize("NFC", word).replace(" ", BLANK)
    short = {c: asked.count(c) - counts.get(c, 0) for c in dict.fromkeys(asked)}
    lacking = {letter: lack for letter, lack in short.items() if lack > 0}
    if not lacking:
        return []
    needs = ", ".join(f"{one}={counts.get(one, 0) + lack}" for one, lack in lacking.items())
    return [
        Finding(
            code="letters-short",
            severity=Severity.CAUTION,
            says=f"the set has too few letters for {word!r}",
            measured=float(sum(lacking.values())),
            subject=TITLE,
            basis="count of the letters",
            advice=f'Make more: --counts "{needs}".',
        )
    ]


def _grouped(findings: Mapping[str, list[Finding]]) -> list[Finding]:
    """Return findings that several letters share once, at the gravest, with their letters."""
    grouped = []
    for same in findings.values():
        worst = ranked(sorted(same, key=_beyond, reverse=True))[0]
        letters = "".join(dict.fromkeys(finding.subject for finding in same))
        subject = f"letter {letters}" if len(letters) == 1 else f"letters {letters}"
        grouped.append(replace(worst, subject=subject, where_mm=None))
    return grouped


def _beyond(finding: Finding) -> float:
    """Return how far a measure is beyond its limit; the number of pieces, or mm, without one."""
    if finding.measured is None:
        return 0.0
    return abs(finding.measured - (finding.limit or 0.0))


def _summary(
    counts: Mapping[str, int],
    rule: FootRule,
    used: list[Used],
    bench: Bench,
    command: LettersCommand,
) -> tuple[tuple[str, str], ...]:
    pieces = sum(counts.values())
    shown = " ".join(f"{c}×{n}" if n > 1 else c for c, n in counts.items())
    return (
        ("Letters", f"{pieces} pieces of {len(counts)} kinds: {shown}"),
        ("Height", f"{command.letter_height_mm:g} mm, standing out {rule.relief_mm:g} mm"),
        ("Read", "from the other side of the part" if command.mirrored else "as they stand"),
        *used[0][2].facts,
        ("Print plates", ", ".join(f"{one.title.lower()} {len(one.plates)}" for _, _, one in used)),
        ("To print", print_text([one for _, _, one in used], bench, command)),
    )


def _table(counts: Mapping[str, int], rule: FootRule) -> Table:
    rows = tuple(
        (letter, str(count), f"{rule.width_mm(letter):.1f} mm") for letter, count in counts.items()
    )
    return Table(
        title="Letters",
        header=("Letter", "Pieces", "Width of the foot"),
        rows=rows,
        note=f"{BLANK} is a foot without a letter. The length of a word is the sum of its widths.",
    )


def _vents_text(vented: Mapping[str, Mold]) -> str:
    """Return how the vents of all kinds of letters are opened."""
    drilled = sum(len(drill_list(mold)) for mold in vented.values())
    every = sum(len(mold.vents.vents) for mold in vented.values())
    kinds = counted(len(vented), "kind")
    return f"{every - drilled} printed, {drilled or 'none'} to drill, in {kinds} of letter"


def _vent_table(vented: Mapping[str, Mold]) -> Table:
    """Return the vents of every kind of letter, from the middle of its foot."""
    rows = []
    for letter, mold in vented.items():
        drills = {line.vent.name: line for line in drill_list(mold)}
        rows += [
            (letter, vent.name, f"{vent.x_mm:.1f} mm", f"{vent.y_mm:.1f} mm",
             opening_text(vent, drills.get(vent.name)))
            for vent in mold.vents.vents
        ]  # fmt: skip
    return Table(
        title="Vents",
        header=("Letter", "Vent", "x", "y", "How"),
        rows=tuple(rows) or (("-", "-", "-", "-", "-"),),
        note="x and y count from the middle of the letter's foot. Where a vent is drilled, drill "
        "from below: a cone guides the drill.",
    )


def _steps(command: LettersCommand) -> tuple[tuple[str, str], ...]:
    way = "from right to left, " if command.mirrored else ""
    steps = (
        ("Print", "Print feet down, as they lie on the plates; no supports."),
        ("Set", f"Set the word {way}foot to foot over the rail; the groove is nearer to the lower "
         "edge of the letters, so none goes on upside down."),
    )  # fmt: skip
    return (*steps, ("Form the trays", FORMED_STEP)) if command.storage is Storage.FORMED else steps
