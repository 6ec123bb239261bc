"""A bent strip as a program holds it: shape, heating, order, jigs, files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldgen.api.run_result import RunResult
from moldgen.job.strip_spec import StripJob
from moldgen.pipeline.strip.work import BentStrip

if TYPE_CHECKING:
    from moldgen.export.plan.axes import Axes


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class StripResult(RunResult):
    """A bent strip with its jigs; its bodies are the bent strip, if it can be, and the jigs.

    Attributes
    ----------
    strip : BentStrip
        Layout, dwell times, order of bends, shape and balance.
    """

    strip: BentStrip

    @property
    def job(self) -> StripJob:
        """What was asked for."""
        return self.strip.job

    def plot(self, axes: Axes) -> None:
        """Draw the flat strip with its bend lines onto somebody's axes.

        Parameters
        ----------
        axes : matplotlib.axes.Axes
            In millimeters, to scale.
        """
        from moldgen.export.plan.axes import draw_plan
        from moldgen.pipeline.strip.plan import build_strip_plan

        draw_plan(axes, build_strip_plan(self.strip.layout))
