"""The recipe for an arrangement: from jobs to shots, plates and cut sheets."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from moldgen.errors import SpecError
from moldgen.job import Job
from moldgen.job.command.arrange import ArrangeCommand
from moldgen.lesson.arrange.earlier import EarlierArrangement
from moldgen.lesson.arrange.molds import ArrangedMold, by_sheet, design_jobs, job_paths, read_jobs
from moldgen.lesson.arrange.plates import Plates, arrange_plates
from moldgen.lesson.arrange.shots import ShotLayout, ShotRules, arrange_shots
from moldgen.lesson.arrange.webs import FormsShots
from moldgen.lesson.layout.guillotine import Blank, CutSheet, CutTask, cut_blanks
from moldgen.lesson.layout.verify import faults_of
from moldgen.memo import Memo
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.stock import FormingMachine, Printer, Shop
from moldgen.wording import fold


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutList:
    """How the blanks of one sheet are cut from stock.

    Attributes
    ----------
    sheet_words : str
        Plastic, gauge and color.
    task : CutTask
        Stock, kerf and grain.
    blanks : tuple of Blank
        One for each shot.
    sheets : tuple of CutSheet
        Stock sheets, cut up.
    """

    sheet_words: str
    task: CutTask
    blanks: tuple[Blank, ...]
    sheets: tuple[CutSheet, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arrangement:
    """Molds arranged for a forming table, a printer and stock.

    Attributes
    ----------
    command : ArrangeCommand
        What was asked for.
    molds : tuple of ArrangedMold
        All of them, in the order named, a copy for each time it is wanted.
    machine : FormingMachine
        Where they are formed.
    shots : tuple of ShotLayout
        One for each plastic, gauge and color.
    plates : tuple of Plates
        Their bodies on the beds, one for each printer and filament; a mold is printed as often as
        it stands on one sheet at a time.
    cut_lists : tuple of CutList
        One for each plastic, gauge and color; none if no stock sheet was named.
    """

    command: ArrangeCommand
    molds: tuple[ArrangedMold, ...]
    machine: FormingMachine
    shots: tuple[ShotLayout, ...]
    plates: tuple[Plates, ...]
    cut_lists: tuple[CutList, ...] = ()

    @property
    def printed(self) -> tuple[ArrangedMold, ...]:
        """The molds that are printed: each once on the most crowded shot that it is on."""
        return printed_molds(self.molds, self.shots)


def arrange_files(
    command: ArrangeCommand,
    *,
    shop: Shop,
    folder: Path = Path(),
    memo: Memo | None = None,
    progress: Progress = quiet,
) -> Arrangement:
    """Arrange the molds of job files.

    Raises
    ------
    MoldgenError
        If a file cannot be read or made, or a word is wrong.
    """
    jobs = read_jobs(job_paths(command.files, folder))
    return arrange_jobs(jobs, command, shop=shop, memo=memo, progress=progress)


def arrange_jobs(
    jobs: Sequence[tuple[Job, Path]],
    command: ArrangeCommand,
    *,
    shop: Shop,
    folder: Path | None = None,
    memo: Memo | None = None,
    progress: Progress = quiet,
) -> Arrangement:
    """Arrange the molds of jobs.

    Parameters
    ----------
    jobs : sequence of (Job, Path)
        Each as often as it is to be formed, with the file it comes from.
    command : ArrangeCommand
        How; its files are not looked at.
    shop : Shop
        What there is.
    folder : Path, optional
        Where paths in the jobs start; the folder of each file if left out.
    memo : Memo, optional
        Keeps what is computed for other designs too.
    progress : callable
        Told of each stage as it begins.

    Raises
    ------
    SpecError
        If the jobs name several tables and the command none.
    MoldgenError
        If a mold cannot be made.
    """
    molds = design_jobs(
        jobs, shop=shop, folder=folder, machine=command.machine, printer=command.printer,
        memo=memo, progress=progress,
    )  # fmt: skip
    return arrange_molds(molds, command, progress=progress)


def arrange_molds(
    molds: Sequence[ArrangedMold],
    command: ArrangeCommand,
    *,
    printers: Sequence[Printer] = (),
    before: EarlierArrangement | None = None,
    remember: Callable[[FormsShots], FormsShots] = lambda forms: forms,
    progress: Progress = quiet,
) -> Arrangement:
    """Arrange molds of which the shapes are known.

    Parameters
    ----------
    molds : sequence of ArrangedMold
        Each as often as it is to be formed.
    command : ArrangeCommand
        How; its files are not looked at.
    printers : sequence of Printer
        Those that there are as well, for molds that their own one has no room for.
    before : EarlierArrangement, optional
        Where they lay then; whatever still fits stays there.
    remember : callable
        Given what forms the sheet over a shot, returns what may know the answer already.
    progress : callable
        Told of each stage as it begins.

    Raises
    ------
    SpecError
        If the molds are made for several tables and the command names none.
    """
    machine = _only_table([mold.setting.machine for mold in molds])
    rules, earlier = _rules(command), before or EarlierArrangement()

    def tell(words: str, share: float) -> None:
        progress(Stage(2, 4, words, share))

    def laid(group: Sequence[int]) -> ShotLayout:
        alike = [molds[k] for k in group]
        return arrange_shots(
            alike, machine, rules, before=earlier.shots_of(alike[0].sheet_mark),
            added_mm=earlier.added_mm, remember=remember, tell=tell,
        )  # fmt: skip

    shots = tuple(map(laid, by_sheet(molds)))
    progress(Stage(3, 4, "plates and blanks"))
    plates = arrange_plates(
        printed_molds(molds, shots), others=printers, tighter=command.tighter, seed=command.seed,
        before=earlier.plates,
    )  # fmt: skip
    for layout in (*(one.layout for one in shots), *(one.layout for one in plates)):
        assert not faults_of(layout), faults_of(layout)
    return Arrangement(
        command=command, molds=tuple(molds), machine=machine, shots=shots, plates=plates,
        cut_lists=tuple(_cut_lists(command, machine, shots)),
    )  # fmt: skip


def printed_molds(
    molds: Sequence[ArrangedMold], shots: Sequence[ShotLayout]
) -> tuple[ArrangedMold, ...]:
    """Return the molds to print: as many of each as stand on one sheet at a time."""
    most: dict[str, int] = {}
    for one in shots:
        for shot in one.layout.shots:
            names = [one.molds[k].file for k in shot.pieces]
            for name in names:
                most[name] = max(most.get(name, 1), names.count(name))
    printed, left = [], dict(most)
    for mold in molds:
        if left.setdefault(mold.file, 1) > 0:
            left[mold.file] -= 1
            printed.append(mold)
    return tuple(printed)


def _rules(command: ArrangeCommand) -> ShotRules:
    return ShotRules(
        turns_deg=command.turns.degrees,
        share_flange=command.share_flange,
        gap_mm=command.gap_mm or 0.0,
        keep_outs_mm=command.keep_outs_mm,
        tighter=command.tighter,
        seed=command.seed,
        look=command.forming,
    )


def _only_table(machines: Sequence[FormingMachine]) -> FormingMachine:
    names = list(dict.fromkeys(machine.name for machine in machines))
    if len(names) > 1:
        raise SpecError(
            "machine", "the same for all molds", " and ".join(names), "Name one with machine."
        )
    return machines[0]


def _cut_lists(
    command: ArrangeCommand, machine: FormingMachine, shots: Sequence[ShotLayout]
) -> list[CutList]:
    if not command.stock_sheet:
        return []
    width, depth = command.stock_sheet_mm
    task = CutTask(
        width_mm=width, depth_mm=depth, kerf_mm=command.kerf_mm, may_turn=not command.keep_grain
    )
    wanted: dict[str, tuple[str, list[Blank]]] = {}
    sheets = [one.sheet_words for one in shots for _ in one.layout.shots]
    for number, sheet in enumerate(sheets, start=1):
        _, blanks = wanted.setdefault(fold(sheet), (sheet, []))
        blanks.append(
            Blank(
                name=f"shot {number}",
                width_mm=machine.sheet_width_mm, depth_mm=machine.sheet_depth_mm,
            )
        )  # fmt: skip
    return [
        CutList(sheet_words=sheet, task=task, blanks=tuple(blanks), sheets=cut_blanks(blanks, task))
        for sheet, blanks in wanted.values()
    ]
