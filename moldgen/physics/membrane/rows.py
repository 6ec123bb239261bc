"""Rows of four numbers, moved at once, and marks that two processors leave for one another.

The compiler packs plain loops by itself, but neither sees that a point of three coordinates and a
spare one is a single register, nor may a plain loop wait for what another processor writes.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba import types
from numba.extending import intrinsic

ROW = ir.VectorType(ir.DoubleType(), 4)


def place_of(context: Any, builder: Any, kind: Any, array: Any, index: Any) -> Any:
    """Return the place of a row of an array of rows of four.

    Parameters
    ----------
    context, builder : Any
        Those of the compiler.
    kind : Any
        Type of the array.
    array : Any
        The array, shape (n, 4).
    index : Any
        Number of the row.
    """
    start = context.make_array(kind)(context, builder, value=array).data
    at = builder.gep(start, [builder.mul(index, ir.Constant(index.type, 4))])
    return builder.bitcast(at, ROW.as_pointer())


def _turned(builder: Any, rows: list[Any]) -> list[Any]:
    """Return the columns of four rows of four."""

    def picked(a: Any, b: Any, places: tuple[int, int, int, int]) -> Any:
        mask = ir.Constant(ir.VectorType(ir.IntType(32), 4), list(places))
        return builder.shuffle_vector(a, b, mask)

    a, b, c, d = rows
    ab, cd = picked(a, b, (0, 4, 1, 5)), picked(c, d, (0, 4, 1, 5))
    ef, gh = picked(a, b, (2, 6, 3, 7)), picked(c, d, (2, 6, 3, 7))
    low, high = (0, 1, 4, 5), (2, 3, 6, 7)
    return [picked(ab, cd, low), picked(ab, cd, high), picked(ef, gh, low), picked(ef, gh, high)]


def _corner_rows(context: Any, builder: Any, signature: Any, arguments: Any) -> list[list[Any]]:
    """Return the numbers of the three corners of four triangles, from ``corners`` at ``first``."""
    start = context.make_array(signature)(context, builder, value=arguments[0]).data
    flat = builder.mul(arguments[1], ir.Constant(arguments[1].type, 3))
    numbers = []
    for k in range(4):
        places = [builder.add(flat, ir.Constant(flat.type, 3 * k + c)) for c in range(3)]
        loaded = [builder.load(builder.gep(start, [place])) for place in places]
        numbers.append([builder.zext(each, flat.type) for each in loaded])
    return numbers


def _column(context: Any, builder: Any, kind: Any, columns: Any, which: int, k: Any) -> Any:
    """Return the place of the k-th number of a column."""
    made = context.make_array(kind)(context, builder, value=columns)
    high = builder.extract_value(made.shape, 1)
    at = builder.add(builder.mul(high, ir.Constant(high.type, which)), k)
    return builder.bitcast(builder.gep(made.data, [at]), ROW.as_pointer())


@intrinsic  # type: ignore[untyped-decorator]
def take_sides(typing: Any, points: Any, corners: Any, first: Any, sides: Any, k: Any) -> Any:
    """Write two sides of each of four triangles, from the first on, into columns from k on.

    Rows 0 to 2 of ``sides`` get the coordinates of the side to the second corner, rows 3 to 5
    those of the side to the third.
    """

    def write(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        kinds = signature.args
        numbers = _corner_rows(context, builder, kinds[1], arguments[1:3])
        us, vs = [], []
        for triangle in numbers:
            at = [place_of(context, builder, kinds[0], arguments[0], each) for each in triangle]
            a, b, c = (builder.load(each, align=8) for each in at)
            us.append(builder.fsub(b, a))
            vs.append(builder.fsub(c, a))
        for begin, rows in ((0, us), (3, vs)):
            for which, column in enumerate(_turned(builder, rows)[:3]):
                place = _column(
                    context, builder, kinds[3], arguments[3], begin + which, arguments[4]
                )
                builder.store(column, place, align=8)
        return context.get_dummy_value()

    return types.void(points, corners, types.int64, sides, types.int64), write


@intrinsic  # type: ignore[untyped-decorator]
def give_pulls(
    typing: Any, pulls: Any, areas: Any, corners: Any, first: Any, pushes: Any, k: Any
) -> Any:
    """Add columns of pushes, from k on, to the corners of four triangles, from the first on.

    Rows 0 to 2 of ``pushes`` go to the second corner, rows 3 to 5 to the third, the first gets
    both with their signs turned; rows 6 to 8 are added to the areas of all three.
    """

    def write(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        kinds = signature.args
        numbers = _corner_rows(context, builder, kinds[2], arguments[2:4])
        nothing = ir.Constant(ROW, [0.0] * 4)
        turned = []
        for begin in (0, 3, 6):
            places = [
                _column(context, builder, kinds[4], arguments[4], begin + d, arguments[5])
                for d in range(3)
            ]
            columns = [builder.load(place, align=8) for place in places]
            turned.append(_turned(builder, [*columns, nothing]))

        def add(which: int, corner: Any, more: Any, plus: Any) -> None:
            place = place_of(context, builder, kinds[which], arguments[which], corner)
            builder.store(plus(builder.load(place, align=8), more), place, align=8)

        for (i, j, l), at_j, at_l, third in zip(numbers, *turned, strict=True):  # noqa: E741
            add(0, i, builder.fadd(at_j, at_l), builder.fsub)
            add(0, j, at_j, builder.fadd)
            add(0, l, at_l, builder.fadd)
            for corner in (i, j, l):
                add(1, corner, third, builder.fadd)
        return context.get_dummy_value()

    return types.void(pulls, areas, corners, types.int64, pushes, types.int64), write


@intrinsic  # type: ignore[untyped-decorator]
def give_masses(
    typing: Any, along: Any, cross: Any, corners: Any, first: Any, parts: Any, k: Any
) -> Any:
    """Add columns of masses, from k on, to the corners of four triangles, from the first on.

    Rows 3 to 5 of ``parts``, times the row of its number, are added to a corner's ``along``, rows
    6 to 8 likewise to its ``cross``.
    """

    def write(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        kinds = signature.args
        numbers = _corner_rows(context, builder, kinds[2], arguments[2:4])
        nothing = ir.Constant(ROW, [0.0] * 4)
        turned = []
        for begin in (0, 3, 6):
            places = [
                _column(context, builder, kinds[4], arguments[4], begin + d, arguments[5])
                for d in range(3)
            ]
            columns = [builder.load(place, align=8) for place in places]
            turned.append(_turned(builder, [*columns, nothing]))
        for triangle, shares, *rows in zip(numbers, *turned, strict=True):
            for which, corner in enumerate(triangle):
                mask = ir.Constant(ir.VectorType(ir.IntType(32), 4), [which] * 4)
                share = builder.shuffle_vector(shares, shares, mask)
                for target, row in enumerate(rows):
                    place = place_of(context, builder, kinds[target], arguments[target], corner)
                    more = builder.fmul(share, row, flags=("contract",))
                    added = builder.fadd(builder.load(place, align=8), more, flags=("contract",))
                    builder.store(added, place, align=8)
        return context.get_dummy_value()

    return types.void(along, cross, corners, types.int64, parts, types.int64), write


@intrinsic  # type: ignore[untyped-decorator]
def seen(typing: Any, marks: Any, index: Any) -> Any:
    """Return a mark, and with it see all that was written before it was left."""

    def read(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        start = context.make_array(signature.args[0])(context, builder, value=arguments[0]).data
        return builder.load_atomic(builder.gep(start, [arguments[1]]), "acquire", 8)

    return types.int64(marks, types.int64), read


@intrinsic  # type: ignore[untyped-decorator]
def leave(typing: Any, marks: Any, index: Any, value: Any) -> Any:
    """Leave a mark after all that was written before."""

    def write(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        start = context.make_array(signature.args[0])(context, builder, value=arguments[0]).data
        builder.store_atomic(arguments[2], builder.gep(start, [arguments[1]]), "release", 8)
        return context.get_dummy_value()

    return types.void(marks, types.int64, types.int64), write
