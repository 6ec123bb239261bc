"""What can go wrong, from the caller's side.

* MoldgenError
  - SpecError       a number or choice the caller gave is out of range
  - OutlineError    the drawing itself cannot be used (open, crossing, empty)
  - FileError       a file cannot be read or written
  - GeometryError   the solid modeler could not finish a valid request
  - CancelError     somebody stopped the work
"""

from __future__ import annotations


class MoldgenError(Exception):
    """Base class: catching it catches every failure moldgen raises on purpose."""


_LONGEST_GOT = 200
"""As much of what was given is told again. [characters]"""


class SpecError(MoldgenError, ValueError):
    """A field of a specification breaks its rule.

    The parts are kept so that the command line can name the option and a page
    can mark the input; ``str(error)`` is the whole sentence.
    """

    def __init__(self, field: str, rule: str, got: str, hint: str = "") -> None:
        got = got if len(got) <= _LONGEST_GOT else f"{got[:_LONGEST_GOT]}..."
        self.field, self.rule, self.got, self.hint = field, rule, got, hint
        super().__init__(f"{field} must be {rule} (got {got}). {hint}".rstrip())

    def at(self, field: str) -> SpecError:
        """Return the same failure, told of another field: of the place the value came from."""
        return SpecError(field, self.rule, self.got, self.hint)


class OutlineError(MoldgenError, ValueError):
    """The drawing cannot be turned into a closed, simple region."""


class FileError(MoldgenError, OSError):
    """A file cannot be read or written; the sentence names the file and what to do."""


class GeometryError(MoldgenError, RuntimeError):
    """The solid modeler reported a failure, or returned something impossible."""


class CancelError(MoldgenError):
    """The work was stopped by somebody, which is no failure; nothing was written."""
