"""How far apart pieces must stand under one sheet, and how far from its clamp."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from moldgen.lesson.layout.piece import LayoutPiece
from moldgen.mold.spacing_rule import clamp_gap_mm, web_gap_mm
from moldgen.mold.width_rule import least_gap_mm

Pair = tuple[str, str]
"""Names of two pieces, in the order of the alphabet."""


def pair_of(one: LayoutPiece, other: LayoutPiece) -> Pair:
    """Return the names of two pieces in order."""
    first, second = sorted((one.name, other.name))
    return first, second


def gap_mm(
    one: LayoutPiece, other: LayoutPiece, *, gauge_mm: float, share_flange: bool = False
) -> float:
    """Return the least distance between the feet of two molds under one sheet.

    Parameters
    ----------
    one, other : LayoutPiece
        The two molds.
    gauge_mm : float
        Thickness of the sheet. [mm]
    share_flange : bool
        Whether one cut between them is enough, so that each keeps half of the wider flange.

    Returns
    -------
    float
        The largest of: by height and draft, against webs; what the sheet needs to go down between
        them; room for both flanges. [mm]

    Notes
    -----
    The taller mold and the steeper wall decide (`moldgen.mold.spacing_rule`).
    """
    tallest_mm = max(one.height_mm, other.height_mm)
    flanges = (one.flange_mm, other.flange_mm)
    return max(
        web_gap_mm(tallest_mm, draft_deg=min(one.draft_deg, other.draft_deg)),
        least_gap_mm(gauge_mm, tallest_mm),
        max(flanges) if share_flange else sum(flanges),
    )


def gaps_of(
    pieces: Sequence[LayoutPiece],
    *,
    gauge_mm: float,
    share_flange: bool = False,
    added_mm: Mapping[Pair, float] | None = None,
) -> tuple[tuple[float, ...], ...]:
    """Return the least distance of every pair of pieces, shape (n, n).

    Parameters
    ----------
    pieces, gauge_mm, share_flange
        As for `gap_mm`.
    added_mm : mapping of pairs of names, optional
        What the forming run asks for beyond the rule. [mm]
    """
    more = added_mm or {}
    return tuple(
        tuple(
            gap_mm(one, other, gauge_mm=gauge_mm, share_flange=share_flange)
            + more.get(pair_of(one, other), 0.0)
            for other in pieces
        )
        for one in pieces
    )  # fmt: skip


def edge_mm(piece: LayoutPiece) -> float:
    """Return the least distance of a mold's foot to the clamp. [mm]."""
    return max(clamp_gap_mm(piece.height_mm), piece.flange_mm)
