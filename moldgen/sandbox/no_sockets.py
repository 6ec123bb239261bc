"""No sockets for a process, by a filter of system calls that Linux runs (seccomp).

Numbers are those of ``linux/filter.h``, ``linux/seccomp.h`` and ``linux/audit.h``.
"""

from __future__ import annotations

import ctypes
import errno
import platform
import sys

_SET_SECCOMP, _FILTER_MODE = 22, 2
_NO_NEW_PRIVILEGES = 38
_LOAD, _JUMP_IF_EQUAL, _RETURN = 0x20, 0x15, 0x06
_ALLOW, _FAIL = 0x7FFF0000, 0x00050000 | errno.EPERM
_AT_NUMBER, _AT_PROCESSOR = 0, 4
_PROCESSORS = {"x86_64": (0xC000003E, (41, 53)), "aarch64": (0xC00000B7, (198, 199))}
"""By machine: the kernel's name of it, and the calls socket and socketpair."""


class _Step(ctypes.Structure):
    _fields_ = (
        ("code", ctypes.c_uint16),
        ("if_so", ctypes.c_uint8),
        ("if_not", ctypes.c_uint8),
        ("value", ctypes.c_uint32),
    )


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_uint16), ("steps", ctypes.POINTER(_Step)))


def refuse_sockets() -> bool:
    """Let this process open no socket from now on, for whatever network or program.

    Returns
    -------
    bool
        Whether the system could.
    """
    if not sys.platform.startswith("linux") or platform.machine() not in _PROCESSORS:
        return False
    processor, calls = _PROCESSORS[platform.machine()]
    steps = [
        _Step(_LOAD, 0, 0, _AT_PROCESSOR),
        # A call of another kind of processor has other numbers: none of these is made.
        _Step(_JUMP_IF_EQUAL, 1, 0, processor),
        _Step(_RETURN, 0, 0, _FAIL),
        _Step(_LOAD, 0, 0, _AT_NUMBER),
        *(_Step(_JUMP_IF_EQUAL, len(calls) - i, 0, call) for i, call in enumerate(calls)),
        _Step(_RETURN, 0, 0, _ALLOW),
        _Step(_RETURN, 0, 0, _FAIL),
    ]
    program = _Program(len(steps), (_Step * len(steps))(*steps))
    libc = ctypes.CDLL(None, use_errno=True)
    libc.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0)
    return bool(libc.prctl(_SET_SECCOMP, _FILTER_MODE, ctypes.byref(program), 0, 0) == 0)
