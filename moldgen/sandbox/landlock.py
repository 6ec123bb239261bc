"""Which files a process may reach, by Linux's Landlock: for a process that gives up rights itself.

Numbers and layouts are those of ``linux/landlock.h``, as the manual page landlock(7) gives them.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterable
from pathlib import Path

_CREATE_RULESET, _ADD_RULE, _RESTRICT_SELF = 444, 445, 446  # the same on every processor
_VERSION_FLAG = 1
_RULE_PATH_BENEATH = 1
_NO_NEW_PRIVILEGES = 38

_EXECUTE, _WRITE, _READ, _READ_DIR = 1, 2, 4, 8
_FILE_RIGHTS = _EXECUTE | _WRITE | _READ | 1 << 14
_RIGHTS_BY_VERSION = {1: 13, 2: 14, 3: 15, 5: 16}
"""How many rights to files each version of the interface knows, from the version on."""
_TCP = 3  # to bind and to connect
_TCP_SINCE = 4


class _Ruleset(ctypes.Structure):
    _fields_ = (("files", ctypes.c_uint64), ("network", ctypes.c_uint64))


class _PathRule(ctypes.Structure):
    _pack_ = 1
    _fields_ = (("allowed", ctypes.c_uint64), ("parent", ctypes.c_int32))


def confine_files(readable: Iterable[Path], writable: Iterable[Path]) -> bool:
    """Let this thread, and what it starts, reach no other files, run no programs and no network.

    It cannot be taken back. Threads that run already are not touched, so it comes first.

    Parameters
    ----------
    readable : iterable of path
        Files and folders to read from; what is missing is passed over.
    writable : iterable of path
        Folders in which anything may be done, but for starting programs.

    Returns
    -------
    bool
        Whether the system could.
    """
    if not sys.platform.startswith("linux"):
        return False
    libc = ctypes.CDLL(None, use_errno=True)
    version = libc.syscall(_CREATE_RULESET, None, ctypes.c_size_t(0), _VERSION_FLAG)
    if version < 1:
        return False
    handled = _rights(version)
    asked = _Ruleset(handled, _TCP if version >= _TCP_SINCE else 0)
    size = ctypes.sizeof(asked) if version >= _TCP_SINCE else 8
    ruleset = libc.syscall(_CREATE_RULESET, ctypes.byref(asked), ctypes.c_size_t(size), 0)
    if ruleset < 0:
        return False
    try:
        for path in readable:
            _allow(libc, ruleset, path, _READ | _READ_DIR)
        for path in writable:
            _allow(libc, ruleset, path, handled & ~_EXECUTE)
        libc.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0)
        return bool(libc.syscall(_RESTRICT_SELF, ruleset, 0) == 0)
    finally:
        os.close(ruleset)


def _rights(version: int) -> int:
    n = max(count for since, count in _RIGHTS_BY_VERSION.items() if since <= version)
    return (1 << n) - 1


def _allow(libc: ctypes.CDLL, ruleset: int, path: Path, rights: int) -> None:
    try:
        parent = os.open(path, os.O_PATH | os.O_CLOEXEC)  # type: ignore[attr-defined,unused-ignore]
    except OSError:
        return
    try:
        allowed = rights if path.is_dir() else rights & _FILE_RIGHTS
        rule = _PathRule(allowed, parent)
        libc.syscall(_ADD_RULE, ruleset, _RULE_PATH_BENEATH, ctypes.byref(rule), 0)
    finally:
        os.close(parent)
