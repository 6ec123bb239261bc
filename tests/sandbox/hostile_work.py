"""Work that does what work should not, for the tests of workers."""

import os
import resource
import socket
import subprocess
import sys
import time
from pathlib import Path

from moldgen.errors import CancelError, FileError, OutlineError, SpecError
from moldgen.execution import checkpoint
from moldgen.sandbox.messages import Message

_REFUSALS = {
    "spec": SpecError("gauge", "0.2 to 6 mm", "9", "Take less."),
    "outline": OutlineError("It crosses itself."),
    "file": FileError("It is not there."),
    "cancel": CancelError("Stopped."),
}


def echo(words, blocks, tell):
    """Answer what was asked, after telling of it."""
    tell({"share": 0.5})
    sys.stdout.write("this must not get among the messages\n")
    return Message({"said": words["say"], "pid": os.getpid()}, [block[::-1] for block in blocks])


def refuse(words, blocks, tell):
    """Raise what the words name."""
    raise _REFUSALS[words["kind"]]


def fail(words, blocks, tell):
    """End with a fault."""
    raise ZeroDivisionError("a fault")


def take_memory(words, blocks, tell):
    """Take more than there may be."""
    return Message({"n": len(bytearray(8 * 2**30))})


def loop(words, blocks, tell):
    """Never end."""
    tell({"begun": True})
    while True:
        pass


def wait(words, blocks, tell):
    """Wait, but listen to who wants to stop it."""
    tell({"begun": True})
    while True:
        time.sleep(0.01)
        checkpoint()


def crash(words, blocks, tell):
    """End the process."""
    os.kill(os.getpid(), 9)


def reach(words, blocks, tell):
    """Try to read, write, start a program and open a socket; answer what was possible."""
    tried = {
        "read": lambda: Path(words["read"]).read_bytes(),
        "own": lambda: Path(words["own"]).write_bytes(b"x"),
        "write": lambda: Path(words["write"]).write_bytes(b"x"),
        "program": lambda: subprocess.run([sys.executable, "-c", "pass"], check=True),
        "socket": lambda: socket.create_connection(("127.0.0.1", words["port"]), timeout=1),
    }
    return Message({name: _possible(act) for name, act in tried.items()})


def surroundings(words, blocks, tell):
    """Answer which words of the surroundings are known."""
    return Message({"names": sorted(os.environ)})


def limits(words, blocks, tell):
    """Answer how large a picture of the memory may be left behind."""
    return Message({"core": resource.getrlimit(resource.RLIMIT_CORE)})


def _hidden(words, blocks, tell):
    """Answer though nobody may ask."""
    return Message({})


def _possible(act):
    try:
        act()
    except OSError:
        return False
    return True
