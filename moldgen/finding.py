"""What a check has to say: where, how much, against which limit, why, and what to do."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from typing import Any


class Making(StrEnum):
    """What a person does next with what is reported."""

    PRINT = "print"
    BUILD = "build"


class Severity(StrEnum):
    """How much a finding matters at the forming table."""

    NOTE = "note"
    """Worth knowing; nothing to do."""
    CAUTION = "caution"
    """The part will probably form, but less well; look before printing."""
    STOP = "stop"
    """The part will not form, release or print as it stands."""


_RANK = {Severity.STOP: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


class Remedy(StrEnum):
    """What of a job a cure changes."""

    HEIGHT = "height"
    """Height of a feature's wall, or its depth if sunk. [mm]."""
    SIZE = "size"
    """Size of a feature's outline, as a factor. [-]."""
    TOP_RADIUS = "top_radius"
    BASE_RADIUS = "base_radius"
    PLAN_RADIUS = "plan_radius"
    DRAFT = "draft"
    """Lean of a feature's wall. [°]."""
    GAUGE = "gauge"
    """Thickness of the sheet. [mm]."""
    MACHINE = "machine"
    PRINTER = "printer"
    FILAMENT = "filament"


class Way(StrEnum):
    """Which way a cure goes."""

    LOWER = "lower"
    HIGHER = "higher"
    OTHER = "other"
    """Another entry of the stock."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """A change of the job that removes a finding, or lessens it.

    Attributes
    ----------
    field : Remedy
        What to change, of the feature that the finding is about or of the whole job.
    way : Way
        Which way.
    least : float or None
        The value from which on it helps: the greatest for a way down, the least for a way up; a
        factor for a size; none for another entry of the stock.
    """

    field: Remedy
    way: Way
    least: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a person should know about a mold.

    Attributes
    ----------
    code : str
        Stable kebab-case name of the rule, such as ``draft-low``.
    severity : Severity
        What it means for the forming run.
    says : str
        The plain fact, a clause without its numbers: ``the wall leans too little to release``.
    measured, limit : float or None
        The value found and the value asked for, both in ``unit``.
    unit : str
        Unit of both; empty for a ratio or a count.
    where_mm : tuple of three floats, or None
        A place on the mold. [mm]
    place : str
        The same in words, ``the counter of the A in HARBOR``; empty if it has no name.
    subject : str
        Name of the feature or body concerned; empty for the whole job.
    basis : str
        Where the limit comes from: a published source, or ``common practice, no source``.
    advice : str
        What to do about it, one sentence.
    cures : tuple of Cure
        The same as data: each by itself removes the finding or lessens it.
    """

    code: str
    severity: Severity
    says: str
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    where_mm: tuple[float, float, float] | None = None
    subject: str = ""
    basis: str = ""
    advice: str = ""
    cures: tuple[Cure, ...] = ()
    place: str = ""

    def __str__(self) -> str:
        return sentence(self)

    def as_dict(self) -> dict[str, Any]:
        """Return the finding as plain values, ready for JSON."""
        return asdict(self) | {"severity": self.severity.value, "sentence": sentence(self)}


_FIELDS = tuple(field.name for field in fields(Finding))


def finding_from(words: Mapping[str, Any]) -> Finding:
    """Return a finding out of what `Finding.as_dict` gives, also after it was JSON.

    Raises
    ------
    ValueError, KeyError, TypeError
        If it is none.
    """
    values = {name: words[name] for name in _FIELDS}
    where_mm = values["where_mm"]
    values["severity"] = Severity(values["severity"])
    values["where_mm"] = None if where_mm is None else tuple(where_mm)
    values["cures"] = tuple(
        Cure(field=Remedy(one["field"]), way=Way(one["way"]), least=one["least"])
        for one in values["cures"]
    )
    return Finding(**values)


def sentence(
    finding: Finding,
    *,
    ring: int | None = None,
    words: Callable[[str], str] = str,
    names: Callable[[str], str] = str,
) -> str:
    """Return the one sentence (and advice) that report, command line and page all show.

    Parameters
    ----------
    finding : Finding
        What is said.
    ring : int, optional
        Number of the ring round its place in pictures and plan; see `ring_numbers`.
    words : callable, optional
        Tells it in another language and in other units; it does not see names.
    names : callable, optional
        Tells what it is about, and its place, in another language: names that a person gave stay.
    """
    subject = f"{names(finding.subject)}{words(':')} " if finding.subject else ""
    where = _place(finding, words, names) + (
        f" ({words('ring')} {ring})" if ring is not None else ""
    )
    fact = words(f"{finding.says}{_numbers(finding)}")
    said = f"{subject}{fact}{where}"
    stop = "" if said.endswith("?") else "."
    return f"{said}{stop} {words(finding.advice)}".rstrip()


def ring_numbers(findings: Iterable[Finding]) -> tuple[int | None, ...]:
    """Return the number of the ring round each finding's place, None for those without one.

    A finding's number is its place in the list, the gravest first, from 1: in the report, on the
    screen, in pictures and on the plan alike. A ring goes round what is to be looked at, where it
    has a name: a note has none.

    Parameters
    ----------
    findings : iterable of Finding
        Ranked.
    """
    return tuple(
        number if finding.place and finding.severity is not Severity.NOTE else None
        for number, finding in enumerate(findings, start=1)
    )


def ranked(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings, gravest first, otherwise in the order given."""
    return tuple(sorted(findings, key=lambda finding: _RANK[finding.severity]))


def worst(findings: Iterable[Finding]) -> Severity | None:
    """Return the gravest severity among the findings, or None if there are none."""
    return min((finding.severity for finding in findings), key=_RANK.__getitem__, default=None)


def amount(value: float, unit: str) -> str:
    """Return a number as a person writes it: three significant digits and its unit."""
    digits = f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
    return f"{digits}{unit}" if unit in {"°", "%"} else f"{digits} {unit}".rstrip()


def counted(number: int, noun: str) -> str:
    """Return a count in words: ``1 stop``, ``2 cautions``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _numbers(finding: Finding) -> str:
    if finding.measured is None:
        return ""
    measured = amount(finding.measured, finding.unit)
    if finding.limit is None:
        return f" ({measured})"
    return f" ({measured}, limit {amount(finding.limit, finding.unit)})"


def coordinates(where_mm: tuple[float, float, float]) -> str:
    """Return a place by its coordinates: ``x 1.2, y 0, z 6 mm``."""
    x, y, z = (round(value, 1) + 0.0 for value in where_mm)
    return f"x {x:g}, y {y:g}, z {z:g} mm"


def _place(finding: Finding, words: Callable[[str], str], names: Callable[[str], str]) -> str:
    if finding.where_mm is None:
        return ""
    place = names(finding.place) if finding.place else words(coordinates(finding.where_mm))
    return f" {words('at')} {place}"
