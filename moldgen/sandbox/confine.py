"""What a process takes away from itself before it reads anything that a stranger made."""

from __future__ import annotations

import os
import sys
import sysconfig
from collections.abc import Iterator
from mimetypes import knownfiles
from pathlib import Path

from moldgen.sandbox.landlock import confine_files
from moldgen.sandbox.no_sockets import refuse_sockets
from moldgen.sandbox.process_limits import ProcessLimits

_MB = 2**20
_SYSTEM = ("/lib", "/lib64", "/usr/lib", "/usr/lib64", "/usr/local/lib", "/etc/ld.so.cache")
_FONTS = ("/usr/share/fonts", "/usr/local/share/fonts", "~/.local/share/fonts", "~/.fonts")
_DEVICES = ("/dev/null", "/dev/urandom", "/dev/zero", "/proc/cpuinfo", "/proc/meminfo")
_PROCESSORS = ("/sys/devices/system/cpu", "/proc/self")


def confine(limits: ProcessLimits) -> tuple[str, ...]:
    """Take away from this process what its work does not need, for good.

    It has to come before other threads are started.

    Returns
    -------
    tuple of str
        What is in force: ``memory`` (and the other limits of the system), ``files``, ``network``.
    """
    in_force = []
    if _limit_resources(limits):
        in_force.append("memory")
    if confine_files(_readable(limits), [limits.folder] if limits.folder else []):
        in_force.append("files")
    if refuse_sockets():
        in_force.append("network")
    return tuple(in_force)


def allow_processor_time(seconds: float) -> None:
    """Let the work that begins now take so long, and not longer, on the processors. [s]."""
    try:
        import resource
    except ImportError:  # Windows: the clock alone ends it
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    soft = int(used.ru_utime + used.ru_stime + seconds) + 1
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    resource.setrlimit(resource.RLIMIT_CPU, (soft, hard))


def _limit_resources(limits: ProcessLimits) -> bool:
    try:
        import resource
    except ImportError:
        return False
    for what, most in (
        (resource.RLIMIT_AS, int(limits.memory_MB * _MB)),
        (resource.RLIMIT_FSIZE, int(limits.file_MB * _MB)),
        (resource.RLIMIT_NOFILE, limits.open_files),
        (resource.RLIMIT_CORE, 0),
    ):
        hard = resource.getrlimit(what)[1]
        allowed = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (allowed, allowed))
    os.nice(5)
    return True


def _readable(limits: ProcessLimits) -> Iterator[Path]:
    """Yield where Python, this package, what both stand on, fonts and kept loops are.

    And the kinds of files that a system lists, which whatever reads workbooks asks for.
    """
    for path in {sys.prefix, sys.base_prefix, *sysconfig.get_paths().values(), *sys.path}:
        if path:
            yield Path(path)
            yield from _linked(Path(path))
    for group in (_SYSTEM, _FONTS, _DEVICES, _PROCESSORS, knownfiles):
        yield from (Path(path).expanduser() for path in group)
    yield Path(os.environ.get("XDG_CACHE_HOME") or "~/.cache").expanduser() / "numba"
    if os.environ.get("NUMBA_CACHE_DIR"):
        yield Path(os.environ["NUMBA_CACHE_DIR"])
    yield from limits.readable


def _linked(folder: Path) -> Iterator[Path]:
    """Yield where links of a folder lead: some installers link packages from elsewhere."""
    try:
        with os.scandir(folder) as entries:
            yield from (Path(entry.path).resolve() for entry in entries if entry.is_symlink())
    except OSError:
        return
