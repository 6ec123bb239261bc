"""What was computed before, kept by what it was computed from."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import Enum
from pathlib import Path
from sys import getsizeof
from threading import Lock
from typing import Any, TypeVar

import numpy as np
import shapely

Key = bytes
"""A digest of content: equal content, equal key."""

T = TypeVar("T")

_DIGEST_BYTES = 16


def content_key(*values: object) -> Key:
    """Return a key of what values contain: equal in every process, whatever objects hold it.

    Parameters
    ----------
    values
        Numbers, strings, paths, enumerations, arrays, shapes of shapely, dataclasses, and
        tuples, lists and mappings of them.

    Raises
    ------
    TypeError
        If a value, or a part of one, is of another type.
    """
    digest = hashlib.blake2b(digest_size=_DIGEST_BYTES)
    for value in values:
        _feed(value, digest.update)
    return digest.digest()


def _feed(value: object, update: Callable[[bytes], None]) -> None:
    """Hand on what a value contains, with its kind and length in front."""
    if isinstance(value, np.ndarray):
        head = f"array {value.dtype.str} {value.shape}"
        _feed_bytes(head, np.ascontiguousarray(value).tobytes(), update)
    elif isinstance(value, Enum):
        _feed_bytes(f"enum {type(value).__qualname__}", value.name.encode(), update)
    elif is_dataclass(value) and not isinstance(value, type):
        content = [getattr(value, field.name) for field in fields(value) if field.compare]
        _feed_all(f"{type(value).__module__}.{type(value).__qualname__}", content, update)
    elif isinstance(value, Mapping):
        _feed_all("mapping", [(name, value[name]) for name in sorted(value)], update)
    elif isinstance(value, (tuple, list)):
        _feed_all("list", value, update)
    else:
        _feed_plain(value, update)


def _feed_all(kind: str, values: Sequence[object], update: Callable[[bytes], None]) -> None:
    update(f"{kind} {len(values)};".encode())
    for value in values:
        _feed(value, update)


def _feed_plain(value: object, update: Callable[[bytes], None]) -> None:
    if isinstance(value, shapely.Geometry):
        _feed_bytes("shape", value.wkb, update)
    elif isinstance(value, bytes):
        _feed_bytes("bytes", value, update)
    elif isinstance(value, np.generic):
        _feed_plain(value.item(), update)
    elif value is None or isinstance(value, (bool, int, float, str, Path)):
        _feed_bytes(type(value).__name__, repr(value).encode(), update)
    else:
        raise TypeError(f"no key for what {type(value).__name__} contains")


def _feed_bytes(kind: str, data: bytes, update: Callable[[bytes], None]) -> None:
    update(f"{kind} {len(data)};".encode())
    update(data)


class Memo:
    """Values by key, up to so many bytes; what was not asked for longest goes first.

    Parameters
    ----------
    most_bytes : int
        How much is kept, as far as it can be estimated.

    Notes
    -----
    Any thread may ask at any time. Two that ask for the same at once both compute it.
    """

    def __init__(self, most_bytes: int) -> None:
        self.most_bytes = most_bytes
        self.hits = self.misses = 0
        self._kept: OrderedDict[Key, tuple[Any, int]] = OrderedDict()
        self._bytes = 0
        self._lock = Lock()

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, key: Key, compute: Callable[[], T]) -> T:
        """Return what is kept under a key; if nothing is, compute it and keep it."""
        with self._lock:
            if key in self._kept:
                self.hits += 1
                self._kept.move_to_end(key)
                kept: T = self._kept[key][0]
                return kept
            self.misses += 1
        value = compute()
        self._keep(key, value)
        return value

    def clear(self) -> None:
        """Forget everything."""
        with self._lock:
            self._kept.clear()
            self._bytes = 0

    def _keep(self, key: Key, value: object) -> None:
        size = size_bytes(value)
        with self._lock:
            if key in self._kept or size > self.most_bytes:
                return
            self._kept[key] = value, size
            self._bytes += size
            while self._bytes > self.most_bytes:
                _, (_, gone) = self._kept.popitem(last=False)
                self._bytes -= gone


def size_bytes(value: object) -> int:
    """Return about how much memory a value takes: arrays and shapes count, the rest hardly."""
    seen: set[int] = set()
    waiting, total = [value], 0
    while waiting:
        one = waiting.pop()
        if id(one) in seen:
            continue
        seen.add(id(one))
        total += _own_bytes(one)
        waiting.extend(_parts(one))
    return total


def _own_bytes(value: object) -> int:
    if isinstance(value, np.ndarray):
        return value.nbytes
    if isinstance(value, shapely.Geometry):
        return 200 + 16 * int(shapely.get_num_coordinates(value))
    return getsizeof(value, 64)


def _parts(value: object) -> list[object]:
    if isinstance(value, Mapping):
        return [*value.keys(), *value.values()]
    if isinstance(value, (tuple, list, set, frozenset)):
        return list(value)
    if is_dataclass(value) and not isinstance(value, type):
        return [getattr(value, field.name) for field in fields(value)]
    return []
