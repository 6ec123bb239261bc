"""Start the page: processes, database, server; say where it is; end without losing anything."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moldgen.errors import FileError, SpecError
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.stock import user_stock_file
from moldgen.user_file import database_file
from moldgen.web.app import page_app
from moldgen.web.page_stock import PageStock
from moldgen.web.room import PageRoom
from moldgen.web.store.classes import secret
from moldgen.web.store.database import Database
from moldgen.web.work_queue import Lane, WorkQueue

_LIMITS = ProcessLimits(wall_s=120.0, processor_s=90.0, memory_MB=3000.0)
_WARM = (
    (Lane.PICTURE, "picture"),
    (Lane.REST, "findings"),
    (Lane.REST, "sheet"),
)
"""What each process is warmed with."""


@dataclass(frozen=True, kw_only=True)
class PageSpec:
    """How the page is started.

    Attributes
    ----------
    folder : path
        Where it keeps everything.
    port : int
        Where it listens.
    is_open : bool
        Whether other machines of the network reach it.
    n_workers : int
        How many processes compute.
    """

    folder: Path
    port: int
    is_open: bool
    n_workers: int


class PageServer:
    """A page that is ready to be served.

    Raises
    ------
    FileError
        If its folder cannot be written to.
    """

    def __init__(self, spec: PageSpec) -> None:
        self.spec = spec
        try:
            spec.folder.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise FileError(f"{spec.folder} cannot be made: {problem.strerror}.") from problem
        self._database = Database(database_file(spec.folder))
        self._queue = WorkQueue(spec.n_workers, _LIMITS)
        self.room = PageRoom(
            database=self._database,
            queue=self._queue,
            data=spec.folder,
            stock=PageStock(user_stock_file()),
            cookie_key=secret(self._database, "cookies"),
            teacher_key=secrets.token_urlsafe(18),
            addresses=tuple(addresses(spec.port)) if spec.is_open else (),
        )

    @property
    def teacher_link(self) -> str:
        """What the teacher opens."""
        return f"http://127.0.0.1:{self.spec.port}/teach?key={self.room.teacher_key}"

    def warm(self, tell: Callable[[float], None]) -> None:
        """Have every process do one of everything, so that nobody waits for it later."""
        words = {"wish": {"beginning": "word", "values": {"words": ["AB"]}}}
        orders = [
            self._queue.submit(lane, f"warming {number}", work, {**words, "warm": number})
            for lane, work in _WARM
            for number in range(self.spec.n_workers)
        ]
        orders.append(self._queue.submit(Lane.PICTURE, "the shapes", "shape_outlines", {}))
        for number, order in enumerate(orders):
            tell(number / len(orders))
            order.exception()  # what fails now is told to whoever asks for it later
        tell(1.0)

    def run(self, ready: Callable[[], None] = lambda: None) -> None:
        """Serve until the person stops it; what is being written is finished.

        Parameters
        ----------
        ready : callable
            Called once, as soon as the page answers.
        """
        import uvicorn

        class Server(uvicorn.Server):
            """One that tells when it listens."""

            async def startup(self, sockets: list[socket.socket] | None = None) -> None:
                await super().startup(sockets)
                ready()

        config = uvicorn.Config(
            page_app(self.room),
            host="0.0.0.0" if self.spec.is_open else "127.0.0.1",
            port=self.spec.port,
            log_level="warning",
            access_log=False,  # addresses and names are nobody's business
            server_header=False,
            timeout_graceful_shutdown=5,
        )
        try:
            Server(config).run()
        except KeyboardInterrupt:
            pass  # handed on by the server, which has finished what it was doing
        finally:
            self.close()

    def close(self) -> None:
        """Finish what is being written, and end the processes."""
        self.room.runs.close()
        self._queue.close()
        self._database.close()


def free_port(wanted: int) -> int:
    """Return the port, if nothing listens there.

    Raises
    ------
    SpecError
        If something does.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind(("127.0.0.1", wanted))
        except OSError:
            hint = "Another page may run already; end it, or take another port."
            raise SpecError("port", "one that is free", str(wanted), hint) from None
    return wanted


def addresses(port: int) -> Iterator[str]:
    """Yield under which addresses the machines of the network reach this one."""
    seen = set()
    for address in _own_addresses():
        if address not in seen and not address.startswith("127."):
            seen.add(address)
            yield f"http://{address}:{port}"


def _own_addresses() -> Iterator[str]:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # for documentation: nothing is sent there
            yield asked.getsockname()[0]
        except OSError:
            pass
    try:
        found: list[Any] = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
    except OSError:
        return
    for entry in found:
        yield entry[4][0]
