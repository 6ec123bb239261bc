"""Skin: what the air presses on a mold's shell between ribs or infill lines, and what it stands."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.printing.print_spec import LINE_SHARE
from moldgen.stock import Filament, Printer

ATMOSPHERE_MPA = 0.101325
"""Standard atmosphere: the most that a vacuum can load a skin with. [MPa]."""
SQUARE_BETA = 0.3078
"""Clamped square plate, middle of an edge: Roark's Formulas for Stress and Strain, Table 11.4,
case 8a, from memory. [-]."""
SAFETY = 3.0
"""Strength across the layers over the allowed stress (common practice, no source)."""
INFILLS = (0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50, 0.70)
"""Shares of infill that are tried, the least first. [-]."""
_BASIS = (
    "clamped square plate under one atmosphere, Roark's Formulas for Stress and Strain, Table "
    "11.4 case 8a (from memory); a third of the strength across layers (common practice)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class InfillAdvice:
    """How much infill carries a skin.

    Attributes
    ----------
    infill : float
        Least share that does, or the greatest that was tried. [-]
    cell_mm : float
        Clear width between its lines. [mm]
    stress_MPa, allowed_MPa : float
        What the skin carries there, and what it may. [MPa]
    """

    infill: float
    cell_mm: float
    stress_MPa: float
    allowed_MPa: float

    @property
    def enough(self) -> bool:
        """Whether the skin carries the air."""
        return self.stress_MPa <= self.allowed_MPa


def skin_stress_MPa(span_mm: float, skin_mm: float, *, load_MPa: float = ATMOSPHERE_MPA) -> float:
    r"""Return the greatest stress in a skin over a square cell that holds its edges. [MPa].

    Notes
    -----
    .. math:: \sigma = \beta \, q \, b^2 / t^2

    Thin plates (t <= b/4); over a narrower cell the formula says too much.

    Checked against ``tests/published/square_plate.csv``.
    """
    if not skin_mm > 0:
        raise SpecError("skin_mm", "more than 0 mm", f"{skin_mm:g} mm")
    return SQUARE_BETA * load_MPa * (span_mm / skin_mm) ** 2


def widest_cell_mm(skin_mm: float, filament: Filament) -> float:
    """Return the widest square cell over which a skin stands one atmosphere. [mm]."""
    return float(skin_mm * (allowed_MPa(filament) / (SQUARE_BETA * ATMOSPHERE_MPA)) ** 0.5)


def allowed_MPa(filament: Filament) -> float:
    """Return the stress a printed skin may carry for a short pull. [MPa]."""
    return filament.strength_across_layers_MPa / SAFETY


def infill_advice(filament: Filament, printer: Printer, *, skin_mm: float = 1.2) -> InfillAdvice:
    r"""Return the least infill under which the skin of a solid mold stands the vacuum.

    Notes
    -----
    Lines of width w crossing as squares fill a share rho at a pitch of 2 w / rho; the cell between
    them is one width narrower.
    """
    line = LINE_SHARE * printer.nozzle_mm
    allowed = allowed_MPa(filament)
    for infill in INFILLS:
        cell = max(0.0, 2 * line / infill - line)
        advice = InfillAdvice(
            infill=infill,
            cell_mm=cell,
            stress_MPa=skin_stress_MPa(cell, skin_mm),
            allowed_MPa=allowed,
        )
        if advice.enough and cell <= printer.clean_bridge_mm:
            break
    return advice


def check_skin(
    name: str, *, span_mm: float, skin_mm: float, filament: Filament
) -> tuple[Finding, ...]:
    """Ask whether a skin stands the vacuum over a cell that wide."""
    stress = skin_stress_MPa(span_mm, skin_mm)
    allowed = allowed_MPa(filament)
    if stress <= allowed:
        return ()
    return (
        Finding(
            code="print-skin-weak",
            severity=Severity.CAUTION,
            says=f"a skin of {skin_mm:g} mm over a cell of {span_mm:.0f} mm may break under vacuum",
            measured=stress,
            limit=allowed,
            unit="MPa",
            subject=name,
            basis=_BASIS,
            advice=f"Make the cells at most {widest_cell_mm(skin_mm, filament):.0f} mm wide, or "
            "the skin thicker.",
        ),
    )
