"""A mold as a program holds it: solids, formed sheet, day at the table, plan, files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldgen.api.run_result import RunResult
from moldgen.errors import SpecError
from moldgen.job.spec import MoldRequest
from moldgen.mold.choices import FormingLook
from moldgen.pipeline.mold.make import MoldWork
from moldgen.pipeline.stage import Progress, quiet
from moldgen.wording import one_of, shown

if TYPE_CHECKING:
    from shapely import MultiPolygon

    from moldgen.export.plan.axes import Axes
    from moldgen.mold.sheet.formed import FormedSheet
    from moldgen.pipeline.mold.day import TableDay
    from moldgen.pipeline.mold.design import MoldDesign
    from moldgen.pipeline.mold.mold import Mold

FormAgain = Callable[[FormingLook, Progress], MoldWork]
"""Designs the same mold with the sheet followed as closely as that."""


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class MoldResult(RunResult):
    """A mold whose air gets out in time, checked, with its day at the table.

    Attributes
    ----------
    work : MoldWork
        The design, the mold and its day, as the pipeline hands them over.
    form_again : callable
        Designs the same mold with a forming run.
    """

    work: MoldWork
    form_again: FormAgain

    @property
    def design(self) -> MoldDesign:
        """What the mold was made from: request, setting, rules, air."""
        return self.work.design

    @property
    def request(self) -> MoldRequest:
        """What was asked for: a `Job`, or for an adapted shape all of one but its features."""
        return self.design.request

    @property
    def mold(self) -> Mold:
        """The mold with everything that was decided and measured: vents, underside, checks."""
        return self.work.mold

    @property
    def day(self) -> TableDay:
        """Heating, cooling, evacuation and release at the table."""
        return self.work.day

    @property
    def foot(self) -> MultiPolygon:
        """Where the mold stands on the table. [mm]."""
        return self.mold.foot

    @property
    def formed(self) -> FormedSheet | None:
        """The sheet formed over it; None unless the job or `form` asked for a run."""
        return self.mold.formed

    def form(self, quality: str = "preview", *, progress: Progress = quiet) -> MoldResult:
        """Form the sheet over the mold, and return the mold designed with what the sheet does.

        Vents then stand where the run shows that the sheet arrives last.

        Parameters
        ----------
        quality : {"preview", "fine"}
            How closely the sheet is followed.
        progress : callable, optional
            Told of each stage as it begins.

        Returns
        -------
        MoldResult
            Whose ``formed`` is there.

        Raises
        ------
        SpecError
            If the quality is unknown, or the mold does not fit into the clamp's opening.
        """
        work = self.form_again(_quality(quality), progress)
        return MoldResult(output=work.output, work=work, form_again=self.form_again)

    def plot(self, axes: Axes) -> None:
        """Draw the mold seen from above onto somebody's axes: walls, vents, channels, trim line.

        Parameters
        ----------
        axes : matplotlib.axes.Axes
            In millimeters, to scale.
        """
        from moldgen.export.plan.axes import draw_plan
        from moldgen.pipeline.mold.pictures import without_sheet
        from moldgen.pipeline.mold.plan import drill_list, plan_of

        plan = plan_of(self.request, self.mold, self.design.setting, drill_list(self.mold))
        draw_plan(axes, without_sheet(plan))


def _quality(word: str) -> FormingLook:
    for look in _QUALITIES:
        if word == look:
            return look
    raise SpecError("quality", one_of(_QUALITIES), shown(word))


_QUALITIES = (FormingLook.PREVIEW, FormingLook.FINE)
