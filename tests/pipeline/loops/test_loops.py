"""The table of compiled loops agrees with the loops, and the queue hands them out in order."""

import pytest
from conftest import ROOT
from numba import types
from numba.core.dispatcher import Dispatcher
from support.some import some

from moldgen.cli.commands import COMMANDS
from moldgen.export.picture.shading import Scene
from moldgen.pipeline.loops.queue import LoopQueue
from moldgen.pipeline.loops.signature import signature_text, signature_types
from moldgen.pipeline.loops.table import CompiledLoop, called_loops, known_uses, read_table

TABLE = read_table()


def test_the_table_names_only_loops_that_there_are():
    """Each is a compiled loop that is kept, of a module of moldgen, under its own name."""
    for loop in some(TABLE):
        assert isinstance(loop.dispatcher, Dispatcher), loop
        assert loop.dispatcher.py_func.__module__ == loop.module
        assert loop.dispatcher.targetoptions["nopython"]
        assert loop.compiling_s >= 0


def test_a_signature_fits_its_loop():
    """Text and types say the same, and there is a type for each argument."""
    for loop in some(TABLE):
        kinds = signature_types(loop.signature)
        assert signature_text(kinds) == loop.signature
        assert len(kinds) == loop.dispatcher.py_func.__code__.co_argcount, loop


def test_the_table_is_closed():
    """Whatever a loop calls stands before it, and is needed wherever it is."""
    needed: dict[tuple[str, str], frozenset[str]] = {}
    late = []
    for loop in TABLE:
        place = (loop.module, loop.name)
        late += [(place, other) for other in called_loops(loop.dispatcher) if other not in needed]
        needed[place] = needed.get(place, frozenset()) | loop.uses
    short = [
        (loop.name, other)
        for loop in TABLE
        for other in called_loops(loop.dispatcher)
        if not loop.uses <= needed[other]
    ]

    assert len(needed) > 50
    assert (late, short) == ([], [])


def test_uses_are_commands_or_parts_of_a_mold():
    """Every use is a mold, a forming run or a command, or the pictures of one of them."""
    parts = {"mold", "mold-pictures", "forming"}
    names = {use.removesuffix("-pictures") for use in known_uses()}

    assert parts <= set(known_uses())
    assert names - parts <= set(COMMANDS)


@pytest.mark.parametrize(
    "signature",
    [
        (types.int64, types.float64, types.boolean),
        (types.Array(types.float64, 2, "C"), types.Array(types.int32, 1, "A", readonly=True)),
        (types.literal(-3), types.Tuple([types.int64, types.Array(types.uint8, 3, "F")])),
        (types.NamedTuple([types.float64] * len(Scene._fields), Scene),),
        (types.UniTuple(types.float64, 3),),
    ],
)
def test_signatures_come_back(signature):
    """What is written of a call is read as the same types."""
    assert signature_types(signature_text(signature)) == signature


@pytest.mark.parametrize("text", ["complex", "array(str, 1, C)", "list(int64)", '"int64"[0]'])
def test_what_is_no_signature_is_refused(text):
    """Nothing but numbers, arrays and tuples is read, and nothing is carried out."""
    with pytest.raises(ValueError, match="no type of a compiled loop"):
        signature_types(text)


def a_loop(name: str, *, compiling_s: float = 1.0, signature: str = "") -> CompiledLoop:
    """One of the ladder's loops, with times of our own."""
    return CompiledLoop(
        module="moldgen.solid.loft.ladder",
        name=name,
        signature=signature,
        compiling_s=compiling_s,
        uses=frozenset(),
    )


def test_a_loop_comes_after_those_it_calls():
    """While what it calls is being compiled a loop is not handed out."""
    nearest, facing = a_loop("_nearest"), a_loop("_facing")
    queue = LoopQueue([nearest, facing], n_workers=2)
    first = queue.take()

    assert first == nearest
    assert queue._ready() == []
    queue.put_back(nearest, 1.0)
    assert queue.take() == facing
    assert queue.take() is None


def test_loops_of_one_name_do_not_come_together():
    """Their index is one file, which two processes must not write at once."""
    queue = LoopQueue(
        [a_loop("_twice", signature="a"), a_loop("_twice", signature="b")], n_workers=2
    )
    first = queue.take()
    assert first is not None

    assert queue._ready() == []
    queue.put_back(first, None)
    assert queue._ready() != []


def test_the_longest_chain_comes_first():
    """What others wait for goes before what nothing waits for, if they take the longer."""
    lone, nearest = a_loop("_within_circle", compiling_s=1.5), a_loop("_nearest", compiling_s=1.0)
    facing = a_loop("_facing", compiling_s=1.0)

    assert LoopQueue([lone, nearest, facing], n_workers=2).take() == nearest
    assert LoopQueue([lone, nearest], n_workers=2).take() == lone


def test_what_is_left_goes_by_the_pace_so_far():
    """On a machine of half the table's pace the rest is told twice as long, nearly."""
    names = ("_twice", "_nearest", "_within_circle")
    loops = [a_loop(name, compiling_s=10.0) for name in names]
    queue = LoopQueue(loops, n_workers=2)
    assert (queue.share(), queue.left_s()) == (0.0, 15.0)
    for _ in range(2):
        loop = queue.take()
        assert loop is not None
        queue.put_back(loop, 20.0)

    assert queue.share() == pytest.approx(2 / 3)
    # 42 s for what the table says are 22 s, 2 s of each taken for granted.
    assert queue.left_s() == pytest.approx(10 / 2 * 42 / 22)


def test_only_commands_and_an_explicit_call_start_processes():
    """Whoever imports moldgen or makes a mold from Python starts no process by surprise."""
    callers = {
        path.relative_to(ROOT / "moldgen").as_posix()
        for path in (ROOT / "moldgen").rglob("*.py")
        if "loops.prepare" in path.read_text(encoding="utf-8")
    }

    assert callers == {"api/loops.py", "cli/first_use.py"}
