"""A wish to stop, and that it is heard."""

import pytest
from moldgen.cancel import Cancel

from moldgen.errors import CancelError, MoldgenError


def test_nobody_has_asked_at_first():
    """A fresh wish lets everything go on."""
    cancel = Cancel()
    cancel.check()

    assert not cancel.requested


def test_a_request_is_kept():
    """Asked once, it stays asked, and a check tells so as a failure of moldgen's own."""
    cancel = Cancel()
    cancel.request()
    cancel.request()

    assert cancel.requested
    with pytest.raises(CancelError, match="the run was cancelled"):
        cancel.check()
    assert issubclass(CancelError, MoldgenError)
