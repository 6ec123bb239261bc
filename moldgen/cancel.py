"""A run that can be stopped from outside: by another thread, a signal, a page that was left."""

from __future__ import annotations

from threading import Event

from moldgen.errors import CancelError


class Cancel:
    """A wish to stop, asked for between short pieces of work."""

    def __init__(self) -> None:
        self._event = Event()

    def request(self) -> None:
        """Ask the run to stop; it does so within a tenth of a second."""
        self._event.set()

    @property
    def requested(self) -> bool:
        """Whether the run has been asked to stop."""
        return self._event.is_set()

    def check(self) -> None:
        """Return at once, unless the run has been asked to stop.

        Raises
        ------
        CancelError
            If it has.
        """
        if self.requested:
            raise CancelError("the run was cancelled")
