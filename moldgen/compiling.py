"""Loops that are compiled to machine code and kept, wherever moldgen lives and whatever befell it.

Numba keeps what it compiled beside the source or in a folder of the user; it stops where neither
can be written to, where what was kept is damaged, and where the disk is full. Here none of these
stops anything: what cannot be kept is compiled anew in each process, and what is damaged is
thrown away.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

from numba import config
from numba import njit as _njit
from numba.core.caching import (
    CompileResultCacheImpl,
    FunctionCache,
    IndexDataCacheFile,
    InTreeCacheLocator,
    UserProvidedCacheLocator,
    UserWideCacheLocator,
)
from numba.core.runtime import rtsys

F = TypeVar("F", bound=Callable[..., Any])


def njit(*, cache: bool, **options: Any) -> Callable[[F], F]:
    """Return what makes a compiled loop of a function, as numba's decorator of that name does.

    Parameters
    ----------
    cache : bool
        Whether what is compiled is kept for the next process.
    **options
        Numba's own.
    """

    def compiled(function: F) -> F:
        loop: Any = _njit(**options)(function)
        if cache and loop is not function:  # it is where loops run as plain Python
            loop._cache = KeptLoop(function)
        made: F = loop
        return made

    return compiled


def kept_folder(loop: Any) -> Path:
    """Return where a compiled loop is kept."""
    return Path(loop.stats.cache_path or "")


class _Given(UserProvidedCacheLocator):
    """The folder that the user named, whether or not anything can be written there."""

    def ensure_cache_path(self) -> None:
        """Take it as it is."""


class _Wide(UserWideCacheLocator):
    """The user's own folder of such files, whether or not anything can be written there."""

    def ensure_cache_path(self) -> None:
        """Take it as it is."""


class _Beside(InTreeCacheLocator):
    """Beside the source, whether or not anything can be written there."""

    def ensure_cache_path(self) -> None:
        """Take it as it is."""


_NAMED = bool(getattr(config, "CACHE_DIR", ""))
_READ_ONLY = (*((_Given,) if _NAMED else ()), _Wide, _Beside)


class _Place(CompileResultCacheImpl):
    """The first place that can be written to, or else one that may be read."""

    _locator_classes: list[type[object]] = [  # noqa: RUF012  (numba's own way)
        UserProvidedCacheLocator,
        InTreeCacheLocator,
        UserWideCacheLocator,
        *_READ_ONLY,
    ]


class KeptLoop(FunctionCache):
    """What one loop was compiled to, kept as files where that is possible.

    What another user, or whoever installed moldgen, kept beside the source is read as well; not
    if the user named a folder that can be written to: that one alone counts.
    """

    _impl_class = _Place

    def __init__(self, function: Callable[..., Any]) -> None:
        super().__init__(function)
        source = function.__code__.co_filename
        self._read_only = tuple(
            IndexDataCacheFile(
                cache_path=place(function, source).get_cache_path(),
                filename_base=self._impl.filename_base,
                source_stamp=self._impl.locator.get_source_stamp(),
            )
            for place in _READ_ONLY
        )

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return what was kept for a call of these types, or None; what is damaged goes."""
        # What is compiled needs the runtime alone; what compiling needs takes 0.2 s to load.
        rtsys.initialize(target_context)
        key = self._index_key(sig, target_context.codegen())
        for file in self._files():
            try:
                kept = file.load(key)
                if kept is not None:
                    return self._impl.rebuild(target_context, kept)
            except Exception:  # whatever reading a damaged file may raise
                _throw_away(file)
        return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep what was compiled, if it can be kept."""
        if not self._impl.check_cachable(data):
            return
        try:
            self._impl.locator.ensure_cache_path()
            self.drop_outdated()
            self._cache_file.save(self._index_key(sig, data.codegen), self._impl.reduce(data))
        except Exception:  # a folder that may only be read, a full disk, a damaged index
            _throw_away(self._cache_file)

    def has(self, signature: Any, codegen: Any) -> bool:
        """Tell whether what a call of these types is compiled to is kept."""
        key = self._index_key(signature, codegen)
        for file in self._files():
            with suppress(Exception):  # a damaged file holds nothing
                name = file._load_index().get(key)
                if name is not None and Path(file._data_path(name)).exists():
                    return True
        return False

    def drop_outdated(self) -> None:
        """Remove what older source was compiled to.

        Numba writes its index first and the machine code next; were it stopped in between, an
        index that is up to date would name code that is not.
        """
        try:
            is_outdated = not self._cache_file._load_index()
        except Exception:
            is_outdated = True
        if is_outdated:
            _throw_away(self._cache_file)

    @property
    def can_keep(self) -> bool:
        """Whether anything can be written where it is kept."""
        return not isinstance(self._impl.locator, _READ_ONLY)

    def _files(self) -> Iterator[IndexDataCacheFile]:
        yield self._cache_file
        is_named = type(self._impl.locator) is UserProvidedCacheLocator
        for file in () if is_named else self._read_only:
            if file._index_path != self._cache_file._index_path:
                yield file


def _throw_away(file: IndexDataCacheFile) -> None:
    """Remove a loop's index and code, as far as that is allowed."""
    index = Path(file._index_path)
    with suppress(OSError):
        for old in (index, *index.parent.glob(f"{index.stem}.*.nbc")):
            old.unlink(missing_ok=True)
