"""Draft, radii and vent sizes by rule: each with its value, its reason and its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil, floor

from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.mold.features import Direction, Wall
from moldgen.quantity import Quantity
from moldgen.solid.loft.profile import fillet_room_mm
from moldgen.stock import Plastic, Printer, Sheet, Structure
from moldgen.wording import gauge_text

# One degree for each 0.001 in of texture depth, female (common practice; guides differ, 1 to 1.5°).
_DEG_PER_TEXTURE_MM = 1.0 / 0.0254
# Depth of the grooves between printed layers as a share of the layer (common practice, no source).
_GROOVE_SHARE = 0.15
_DEEP_MM = 50.0
_LEAST_RADIUS_MM = 1.5
_RELIEF_MM = 5.0
# Vent holes that do not mark: Schwarzmann, Thermoforming: A Practical Guide (from memory).
_VENT_MM = {Structure.AMORPHOUS: 1.0, Structure.CRYSTALLINE: 0.6}
_LEAST_VENT_MM = 0.5

LEAST_DRILLED_MM = 0.8
"""Finest hole that is drilled by hand: finer drills break, and few shops have them (common
practice, no source). [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A value that a rule asks for.

    Attributes
    ----------
    value : float
        In ``unit``.
    unit : str
        Such as ``mm`` or ``°``.
    because : str
        How it came about, in words with the numbers.
    basis : str
        Where the rule comes from.
    """

    value: float
    unit: str
    because: str
    basis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WallRules:
    """What the rules ask of one wall."""

    draft: Rule
    top_radius: Rule
    base_radius: Rule


def wall_rules(
    direction: Direction, height_mm: float, *, sheet: Sheet, printer: Printer
) -> WallRules:
    """Return the draft and radii a wall should have.

    Parameters
    ----------
    direction : Direction
        The sheet shrinks onto a raised wall (male) and off a sunk one (female).
    height_mm : float
        Height of the wall. [mm]
    """
    draft = draft_rule(direction, height_mm, plastic=sheet.plastic, layer_mm=printer.layer_mm)
    top_radius = radius_rule(sheet.gauge_mm, height_mm)
    return WallRules(draft=draft, top_radius=top_radius, base_radius=top_radius)


def draft_rule(
    direction: Direction, height_mm: float, *, plastic: Plastic, layer_mm: float
) -> Rule:
    """Return the least draft: the plastic's, more for printed layers, more for deep walls. [°]."""
    raised = direction is Direction.RAISED
    base = plastic.draft_male_deg if raised else plastic.draft_female_deg
    source = plastic.sources.get("draft_male_deg" if raised else "draft_female_deg", "")
    texture = groove_mm(layer_mm) * _DEG_PER_TEXTURE_MM
    deep = 1.0 if height_mm > _DEEP_MM else 0.0
    value = ceil((base + texture + deep) * 2 - 1e-9) / 2
    kind = "the part shrinks onto it" if raised else "the part shrinks off it"
    because = f"{base:g}° for {plastic.name} ({kind}), {texture:.1f}° for {layer_mm:g} mm layers"
    if deep:
        because += f", {deep:g}° for a wall over {_DEEP_MM:g} mm"
    return Rule(
        value=value,
        unit="°",
        because=because + "; rounded up to half a degree",
        basis=f"{source}; 1° for 0.001 in of texture: common practice, no source",
    )


def groove_mm(layer_mm: float) -> float:
    """Return how deep the grooves between printed layers are. [mm]."""
    return _GROOVE_SHARE * layer_mm


def radius_rule(gauge_mm: float, height_mm: float) -> Rule:
    """Return the least edge radius: the sheet's thickness, on tall walls never under 1.5 mm. [mm].

    Parameters
    ----------
    gauge_mm : float
        Thickness of the sheet. [mm]
    height_mm : float
        Height of the wall; up to 5 mm it is a relief, in which the sheet thins little. [mm]
    """
    relief = height_mm <= _RELIEF_MM
    least = "" if relief else f", and never under {_LEAST_RADIUS_MM:g} mm on a wall over "
    return Rule(
        value=gauge_mm if relief else max(gauge_mm, _LEAST_RADIUS_MM),
        unit="mm",
        because=f"the sheet's thickness, {gauge_text(gauge_mm)}"
        + (f"{least}{_RELIEF_MM:g} mm" if least else ""),
        basis="common practice, no source (trade guides agree)",
    )


def vent_rule(plastic: Plastic, local_mm: float) -> Rule:
    """Return the largest vent that leaves no mark: by plastic and by the sheet's thickness. [mm].

    Parameters
    ----------
    plastic : Plastic
        What the sheet is made of.
    local_mm : float
        Thickness of the formed sheet. [mm]

    Raises
    ------
    SpecError
        If the thickness is not more than 0.
    """
    Quantity("mm", "thickness of the formed sheet", above=0).check("local_mm", local_mm)
    family = _VENT_MM[plastic.structure]
    wanted = floor(min(family, local_mm) * 10 + 1e-9) / 10
    value = max(_LEAST_VENT_MM, wanted)
    least = f", but never under {_LEAST_VENT_MM:g} mm, the finest opening worth making"
    return Rule(
        value=value,
        unit="mm",
        because=f"at most {family:g} mm for {plastic.structure} plastics, "
        f"and no wider than the formed sheet is thick ({local_mm:.2f} mm)"
        + (least if wanted < value else ""),
        basis="Schwarzmann, Thermoforming: A Practical Guide; "
        "Throne, Technology of Thermoforming (both from memory)",
    )


def hole_rule(rule: Rule) -> Rule:
    """Return how wide round vents are: as leaves no mark, but never finer than can be drilled.

    Parameters
    ----------
    rule : Rule
        How wide an opening leaves no mark. [mm]
    """
    if rule.value >= LEAST_DRILLED_MM:
        return rule
    return replace(
        rule,
        value=LEAST_DRILLED_MM,
        because=f"the finest hole that is drilled by hand; up to {rule.value:g} mm would leave no "
        f"mark: {rule.because}",
    )


def slit_rule(rule: Rule, slit_mm: float) -> Rule | None:
    """Return how wide slits are: as narrow as the printer leaves open; None if that marks.

    Parameters
    ----------
    rule : Rule
        How wide an opening leaves no mark. [mm]
    slit_mm : float
        Narrowest slit that the printer leaves open. [mm]
    """
    if slit_mm > rule.value + 1e-9:
        return None
    return Rule(
        value=slit_mm,
        unit="mm",
        because="the narrowest slit that the printer leaves open; up to "
        f"{rule.value:g} mm would leave no mark",
        basis="the printer's least slit: common practice, no source; moldgen test-piece measures "
        "your own",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedWall:
    """What a person said about a wall; None leaves it to the rules."""

    height_mm: float
    draft_deg: float | None = None
    top_radius_mm: float | None = None
    base_radius_mm: float | None = None


def settle_wall(wanted: WantedWall, rules: WallRules, *, on_table: bool) -> Wall:
    """Return the section: what was asked for, else what the rules say as far as it fits.

    Parameters
    ----------
    on_table : bool
        A body's wall runs straight to the table: its base_radius is 0 unless asked for.
    """
    draft = rules.draft.value if wanted.draft_deg is None else wanted.draft_deg
    room = fillet_room_mm(wanted.height_mm, draft) * (1 - 1e-6)
    base_radius = wanted.base_radius_mm
    if base_radius is None:
        base_radius = (
            0.0
            if on_table
            else min(rules.base_radius.value, room * (0.5 if wanted.top_radius_mm is None else 1))
        )
    top_radius = wanted.top_radius_mm
    if top_radius is None:
        top_radius = min(
            rules.top_radius.value, max(0.0, room - base_radius) * (0.8 if on_table else 1.0)
        )
    if wanted.base_radius_mm is None and not on_table:
        base_radius = min(base_radius, max(0.0, room - top_radius))
    return Wall(
        height_mm=wanted.height_mm,
        draft_deg=draft,
        top_radius_mm=top_radius,
        base_radius_mm=base_radius,
    )


def check_wall(name: str, wall: Wall, rules: WallRules, *, on_table: bool) -> Iterator[Finding]:
    """Find where a wall stays under its rules: by request, or because it is too low."""
    asked = (
        ("draft", wall.draft_deg, rules.draft),
        ("top_radius", wall.top_radius_mm, rules.top_radius),
        ("base_radius", wall.base_radius_mm, rules.base_radius),
    )
    for word, measured, rule in asked:
        if measured < rule.value - 1e-6 and not (word == "base_radius" and on_table):
            yield _under(name, word, measured, rule)


_UNDER = {
    "draft": (
        "the draft is less than the rule's",
        "The part may stick; use the rule's draft, or talc the mold and take it off early.",
    ),
    "top_radius": (
        "the upper edge is sharper than the rule's",
        "The sheet thins over a sharp edge; a thinner sheet or a taller wall leaves room for more.",
    ),
    "base_radius": (
        "the lower edge is sharper than the rule's",
        "The sheet bridges a sharp inside edge; a thinner sheet or a taller wall leaves room.",
    ),
}


def _under(name: str, word: str, measured: float, rule: Rule) -> Finding:
    says, advice = _UNDER[word]
    # Half of the rule and less is where trade guides stop calling it tight and call it wrong.
    grave = measured < 0.5 * rule.value
    return Finding(
        code=f"{word.replace('_', '-')}-under-rule",
        severity=Severity.CAUTION if grave else Severity.NOTE,
        says=says,
        measured=measured,
        limit=rule.value,
        unit=rule.unit,
        subject=name,
        basis=f"{rule.because} ({rule.basis})",
        advice=advice,
        cures=(Cure(field=Remedy(word), way=Way.HIGHER, least=rule.value),),
    )
