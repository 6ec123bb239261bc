"""What a ready-made strip holds: a thing by its name, or by its sizes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from moldgen.bend.preset.choices import StripKind
from moldgen.errors import SpecError
from moldgen.file_value import read_number
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.wording import did_you_mean, fold, shown

_SIZE = Quantity("mm", "a size of what is held", above=0, at_most=500)
_NAMED_MM: dict[str, tuple[float, ...]] = {
    "post card": (148.0, 105.0), "business card": (85.0, 55.0), "DL": (99.0, 210.0),
    "A6": (105.0, 148.0), "A5": (148.0, 210.0), "A4": (210.0, 297.0), "Letter": (215.9, 279.4),
    "book": (150.0, 210.0), "phone": (78.0, 165.0, 13.0), "tool": (30.0, 200.0),
}  # fmt: skip
"""Width and height, and thickness where it is always the same. A sizes: ISO 216; Letter: ANSI
Y14.1; DL: a third of A4; a phone is in its case; the others are usual, no source. [mm]."""
_THICK_MM = {
    StripKind.CARD_STAND: 0.5, StripKind.LEAFLET_HOLDER: 20.0, StripKind.PHONE_STAND: 13.0,
    StripKind.BOOK_REST: 20.0, StripKind.BOOK_END: 120.0, StripKind.WALL_HOOK: 20.0,
}  # fmt: skip
"""How thick it is where nobody says: a card, a stack, a phone in its case, a book, a row of books,
the handle of a tool; usual, no source. [mm]."""
_USUAL = {
    StripKind.CARD_STAND: "post card", StripKind.LEAFLET_HOLDER: "DL",
    StripKind.PHONE_STAND: "phone", StripKind.BOOK_REST: "book", StripKind.BOOK_END: "book",
    StripKind.WALL_HOOK: "tool",
}  # fmt: skip
_PAPER_KG_M3 = 800.0
_PHONE_KG_M3 = 1300.0
_TOOL_KG = 0.5
_WORDS = re.compile(r"(?P<name>[^\d\"]*?)[\s:,]*(?P<sizes>\d.*)?", re.DOTALL)
_BY = re.compile(r"\s*[x×]\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldThing(Spec):
    """What a ready-made strip holds."""

    name: Annotated[str, Meaning("what findings and the title call it")]
    wide_mm: Annotated[float, _SIZE]
    tall_mm: Annotated[float, _SIZE]
    thick_mm: Annotated[float, _SIZE]
    mass_kg: Annotated[float, Quantity("kg", "its mass", above=0, at_most=100)]


def held_thing(words: str, kind: StripKind, *, mass_kg: float | None = None) -> HeldThing:
    """Return what is held from words such as ``A5``, ``phone`` or ``phone 80 x 170 x 14``.

    Parameters
    ----------
    words : str
        A name, or width x height, or width x height x thickness, in mm or with units; or a name
        and sizes. Empty for what is usual.
    kind : StripKind
        What holds it.
    mass_kg : float, optional
        Its mass; by its size if left out. [kg]

    Raises
    ------
    SpecError
        If it is neither a known name nor sizes.
    """
    words = " ".join(words.split()) or _USUAL[kind]
    named = {fold(name): name for name in _NAMED_MM}
    known = named.get(fold(words))
    name, sizes = (known, _NAMED_MM[known]) if known else _read(words)
    wide_mm, tall_mm, *rest = sizes
    thick_mm = rest[0] if rest else _THICK_MM[kind]
    return HeldThing(
        name=name,
        wide_mm=wide_mm,
        tall_mm=tall_mm,
        thick_mm=thick_mm,
        mass_kg=mass_kg or _mass_kg(kind, wide_mm * tall_mm * thick_mm),
    )


def _read(words: str) -> tuple[str, tuple[float, ...]]:
    match = _WORDS.fullmatch(words)
    if match is None or not match["sizes"]:
        hint = did_you_mean(words, list(_NAMED_MM))
        raise SpecError("holds", "a known thing or W x H x T", shown(words), hint)
    sizes = tuple(read_number("holds", one, _SIZE) for one in _BY.split(match["sizes"]))
    if not 2 <= len(sizes) <= 3:
        raise SpecError("holds", "like A5 or 148 x 105 x 1", shown(words), "Give two or three.")
    name = match["name"].strip()
    return name or " x ".join(f"{size:g}" for size in sizes), sizes


def _mass_kg(kind: StripKind, volume_mm3: float) -> float:
    """Return a usual mass, to a gram: dense as paper, or as a phone."""
    if kind is StripKind.WALL_HOOK:
        return _TOOL_KG
    density = _PHONE_KG_M3 if kind is StripKind.PHONE_STAND else _PAPER_KG_M3
    return max(round(density * volume_mm3 * 1e-9, 3), 0.001)
