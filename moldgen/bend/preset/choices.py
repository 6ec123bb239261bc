"""Choices: which ready-made strips there are."""

from __future__ import annotations

from enum import StrEnum


class StripKind(StrEnum):
    """A ready-made bent strip."""

    CARD_STAND = "card-stand"
    """A back that leans, a ledge in front, a prop behind."""
    LEAFLET_HOLDER = "leaflet-holder"
    """The same with a front that keeps a stack."""
    PHONE_STAND = "phone-stand"
    """The same as for a card, leaning further, its ledge deep enough for a phone in its case."""
    BOOK_REST = "book-rest"
    """The same for an open or a closed book."""
    BOOK_END = "book-end"
    """A foot under the books and an upright beside them."""
    WALL_HOOK = "wall-hook"
    """A plate with two screw holes, an arm and a lip."""
