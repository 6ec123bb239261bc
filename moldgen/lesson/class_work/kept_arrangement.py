"""The arrangement of a class: written into its folder, and kept there so that it stays as it is."""

from __future__ import annotations

from pathlib import Path

from moldgen.export.run_folder import write_run
from moldgen.finding import Finding
from moldgen.job.command.school_class import ClassCommand
from moldgen.lesson.arrange.earlier import (
    earlier_from,
    earlier_of,
    earlier_words,
)
from moldgen.lesson.arrange.files import arrangement_output
from moldgen.lesson.arrange.make import Arrangement
from moldgen.lesson.class_work.kept_drawings import KeptDrawings
from moldgen.lesson.class_work.kept_webs import KeptWebs
from moldgen.lesson.class_work.kept_words import read_kept, write_kept
from moldgen.lesson.class_work.record import RECORDS

ARRANGEMENT = "arrangement"
"""Folder of the templates and plates, in the folder of the class."""
_FILE = "places.kept"


class KeptArrangement:
    """Where the molds of a class lie, from one run to the next.

    Parameters
    ----------
    out : Path
        Folder of the class.
    words : ClassCommand
        How the class is made.
    """

    def __init__(self, out: Path, words: ClassCommand) -> None:
        self._out = out
        self.command = words.arranging
        self.webs = KeptWebs(out / RECORDS, self.command.forming)
        self.earlier = None if words.rearrange else read_kept(out / RECORDS / _FILE, earlier_from)

    def write(self, work: Arrangement) -> tuple[Finding, ...]:
        """Write the files of an arrangement, and keep it; return what is said of it.

        Raises
        ------
        FileError
            If the folder cannot be written.
        """
        folder, records = self._out / ARRANGEMENT, self._out / RECORDS
        drawings = KeptDrawings(folder, records)
        made = arrangement_output(work, drawings.drawn).render()
        # Places first: what a run that is stopped here leaves is laid out there again.
        now = earlier_of(work.shots, work.plates, work.printed)
        write_kept(records / _FILE, earlier_words(now))
        self.webs.keep()
        write_run(folder, made.files)
        drawings.keep()
        return made.findings
