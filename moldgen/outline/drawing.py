"""A drawing that was read: its outlines, their names, and what was not taken from it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from moldgen.errors import FileError, OutlineError
from moldgen.execution import limits_now
from moldgen.finding import Finding, Severity
from moldgen.limits import spoken_size
from moldgen.named_file import bounded_bytes, told, visible
from moldgen.outline.region import LARGEST_MM, SMALLEST_MM, as_region, size_mm
from moldgen.wording import nearest, one_of

SIZE_GUESSED = "drawing-size-in-pixels"
"""Code of the finding that the size of a drawing is a guess."""
SIZE_ODD = "drawing-size-odd"
"""Code of the finding that the size of a drawing is none that is formed."""
WIDE_MM = 1000.0
"""Wider than the clear opening of common forming tables (common practice, no source)."""
NARROW_MM = 5.0
"""Narrower than any mold worth forming (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingPart:
    """One outline of a drawing, under the names that the drawing gives it.

    Attributes
    ----------
    id, label, group : str
        Identifier, readable name and the group or layer it stands in; empty if it has none.
    region : MultiPolygon
        Its area, in the place it has in the drawing. [mm]
    """

    id: str
    label: str
    group: str
    region: MultiPolygon


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How long one unit of a drawing is, how that is known, and whether its size was asked for."""

    unit_mm: float
    note: str
    asked: bool = False

    def at_size(self, growth: float) -> Scale:
        """Return the scale of the drawing brought to a size that was asked for."""
        note = f"it was scaled by {growth:.4g} to the size asked for"
        return Scale(unit_mm=self.unit_mm * growth, note=note, asked=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """What was read from a file.

    Attributes
    ----------
    region : MultiPolygon
        Everything that was chosen, united, y up, in the place it has in the drawing. [mm]
    parts : tuple of DrawingPart
        The outlines one by one, in the order of the file.
    findings : tuple of Finding
        What was ignored, hidden, mended or looks like a mistake.
    unit_note : str
        How lengths in the file became millimeters, as one clause.
    """

    region: MultiPolygon
    parts: tuple[DrawingPart, ...]
    findings: tuple[Finding, ...]
    unit_note: str


class Remarks:
    """Findings gathered while a drawing is read; the same remark is told once, counted."""

    def __init__(self) -> None:
        self._counts: Counter[tuple[str, str]] = Counter()
        self._findings: dict[tuple[str, str], Finding] = {}
        self._is_silent = False

    def add(
        self,
        code: str,
        says: str,
        *,
        advice: str = "",
        severity: Severity = Severity.NOTE,
        subject: str = "",
    ) -> None:
        """Note something once more.

        Parameters
        ----------
        code : str
            Code of the finding.
        says : str
            Its sentence.
        advice : str
            What to do about it.
        severity : Severity
            How grave it is.
        subject : str
            What it is about.
        """
        if self._is_silent:
            return
        key = code, subject
        self._counts[key] += 1
        if key not in self._findings:
            self._findings[key] = Finding(
                code=code, severity=severity, says=says, subject=subject, advice=advice
            )

    @contextmanager
    def silent(self) -> Iterator[None]:
        """Note nothing, as where a shape is only measured."""
        before, self._is_silent = self._is_silent, True
        try:
            yield
        finally:
            self._is_silent = before

    def drop(self, code: str, subject: str) -> None:
        """Take back what was noted, if it was."""
        self._findings.pop((code, subject), None)

    def findings(self) -> tuple[Finding, ...]:
        """Return what was noted, in the order it first came up, with counts."""
        return tuple(
            Finding(
                code=finding.code,
                severity=finding.severity,
                says=f"{finding.says} ({self._counts[key]} of them)"
                if self._counts[key] > 1
                else finding.says,
                subject=finding.subject,
                advice=finding.advice,
            )
            for key, finding in self._findings.items()
        )


def load_drawing_bytes(path: Path, *, kind: str, suffix: str) -> bytes:
    """Return the content of a drawing file after the checks that need no parser.

    Raises
    ------
    FileError
        If it is missing, a folder, of another suffix, empty, unreadable or too big.
    """
    name = told(path)
    try:
        size = path.stat().st_size
        if path.suffix.lower() != suffix and not path.is_dir():
            raise FileError(f"{name} does not end in {suffix}; give a {kind} file here.")
        data = bounded_bytes(path, limits_now().drawing_bytes)
    except FileError:
        raise
    except FileNotFoundError as error:
        raise FileError(f"{name} does not exist; check the name of the {kind} file.") from error
    except IsADirectoryError as error:
        raise FileError(f"{name} is a folder; name one {kind} file in it.") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", "") or "not a usable file name"
        raise FileError(f"{name} cannot be read ({reason}).") from error
    check_drawing_size(path, max(size, len(data)))
    return data


def check_drawing_size(path: Path, n_bytes: int) -> None:
    """Raise `FileError` if a drawing is larger than it may be."""
    most_bytes = limits_now().drawing_bytes
    if n_bytes > most_bytes:
        raise FileError(
            f"{told(path)} is {spoken_size(n_bytes)}, more than {spoken_size(most_bytes)}; "
            "export only the outlines."
        )


def checked_bytes(path: Path, drawing: bytes | str) -> bytes:
    """Return the content of a drawing, text as UTF-8, after the checks that need no parser.

    Raises
    ------
    FileError
        If it is empty or too big.
    """
    data = drawing.encode() if isinstance(drawing, str) else drawing
    check_drawing_size(path, len(data))
    if not data.strip():
        raise FileError(f"{told(path)} is empty; save the drawing again.")
    return data


def check_points(region: BaseGeometry, what: str) -> None:
    """Raise `OutlineError` if outlines have more corners than they may."""
    count = int(shapely.get_num_coordinates(region))
    if count > limits_now().points:
        raise OutlineError(
            f"{what} has {count:,} corners, more than {limits_now().points:,.0f}; "
            "simplify its outlines."
        )


def finished_drawing(
    path: Path,
    parts: Sequence[DrawingPart],
    *,
    region: BaseGeometry,
    findings: Iterable[Finding],
    scale: Scale,
) -> Drawing:
    """Return the drawing made of its parts, checked for size and told apart from mistakes.

    Parameters
    ----------
    path : Path
        The file it was read from.
    parts : Sequence[DrawingPart]
        What encloses an area, one by one.
    region : BaseGeometry
        All of it together. [mm]
    findings : Iterable[Finding]
        What was noted on the way.
    scale : Scale
        Unit of the file, and how it is known.

    Raises
    ------
    OutlineError
        If nothing encloses an area, or the size can only be a mistake of unit.
    """
    what = f"The drawing {visible(path.name)}"
    if not parts:
        raise OutlineError(f"{what} encloses no area; draw a closed shape.")
    check_points(region, what)
    across, up = size_mm(region)
    check_extent(what, max(across, up), scale=scale)
    return Drawing(
        region=as_region(region, what=what),
        parts=tuple(parts),
        findings=(*findings, *_size_findings(max(across, up), scale)),
        unit_note=scale.note,
    )


def check_extent(what: str, longest_mm: float, *, scale: Scale) -> None:
    """Raise `OutlineError`, with the likely mistake of unit, if a size makes no sense."""
    if SMALLEST_MM <= longest_mm <= LARGEST_MM:
        return
    amiss = "big" if longest_mm > LARGEST_MM else "small"
    raise OutlineError(
        f"{what} is {written_length(longest_mm)} on its longer side, too {amiss} for a mold; "
        f"{scale.note}. {_likely_mistake(longest_mm, scale)}"
    )


def _size_findings(longest_mm: float, scale: Scale) -> tuple[Finding, ...]:
    if scale.asked or NARROW_MM <= longest_mm <= WIDE_MM:
        return ()
    return (
        Finding(
            code=SIZE_ODD,
            severity=Severity.CAUTION,
            says=f"the drawing is {written_length(longest_mm)} on its longer side; {scale.note}",
            measured=longest_mm,
            limit=WIDE_MM if longest_mm > WIDE_MM else NARROW_MM,
            unit="mm",
            basis="common practice, no source",
            advice=_likely_mistake(longest_mm, scale),
        ),
    )


# In the order in which people mix them up.
_OTHER_UNITS = (
    ("millimeter", 1.0),
    ("inch", 25.4),
    ("centimeter", 10.0),
    ("pixel of 1/96 inch", 25.4 / 96),
    ("meter", 1000.0),
)


def _likely_mistake(longest_mm: float, scale: Scale) -> str:
    """Name the unit that would bring the size to between 30 and 600 mm."""
    if scale.asked:
        return "Ask for another size."
    for name, unit_mm in _OTHER_UNITS:
        meant_mm = longest_mm * unit_mm / scale.unit_mm
        if 30 <= meant_mm <= 600:
            return f"If its unit is meant to be the {name}, it is {written_length(meant_mm)}."
    return "Check its unit, or scale the drawing."


def written_length(length_mm: float) -> str:
    """Return a length in the unit a person would say it in."""
    if length_mm >= 1e6:
        return f"{length_mm / 1e6:.3g} km"
    if length_mm >= 1000:
        return f"{length_mm / 1000:.3g} m"
    return f"{length_mm:.3g} mm"


def specks_left_out(n_specks: int) -> list[Finding]:
    """Return the finding about outlines too small to be drawn on purpose, if there are any."""
    if n_specks == 0:
        return []
    return [
        Finding(
            code="drawing-specks",
            severity=Severity.NOTE,
            says=f"outlines narrower than {SMALLEST_MM:g} mm are left out",
            measured=float(n_specks),
        )
    ]


def name_hint(word: str, names: Iterable[str]) -> str:
    """Return an advice with the names of a drawing most like a word, or the first if none is."""
    known = list(dict.fromkeys(name for name in names if name))
    if not known:
        return "The drawing names nothing; leave the choice out."
    few = [name if len(name) <= 40 else f"{name[:37]}..." for name in known[:8]]
    return nearest(word, known) or f"The drawing has {one_of(few)}."
