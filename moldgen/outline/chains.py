"""From open lines to closed curves: joining of ends that nearly meet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike

from moldgen.errors import OutlineError
from moldgen.finding import Finding, Severity
from moldgen.outline.branches import areas_parted
from moldgen.outline.region import Ring


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chains:
    """Lines joined end to end.

    Attributes
    ----------
    rings : tuple of ndarray, shape (n, 2)
        Closed curves, without the closing repeat. [mm]
    open : tuple of ndarray, shape (n, 2)
        What has free ends. [mm]
    findings : tuple of Finding
        Gaps closed, and lines left out.
    tolerance_mm : float
        Widest gap that was closed. [mm]
    """

    rings: tuple[Ring, ...]
    open: tuple[Ring, ...]
    findings: tuple[Finding, ...]
    tolerance_mm: float

    def why_open(self, what: str, *, or_else: str = "") -> str:
        """Return where a line is open, and what to do."""
        ends_mm = np.array([point for line in self.open for point in (line[0], line[-1])])
        x, y = ends_mm[0].round(3) + 0.0
        gap_mm = float(np.hypot(*(ends_mm[1:] - ends_mm[0]).T).min())
        where = (
            f"{what} has an open end at x {x:g}, y {y:g} mm: the nearest other open end is "
            f"{gap_mm:.3g} mm away, and gaps up to {self.tolerance_mm:g} mm are closed"
        )
        if or_else:
            return f"{where}; close the line, or {or_else}."
        return f"{where}; close the line."


def joined_lines(polylines: Sequence[ArrayLike], tolerance_mm: float, *, what: str) -> Chains:
    """Join open lines end to end into closed curves, and keep what stays open apart.

    Nearest ends are joined first, and two ends that do not quite meet move to the middle
    between them. Lines of which three or more meet in a point part areas; the borders of these
    are the closed curves then.

    Parameters
    ----------
    polylines : sequence of array_like, shape (n, 2)
        Lines, open or closed, in any order and direction. [mm]
    tolerance_mm : float
        Widest gap to close. [mm]
    what : str
        What the error sentence calls it.

    Raises
    ------
    OutlineError
        If a line has no points, or one that is not finite.
    """
    lines = [_line(points, what) for points in polylines]
    closed = [line[:-1] for line in lines if len(line) > 3 and np.array_equal(line[0], line[-1])]
    free = [line for line in lines if not np.array_equal(line[0], line[-1])]
    dots = [line for line in lines if len(line) <= 3 and np.array_equal(line[0], line[-1])]
    single, doubled = _without_doubles(free)
    parted, chains, branches = areas_parted(single)
    partner = _matched_ends(chains, tolerance_mm)
    gaps = _meet(chains, partner)
    loose, done = _loose(chains, partner)
    notes = [note("line-without-length", "a line has no length and is left out", line[0])
             for line in dots] + doubled  # fmt: skip
    return Chains(
        rings=(*closed, *parted, *_walked(chains, partner, done)),
        open=tuple(loose),
        findings=(*notes, *branches, *gaps),
        tolerance_mm=tolerance_mm,
    )


def note(
    code: str,
    says: str,
    where: ArrayLike,
    *,
    measured: float | None = None,
    limit: float | None = None,
    unit: str = "mm",
    severity: Severity = Severity.NOTE,
) -> Finding:
    """Return a finding about a drawing at a place given by its x and y.

    Parameters
    ----------
    code : str
        Code of the finding.
    says : str
        Its sentence.
    where : ArrayLike
        x and y of the place. [mm]
    measured : float, optional
        What was measured, in `unit`.
    limit : float, optional
        What it was compared with, in `unit`.
    unit : str
        Unit of both.
    severity : Severity
        How grave it is.
    """
    x, y = (float(value) for value in np.asarray(where)[:2])
    return Finding(
        code=code,
        severity=severity,
        says=says,
        measured=measured,
        limit=limit,
        unit=unit if measured is not None else "",
        where_mm=(x, y, 0.0),
        basis="common practice, no source" if limit is not None else "",
    )


def _line(points: ArrayLike, what: str) -> Ring:
    line = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if not len(line) or not np.isfinite(line).all():
        raise OutlineError(
            f"{what} has a line without points or with a point that is not a finite number; "
            "draw or export it again."
        )
    fresh = np.ones(len(line), dtype=bool)
    fresh[1:] = (line[1:] != line[:-1]).any(axis=1)
    return line[fresh]


def _without_doubles(lines: Sequence[Ring]) -> tuple[list[Ring], list[Finding]]:
    """Leave out lines that are drawn a second time, in either direction."""
    seen: dict[bytes, Ring] = {}
    findings: list[Finding] = []
    for line in lines:
        key = min((line + 0.0).tobytes(), (line[::-1] + 0.0).tobytes())
        if key in seen:
            says = "a line is drawn twice and is left out once"
            findings.append(note("line-doubled", says, line[0]))
        seen.setdefault(key, line)
    return list(seen.values()), findings


def _matched_ends(chains: Sequence[Ring], tolerance_mm: float) -> dict[int, int]:
    """Pair chain ends, nearest first; end ``2 i`` starts chain i, ``2 i + 1`` finishes it."""
    if not chains:
        return {}
    ends_mm = np.array([point for line in chains for point in (line[0], line[-1])])
    spots = shapely.points(ends_mm)
    a, b = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=tolerance_mm)
    a, b = a[a < b], b[a < b]
    gaps_mm = np.hypot(*(ends_mm[a] - ends_mm[b]).T)
    partner: dict[int, int] = {}
    for index in np.lexsort((b, a, gaps_mm)):
        one, other = int(a[index]), int(b[index])
        own = one // 2 == other // 2
        if own and _too_short_to_close(chains[one // 2], tolerance_mm):
            continue
        if one not in partner and other not in partner:
            partner[one], partner[other] = other, one
    return partner


def _too_short_to_close(line: Ring, tolerance_mm: float) -> bool:
    length_mm = np.hypot(*np.diff(line, axis=0).T).sum()
    return len(line) < 3 or bool(length_mm < 4 * tolerance_mm)


def _meet(chains: list[Ring], partner: dict[int, int]) -> list[Finding]:
    """Move paired ends to the middle between them, and tell each gap."""
    findings = []
    for one, other in sorted(partner.items()):
        if one > other:
            continue
        a, b = chains[one // 2][-(one % 2)], chains[other // 2][-(other % 2)]
        gap_mm, middle = float(np.hypot(*(a - b))), (a + b) / 2
        for end in (one, other):
            line = chains[end // 2].copy()
            line[-(end % 2)] = middle
            chains[end // 2] = line
        if gap_mm > 1e-6:
            says = "a gap between open ends is closed"
            findings.append(note("gap-closed", says, middle, measured=gap_mm))
    return findings


def _loose(chains: Sequence[Ring], partner: dict[int, int]) -> tuple[list[Ring], set[int]]:
    """Follow paired ends from each free end to the other; return lines, and the chains in them."""
    lines, done = [], set[int]()
    for first in range(2 * len(chains)):
        if first in partner or first // 2 in done:
            continue
        pieces, end = [], first
        while True:
            done.add(end // 2)
            line = chains[end // 2]
            pieces.append(line if end % 2 == 0 else line[::-1])
            if end ^ 1 not in partner:
                break
            end = partner[end ^ 1]
        lines.append(np.concatenate([piece[:-1] for piece in pieces] + [pieces[-1][-1:]]))
    return lines, done


def _walked(chains: Sequence[Ring], partner: dict[int, int], done: set[int]) -> list[Ring]:
    """Follow paired ends round each closed curve, but the chains that are done."""
    rings = []
    for first in range(len(chains)):
        if first in done:
            continue
        pieces, end = [], 2 * first
        while end // 2 not in done:
            done.add(end // 2)
            line = chains[end // 2]
            pieces.append((line if end % 2 == 0 else line[::-1])[:-1])
            end = partner[end ^ 1]
        rings.append(np.concatenate(pieces))
    return rings
