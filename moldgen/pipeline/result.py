"""What a run hands over."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from moldgen.finding import Finding, Making
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.units_text import Units


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What was made, or checked, and everything there is to say about it.

    Attributes
    ----------
    title : str
        What the job is called.
    summary : tuple of (str, str)
        Rows a person reads at a glance.
    findings : tuple of Finding
        Gravest first.
    files : dict of str to bytes
        Name and content of every file.
    numbers : dict
        The same measures for programs.
    choices : tuple of ChosenValue
        What was chosen where nobody asked for a value.
    units : Units
        What people read it in; all of it is composed in millimeters.
    making : Making
        Whether it is printed next, or built.
    """

    title: str
    summary: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...]
    files: dict[str, bytes] = field(default_factory=dict)
    numbers: dict[str, Any] = field(default_factory=dict)
    choices: tuple[ChosenValue, ...] = ()
    units: Units = Units.MM
    making: Making = Making.PRINT
