"""How far each kind of number may be trusted, and what it was checked against.

One home for what the report, the answers and the tests say of it: the shares here are what the
tests hold the numbers to (``python -m tests.truth`` prints them side by side).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Trust:
    """How far a kind of number may be trusted.

    Attributes
    ----------
    quantity : str
        What it is a number of, in words.
    share : float, optional
        How far the truth may lie to either side, as a share of the number; none where it is told
        in words alone. [-]
    within : str
        How far, in words; made of the share where left empty.
    checked : str
        Against what it was checked, and what was never checked.
    """

    quantity: str
    checked: str
    share: float | None = None
    within: str = ""

    @property
    def text(self) -> str:
        """How far, in words."""
        return self.within or f"to about {100 * (self.share or 0):.0f} %"

    def band(self, value: float) -> tuple[float, float]:
        """Return the least and greatest that a number may truly be, in its own unit.

        Raises
        ------
        ValueError
            If how far is told in words alone.
        """
        if self.share is None:
            raise ValueError(f"{self.quantity}: no share is promised")
        return value * (1 - self.share), value * (1 + self.share)


SIZES = Trust(
    quantity="sizes, draft and volume of the mold as a file",
    share=0.001,
    within="to 0.02 mm; the print itself to about 0.2 mm",
    checked="closed forms of cones and blocks; a print's own errors are common practice, no source",
)

SAWN = Trust(
    quantity="sizes and draft of the layers, as drawn",
    share=None,
    within="to 0.02 mm; a saw by hand to about 0.5 mm and half a degree",
    checked="closed forms of cones and blocks; what a saw keeps to is common practice, no source",
)

DRAW = Trust(
    quantity="draw ratios and mean thickness",
    share=0.01,
    checked="worked examples of SPE Thermoforming 101 and Crawford's Plastics Engineering",
)

FACE_THICKNESS = Trust(
    quantity="thickness of the formed sheet on faces and walls",
    share=0.10,
    checked="the equations of a rubber sheet (Adkins and Rivlin 1952) and closed forms of troughs "
    "to 1 or 2 %; measured PETG parts agreed with a simulation of this kind within 10 % "
    "(Dent. J. 2025, 13(10), 454); no part of this program's own was measured",
)

CORNER_THICKNESS = Trust(
    quantity="thickness of the formed sheet in corners and at the foot",
    share=0.20,
    checked="the closed form of a long square corner to 2 %; friction and cooling on the mold are "
    "left out; no corner was measured",
)

HEATING = Trust(
    quantity="heating time",
    share=0.35,
    within="as its band says, a quarter to a third; a timed sheet narrows it",
    checked="worked examples of Incropera and the series of Carslaw and Jaeger to 1 %; the trade's "
    "30 s for 0.75 mm styrene within a third (common practice, no source)",
)

COOLING = Trust(
    quantity="cooling time and temperatures of the mold",
    share=0.30,
    within="to about 30 %, edges to about 10 °C",
    checked="contact of two bodies in closed form and finite differences in two dimensions; no "
    "mold was measured",
)

MOLD_LIFE = Trust(
    quantity="cycles that a printed mold stands",
    within="to a factor of two; a trial on your mold counts for more",
    checked="one published report of three formings on PLA (Materials 2023, 16(13), 4835)",
)

VACUUM = Trust(
    quantity="time of the vacuum",
    share=0.20,
    checked="worked examples of Cengel and Balmer to 0.3 %; the flow through a drilled hole "
    "(discharge 0.8) differs by a fifth; no table was timed",
)

STRENGTH = Trust(
    quantity="what the print bears under the vacuum",
    share=0.30,
    within="stresses to about 30 %; a third of the strength is allowed",
    checked="Roark's Formulas for Stress and Strain to 1 %; prints differ by more than that",
)

RELEASE = Trust(
    quantity="release force",
    within="half to twice: an order of magnitude",
    checked="arithmetic alone; no measured force was found",
)

PRINTING = Trust(
    quantity="print time and filament",
    share=0.10,
    within="to about 10 % of a slicer at the same settings, filament to 5 %",
    checked="29 prints sliced by a general slicer",
)

FLAT_LENGTH = Trust(
    quantity="flat length and bend lines of a strip",
    share=0.01,
    within="to 0.1 mm for a known neutral line; which is known to about 1 mm a bend",
    checked="worked parts of a sheet-metal workbook and the FAA's airframe handbook",
)

DWELL = Trust(
    quantity="dwell over the strip heater",
    share=0.35,
    within="as its band says, about a third; one timed strip replaces the heater's part",
    checked="finite differences of another make to 3 %; two minutes a side for 3 mm acrylic "
    "(common practice, no source)",
)

FORMED = (FACE_THICKNESS, CORNER_THICKNESS)
"""What a forming run tells."""

HEATED = (HEATING, COOLING, MOLD_LIFE)
"""What is told of a sheet on a table."""

PRINTED = (SIZES, PRINTING)
"""What is told of anything that is printed."""

MOLD = (*PRINTED, DRAW, *HEATED, VACUUM, STRENGTH, RELEASE)
"""What is told of a mold."""

STRIP = (FLAT_LENGTH, DWELL, *PRINTED)
"""What is told of a bent strip."""


def trust_in_mold(*, is_formed: bool) -> tuple[Trust, ...]:
    """Return what is told of a mold, with the thickness of the sheet if it was formed."""
    return (*MOLD, *FORMED) if is_formed else MOLD


def trust_in_wood(*, is_formed: bool) -> tuple[Trust, ...]:
    """Return what is told of a mold that is built from boards."""
    told = trust_in_mold(is_formed=is_formed)
    others = [one for one in told if one not in (SIZES, MOLD_LIFE, STRENGTH, RELEASE, PRINTING)]
    return (SAWN, *others)
