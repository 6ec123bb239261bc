"""An order: a wish with all that a worker needs for it, as it arrives in a message."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from moldgen.api.design import design
from moldgen.errors import SpecError
from moldgen.finding import Finding, sentence
from moldgen.language import Language, in_words, speak
from moldgen.stock import Shop
from moldgen.units_text import Units, as_read, read_in
from moldgen.web.page_stock import EXPERIENCE, shop_of
from moldgen.web.wish import UPLOAD, Beginning, DesignWish

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing
    from moldgen.pipeline.mold.design import MoldDesign


@dataclass(frozen=True, kw_only=True)
class WishOrder:
    """A wish that is to be worked on.

    Attributes
    ----------
    wish : DesignWish
        What somebody asks for.
    shop : Shop
        What there is to make it with, and what the log says of it.
    drawings : mapping or None
        The drawing that was brought, under the name that the job has for it.
    units : Units
        What lengths are told in.
    language : Language
        What it is told in.
    largest_mm : float or None
        Longest and widest mold that the class makes; None if that is open. [mm]
    """

    wish: DesignWish
    shop: Shop
    drawings: Mapping[str, Drawing] | None
    units: Units = Units.MM
    language: Language = Language.EN
    largest_mm: float | None = None

    @classmethod
    def from_message(cls, words: Mapping[str, Any], blocks: Sequence[bytes]) -> WishOrder:
        """Return the order that a message tells of.

        Raises
        ------
        MoldgenError
            If it is none, or the drawing cannot be used: one sentence.
        """
        wish = DesignWish.from_words(words["wish"])
        return cls(
            wish=wish,
            shop=shop_of(words.get("stock", {}), words.get(EXPERIENCE, {})),
            drawings={UPLOAD: _drawing_of(wish, blocks)} if blocks else None,
            units=Units(words.get("units", Units.MM)),
            language=Language(words.get("language", Language.EN)),
            largest_mm=words.get("largest_mm"),
        )

    @property
    def is_strip(self) -> bool:
        """Whether it is a strip, which needs no mold."""
        return self.wish.beginning is Beginning.STRIP

    def design(self, *, look: str = "") -> MoldDesign:
        """Return its mold, built as quickly as a preview is.

        Raises
        ------
        SpecError
            If it is a strip, which needs no mold.
        """
        if self.is_strip:
            raise SpecError("beginning", "one of a mold", self.wish.beginning.value)
        values = {**self.wish.values, "forming": look} if look else self.wish.values
        job = replace(self.wish, values=values).mold_job()
        return design(job, self.shop, quality="preview", drawings=self.drawings)

    def told(self, text: str) -> str:
        """Return a text as it is read: in its language, with its lengths."""
        with read_in(self.units), speak(self.language):
            return as_read(text)

    def sentence(self, finding: Finding) -> str:
        """Return what a finding says."""
        with read_in(self.units), speak(self.language):
            return sentence(finding, words=as_read, names=in_words)


def _drawing_of(wish: DesignWish, blocks: Sequence[bytes]) -> Drawing:
    """Return the outlines of the drawing or picture that was brought.

    Raises
    ------
    MoldgenError
        If it cannot be used: one sentence.
    """
    from moldgen.api import readers

    data = blocks[0]
    if wish.beginning is Beginning.PHOTO:
        return readers.outline_from_picture(data, fill=True, name="photo")
    if data.lstrip()[:1] == b"<":
        return readers.outline_from_svg(data, name="drawing")
    return readers.outline_from_dxf(data, name="drawing")
