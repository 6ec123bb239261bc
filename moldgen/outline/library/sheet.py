"""Every shape of the library in one size, for a picture sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from typing import Any

import shapely
from shapely import MultiPolygon

from moldgen.outline.library.shapes import ShapeInfo, is_own, list_shapes, outline_from_shape
from moldgen.pool.answers import answers
from moldgen.pool.piece import answer_of, piece_bytes
from moldgen.sandbox.messages import Message
from moldgen.solid.polygons import polygons_of

SHEET_MM = 60.0
"""Longer side of each shape on the picture sheet. [mm]"""
WORK = "moldgen.outline.library.sheet:sheet_piece"


def shape_sheet(pool: Executor | None = None) -> tuple[tuple[ShapeInfo, MultiPolygon], ...]:
    """Return every shape with its outline, the longer side `SHEET_MM`.

    Parameters
    ----------
    pool : Executor, optional
        Draws the shapes that come with moldgen; this process if left out.
    """
    shapes = list_shapes()
    asked = [info for info in shapes if pool is not None and is_own(info.name)]
    drawn = dict(_drawn_by(pool, asked)) if pool is not None else {}
    return tuple(
        (info, drawn[info.name] if info.name in drawn else _on_sheet(info.name, _width_mm(info)))
        for info in shapes
    )


def sheet_piece(words: Mapping[str, Any], blocks: Sequence[bytes], tell: object) -> Message:
    """Return the outline of one shape as a piece of work: WKB in its only block."""
    return Message({}, [shapely.to_wkb(_on_sheet(words["name"], words["width_mm"]))])


def _drawn_by(
    pool: Executor, shapes: Sequence[ShapeInfo]
) -> list[tuple[str, MultiPolygon]]:  # fmt: skip
    pieces = [piece_bytes(WORK, {"name": one.name, "width_mm": _width_mm(one)}) for one in shapes]
    return [
        (shapes[number].name, polygons_of(shapely.from_wkb(answer_of(answer).blocks[0])))
        for number, answer in answers(pool, pieces)
    ]


def _on_sheet(name: str, width_mm: float) -> MultiPolygon:
    return outline_from_shape(name, width_mm=width_mm)


def _width_mm(info: ShapeInfo) -> float:
    return SHEET_MM / max(1.0, info.aspect)
