"""Compiled loops are kept where that is possible, and nothing that befalls them stops the work."""

import errno
import importlib.util
import re
import shutil
import sys
from itertools import count

import pytest
from conftest import ROOT
from support.some import some

SOURCE = '''
from moldgen.compiling import njit

@njit(cache=True, nogil=True)
def twice(n):
    """Return the double."""
    return {factor} * n
'''
NUMBERS = count()


@pytest.fixture
def loop(tmp_path, monkeypatch):
    """What loads a compiled loop anew, as another process would."""
    # Source that is written twice within a second is not to be taken from bytecode.
    monkeypatch.setattr(sys, "dont_write_bytecode", True)

    def load(factor=2):
        path = tmp_path / "loops.py"
        path.write_text(SOURCE.format(factor=factor))
        spec = importlib.util.spec_from_file_location(f"loops_{next(NUMBERS)}", path)
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        return module.twice

    return load


def kept(tmp_path, ending="nb?"):
    """The files that hold what was compiled."""
    return sorted((tmp_path / "__pycache__").glob(f"*.{ending}"))


def hits(loop):
    """How often what was kept was used."""
    return sum(loop.stats.cache_hits.values())


def test_a_loop_is_kept_for_the_next_process(loop, tmp_path):
    """It is compiled once and read afterward."""
    assert loop()(21) == 42
    assert len(kept(tmp_path)) == 2

    again = loop()

    assert again(21) == 42
    assert hits(again) == 1


def test_what_is_kept_is_loaded_without_what_compiling_needs(loop, tmp_path, monkeypatch):
    """Numba's tables of what it can compile are not read for it."""
    assert loop()(21) == 42
    again, read = loop(), []
    monkeypatch.setattr(again.targetctx, "refresh", lambda: read.append("tables"))

    assert again(21) == 42
    assert hits(again) == 1
    assert read == []


def test_what_older_source_was_compiled_to_is_not_used(loop, tmp_path):
    """A loop that was changed is compiled again, and the old code goes."""
    loop()(1)

    changed = loop(factor=3)

    assert changed(21) == 63
    assert hits(changed) == 0
    assert len(kept(tmp_path, "nbc")) == 1
    assert loop(factor=3)(2) == 6


@pytest.mark.parametrize("ending", ["nbi", "nbc"])
@pytest.mark.parametrize(
    "damage",
    [lambda data: b"", lambda data: data[: len(data) // 2], lambda data: b"\0" * len(data),
     lambda data: b"no pickle at all", lambda data: data[::-1], lambda data: data[:-1]],
    ids=["empty", "half", "zeros", "text", "turned", "short"],
)  # fmt: skip
def test_what_is_damaged_is_compiled_again(loop, tmp_path, ending, damage):
    """The answer is right, and the next process finds it mended."""
    loop()(1)
    for file in some(kept(tmp_path, ending)):
        file.write_bytes(damage(file.read_bytes()))

    assert loop()(21) == 42

    again = loop()
    assert again(21) == 42
    assert hits(again) == 1


def test_a_missing_half_is_compiled_again(loop, tmp_path):
    """An index without its code, as a full disk may leave it, is none."""
    loop()(1)
    for file in some(kept(tmp_path, "nbc")):
        file.unlink()

    assert loop()(21) == 42

    again = loop()
    assert again(21) == 42
    assert hits(again) == 1


def test_a_full_disk_stops_nothing_and_leaves_nothing_half(loop, tmp_path, monkeypatch):
    """What cannot be written is done without; no index is left that names old code."""

    def full(self, name, data):
        raise OSError(errno.ENOSPC, "No space left on device")

    loop()(1)
    with monkeypatch.context() as patch:
        patch.setattr("numba.core.caching.IndexDataCacheFile._save_data", full)
        assert loop(factor=5)(2) == 10

    assert kept(tmp_path) == []
    assert loop(factor=5)(3) == 15


def test_where_nothing_can_be_written_loops_run(loop, tmp_path, monkeypatch):
    """Neither beside the source nor in the user's folder: compiled in memory, and it is known."""
    shut(monkeypatch)

    made = loop()

    assert made(21) == 42
    assert not made._cache.can_keep
    assert kept(tmp_path) == []


def test_what_somebody_else_kept_is_read(loop, tmp_path, monkeypatch):
    """Kept beside the source by whoever installed it, it serves those who may only read."""
    loop()(1)
    shut(monkeypatch)

    reader = loop()

    assert reader(21) == 42
    assert hits(reader) == 1


def test_what_is_kept_elsewhere_does_not_hide_what_was_shipped(loop, tmp_path, monkeypatch):
    """With a folder of one's own that is empty, what lies beside the source is used."""
    loop()(1)
    shipped = tmp_path / "__pycache__"
    monkeypatch.setattr(
        "numba.core.caching.InTreeCacheLocator.from_function", classmethod(lambda *_: None)
    )
    monkeypatch.setattr(
        "numba.core.caching.UserWideCacheLocator.get_cache_path", lambda _: str(tmp_path / "own")
    )

    reader = loop()

    assert reader(21) == 42
    assert hits(reader) == 1
    shutil.rmtree(shipped)
    assert loop()(21) == 42


def shut(monkeypatch):
    """Let no folder be written to."""

    def refused(self):
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr("numba.core.caching._CacheLocator.ensure_cache_path", refused)
    monkeypatch.setattr("numba.core.caching.IndexDataCacheFile.save", lambda *_: refused(None))


def test_every_loop_is_compiled_through_moldgen():
    """Numba's own decorator stops the import where nothing can be written; no module uses it."""
    sources = some(path for path in (ROOT / "moldgen").rglob("*.py") if path.stem != "compiling")
    own = re.compile(r"from numba import .*\bn?jit\b|numba\.n?jit\b")

    assert [path.name for path in sources if own.search(path.read_text(encoding="utf-8"))] == []
