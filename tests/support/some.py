"""A collection that is not empty, for tests that assert in a loop."""

from collections.abc import Iterable
from typing import TypeVar

Thing = TypeVar("Thing")


def some(things: Iterable[Thing]) -> list[Thing]:
    """Return what a loop goes over, and fail where it is nothing: such a loop asserts nothing."""
    listed = list(things)
    assert listed, "a loop over nothing asserts nothing"
    return listed
