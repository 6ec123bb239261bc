"""What a run can write: worked out once, drawn and packed only when somebody asks for it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace

from moldgen.export.report.report import Picture, Report
from moldgen.job.formats import Format
from moldgen.job.spec import Paper
from moldgen.pipeline.file_set import OutputFile, file_set, with_documents
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.solid.mesh import Body
from moldgen.units_text import Units, read_in


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Output:
    """What was made, with everything that its files can be made of.

    Attributes
    ----------
    told : Result
        Title, summary, findings and numbers; no files.
    bodies : tuple of Body
        The solids, as they are printed. [mm]
    files : callable
        Offers every file that can be written, for plans on that paper.
    pictures : callable
        Draws the pictures.
    report : callable
        Makes the report, without what is in ``told`` already.
    formats : tuple of Format
        What is written if nobody says otherwise.
    usual : tuple of Format
        Formats of a run that names none: it gets those that there are.
    paper : Paper
        What plans are printed on if nobody says otherwise.
    units : Units
        What people read it in if nobody says otherwise.
    picture_stem : str
        What the names of pictures begin with.
    stages : tuple of Stage
        Writing; taking pictures, if that is told apart; reporting, if that is.
    """

    told: Result
    bodies: tuple[Body, ...]
    files: Callable[[Paper], Iterable[OutputFile]]
    pictures: Callable[[], Iterable[Picture]]
    report: Callable[[], Report]
    formats: tuple[Format, ...]
    usual: tuple[Format, ...] = tuple(Format)
    paper: Paper = Paper.A4
    units: Units = Units.MM
    picture_stem: str = ""
    stages: tuple[Stage, ...] = ()

    def render(
        self,
        formats: Collection[Format] | None = None,
        *,
        paper: Paper | None = None,
        units: Units | None = None,
        progress: Progress = quiet,
    ) -> Result:
        """Return what was made with the files of these formats.

        Parameters
        ----------
        formats : collection of Format, optional
            Those that the job asks for if left out.
        paper : Paper, optional
            What plans are printed on; as the job says if left out.
        units : Units, optional
            What people read the files in; as the job says if left out.
        progress : callable, optional
            Told of each stage as it begins.

        Raises
        ------
        SpecError
            If nothing can be written in a format that is asked for.
        """
        wanted = self.formats if formats is None else tuple(formats)
        told = replace(self.told, units=self.units if units is None else units)
        with read_in(told.units):
            return self._rendered(told, wanted, paper or self.paper, progress)

    def _rendered(
        self, told: Result, wanted: Collection[Format], paper: Paper, progress: Progress
    ) -> Result:
        for stage in self._before_report(wanted):
            progress(stage)
        written = file_set(
            self.files(paper),
            wanted,
            pictures=self.pictures,
            picture_stem=self.picture_stem,
            usual=self.usual,
        )
        for stage in self.stages[1:][-1:]:
            progress(stage)
        return with_documents(told, written, self.report)

    def _before_report(self, wanted: Collection[Format]) -> tuple[Stage, ...]:
        """Return the stages before the report; pictures are told of only if they are taken."""
        pictures = {Format.PNG, Format.HTML} & set(wanted)
        return self.stages[:1] + (self.stages[1:-1] if pictures else ())
