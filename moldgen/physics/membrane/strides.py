"""How a few points go one step on, each as one row of four numbers, and what that sums up to.

Written for the compiler's own tongue, because it does not pack a plain loop over seven arrays: it
would have to prove that none of them lies over another.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic

from moldgen.physics.membrane.rows import ROW, place_of

# What a stride is worked out with, by place.
PRESSURE, KEEP, GAIN, DAMPING, FOLLOW, DROP = range(6)
N_FACTORS = 6

# What strides sum up, by row.
BEFORE, AFTER, PUSHED, PUSHED_FORCE, PUSHED_SPEED, KINETIC, UNDER, OPEN = range(8)
N_TOTALS = 8

_LOOSE = ("reassoc", "contract", "arcp", "nsz")
_ROOT_3 = 3.0**0.5
_WIDE = ir.VectorType(ir.IntType(64), 4)
_NO_SIGN = ir.Constant(_WIDE, [0x7FFFFFFFFFFFFFFF] * 4)
_ARRAYS = ("pulls", "areas", "old", "new", "momenta", "drifts", "ease", "cross")


class _Sums:
    """Arithmetic on rows."""

    def __init__(self, builder: Any) -> None:
        self.builder = builder

    def add(self, a: Any, b: Any) -> Any:
        return self.builder.fadd(a, b, flags=_LOOSE)

    def less(self, a: Any, b: Any) -> Any:
        return self.builder.fsub(a, b, flags=_LOOSE)

    def times(self, a: Any, *more: Any) -> Any:
        for each in more:
            a = self.builder.fmul(a, each, flags=_LOOSE)
        return a

    def spread(self, number: Any) -> Any:
        """Return a row of four times the same."""
        lane = ir.Constant(ir.IntType(32), 0)
        row = self.builder.insert_element(ir.Constant(ROW, ir.Undefined), number, lane)
        return self.builder.shuffle_vector(
            row, row, ir.Constant(ir.VectorType(ir.IntType(32), 4), [0] * 4)
        )

    def eased(self, row: Any, ease: Any, cross: Any) -> Any:
        """Return a symmetric matrix, its diagonal and the rest in two rows, times a row."""
        none = ir.Constant(ROW, ir.Undefined)

        def turned(each: Any, places: tuple[int, int, int, int]) -> Any:
            mask = ir.Constant(ir.VectorType(ir.IntType(32), 4), list(places))
            return self.builder.shuffle_vector(each, none, mask)

        along = self.times(ease, row)
        first = self.times(cross, turned(row, (1, 2, 0, 3)))
        second = turned(self.times(cross, row), (2, 0, 1, 3))
        return self.add(self.add(along, first), second)

    def length(self, row: Any) -> Any:
        """Return a row without its signs."""
        bits = self.builder.and_(self.builder.bitcast(row, _WIDE), _NO_SIGN)
        return self.builder.bitcast(bits, ROW)

    def greater(self, a: Any, b: Any) -> Any:
        """Return the greater of two rows, place by place; neither may be less than 0."""
        return self.builder.select(self.builder.fcmp_ordered(">", a, b), a, b)


@intrinsic  # type: ignore[untyped-decorator]
def stride(
    typing: Any,
    pulls: Any,
    areas: Any,
    old: Any,
    new: Any,
    momenta: Any,
    drifts: Any,
    ease: Any,
    cross: Any,
    carried: Any,
    start: Any,
    stop: Any,
    factors: Any,
    totals: Any,
) -> Any:
    """Take the points from start to before stop one step on; return a bound of how far any went.

    Parameters
    ----------
    pulls, areas, old, new, momenta, drifts, ease, cross : ndarray, shape (n, 4)
        See `moldgen.physics.membrane.part_kernel.Part`; ``new``, ``momenta`` and ``drifts`` are
        written.
    carried : ndarray, shape (n,)
    factors : ndarray, shape (N_FACTORS,)
    totals : ndarray, shape (N_TOTALS, 4)
        Is added to: power of the forces on the ways before and after, swept areas squared over
        mass, times force over mass, times way, masses times ways squared, areas times places, and
        areas.
    """

    def write(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        kinds, sums = signature.args, _Sums(builder)

        def numbers(which: int) -> Any:
            return context.make_array(kinds[which])(context, builder, value=arguments[which]).data

        def row(which: int, index: Any) -> Any:
            return place_of(context, builder, kinds[which], arguments[which], index)

        def factor(which: int) -> Any:
            at = builder.gep(numbers(11), [ir.Constant(ir.IntType(64), which)])
            return sums.spread(builder.load(at))

        pressure, keep, gain, damping, follow, drop = (factor(k) for k in range(N_FACTORS))
        down = builder.fmul(drop, ir.Constant(ROW, [0.0, 0.0, 1.0, 0.0]))
        kept = [row(12, ir.Constant(ir.IntType(64), k)) for k in range(N_TOTALS)]
        running = [cgutils.alloca_once_value(builder, builder.load(at, align=8)) for at in kept]
        farthest = cgutils.alloca_once_value(builder, ir.Constant(ROW, [0.0] * 4))
        count = builder.sub(arguments[10], arguments[9])
        with cgutils.for_range(builder, count, intp=count.type) as loop:
            at = builder.add(arguments[9], loop.index)
            places = [row(k, at) for k in range(len(_ARRAYS))]
            pulled, area, begun, _, before, drift, ease, cross = (
                builder.load(place, align=8) for place in places
            )
            goes = sums.spread(builder.load(builder.gep(numbers(8), [at])))
            force = sums.add(pulled, sums.times(pressure, area))
            push = sums.add(force, sums.times(damping, drift))
            moved = sums.add(sums.times(keep, before), sums.times(gain, push))
            drift = sums.add(drift, sums.times(follow, sums.less(moved, drift)))
            way, was, light = (sums.eased(each, ease, cross) for each in (moved, before, area))
            end = sums.less(sums.add(begun, way), sums.times(down, goes))
            for place, value in ((3, end), (4, moved), (5, drift)):
                builder.store(value, places[place], align=8)
            more = (
                sums.times(was, force),
                sums.times(way, force),
                sums.times(area, light),
                sums.times(pulled, light),
                sums.times(area, way),
                sums.times(moved, way),
                sums.times(area, begun),
                area,
            )
            for total, part in zip(running, more, strict=True):
                builder.store(sums.add(builder.load(total), part), total)
            gone = sums.length(sums.less(end, begun))
            builder.store(sums.greater(gone, builder.load(farthest)), farthest)
        for total, place in zip(running, kept, strict=True):
            builder.store(builder.load(total), place, align=8)
        longest = ir.Constant(ir.DoubleType(), 0.0)
        for lane in range(3):
            each = builder.extract_element(
                builder.load(farthest), ir.Constant(ir.IntType(32), lane)
            )
            longest = builder.select(builder.fcmp_ordered(">", each, longest), each, longest)
        return builder.fmul(longest, ir.Constant(ir.DoubleType(), _ROOT_3))

    arguments = (
        pulls, areas, old, new, momenta, drifts, ease, cross, carried, types.int64, types.int64,
        factors, totals,
    )  # fmt: skip
    return types.float64(*arguments), write
