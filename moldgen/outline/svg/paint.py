"""What is seen of shapes that are painted over each other: white covers, colors run together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import shapely

from moldgen.errors import OutlineError
from moldgen.execution import limits_now
from moldgen.finding import Finding, Severity
from moldgen.outline.region import place, size_mm
from moldgen.outline.svg.frame import Piece

_OVERLAP = 1.05
"""Areas one by one, as a multiple of what they cover together, from which on they overlap."""

_COLORS = 3
"""Colors from which on a drawing is a picture: two are a shape and its ground."""


def as_seen(pieces: Sequence[Piece]) -> tuple[list[Piece], list[Finding]]:
    """Return painted shapes without what white covers of them, and what to know about it.

    White is paper: beside other colors it is left out, and cut out of what it covers. Where all is
    white, it counts as solid.

    Parameters
    ----------
    pieces : sequence of Piece
        Shapes that paint an area, the lowest first; few enough crossings between them.

    Raises
    ------
    OutlineError
        If what is cut out leaves too many corners.
    """
    white = [at for at, piece in enumerate(pieces) if piece.is_paper]
    if not white:
        return list(pieces), _merged(pieces)
    if len(white) == len(pieces):
        return list(pieces), [_all_white(pieces[0])]
    areas = [pieces[at].area for at in white]
    under, over = shapely.STRtree(areas).query([p.area for p in pieces], predicate="intersects")
    covers: dict[int, list[int]] = {}
    for piece, cover in zip(under.tolist(), over.tolist(), strict=True):
        if white[cover] > piece and not pieces[piece].is_paper:
            covers.setdefault(piece, []).append(white[cover])
    _check_corners(pieces, covers)
    seen = [
        _without(piece, [pieces[cover].area for cover in covers.get(at, [])])
        for at, piece in enumerate(pieces)
        if not piece.is_paper
    ]
    shown = [piece for piece in seen if piece.area.area > 0]
    return shown, [_white_cut_out([pieces[at] for at in white]), *_merged(shown)]


def _check_corners(pieces: Sequence[Piece], covers: Mapping[int, Sequence[int]]) -> None:
    """Refuse white that is cut out of so much that too many corners come of it."""
    n_own = shapely.get_num_coordinates([piece.area for piece in pieces])
    n_corners = sum(int(n_own[over].sum()) for over in ([at, *c] for at, c in covers.items()))
    if n_corners > limits_now().points:
        raise OutlineError(
            f"The drawing has {n_corners:,} corners where white is cut out, more than "
            f"{limits_now().points:,.0f}; leave the white out."
        )


def _without(piece: Piece, covers: Sequence[shapely.Geometry]) -> Piece:
    if not covers:
        return piece
    return replace(piece, area=shapely.difference(piece.area, shapely.union_all(list(covers))))


def _all_white(piece: Piece) -> Finding:
    return Finding(
        code="drawing-white-fill",
        severity=Severity.CAUTION,
        says="all shapes are filled with white and count as solid",
        subject=piece.id,
        advice="Fill them with another color if some of them are to be holes.",
    )


def _white_cut_out(pieces: Sequence[Piece]) -> Finding:
    largest = max(pieces, key=lambda piece: piece.area.area)
    across, up = size_mm(largest.area)
    return Finding(
        code="drawing-white-fill",
        severity=Severity.CAUTION,
        says="white is read as paper: left out, and cut out of what it covers; the largest is "
        f"{across:.3g} x {up:.3g} mm; shapes",
        measured=float(len(pieces)),
        where_mm=place(largest.area),
        subject=largest.id,
        advice="Fill with another color what is to be solid.",
    )


def _merged(pieces: Sequence[Piece]) -> list[Finding]:
    """Tell that shapes of several colors which lie over each other became a silhouette."""
    colors = {piece.paints[:1] for piece in pieces}
    if len(colors) < _COLORS:
        return []
    whole = float(shapely.union_all([piece.area for piece in pieces]).area)
    if sum(piece.area.area for piece in pieces) <= _OVERLAP * whole:
        return []
    return [
        Finding(
            code="drawing-colors-merged",
            severity=Severity.CAUTION,
            says=f"{len(pieces)} shapes in {len(colors)} colors lie over each other, and only "
            "their silhouette is raised",
            advice="For one of them name it with --part, or part in a job file.",
        )
    ]
