"""What every test of the page stands on."""

from support.page import browser, code, room, student, teacher

__all__ = ["browser", "code", "room", "student", "teacher"]
