"""Layout: how long the flat strip is, where its bends are, and whether they can be made."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from moldgen.bend.strip.choices import LegsBy
from moldgen.bend.strip.flat import BendLine, Layout
from moldgen.bend.strip.layout_rules import layout_findings
from moldgen.bend.strip.part import Bend, StripSpec
from moldgen.errors import SpecError
from moldgen.finding import ranked
from moldgen.physics.bending import heated_width_mm, outer_stretch, setback_mm

__all__ = ["BendLine", "Layout", "build_layout"]


def build_layout(strip: StripSpec) -> Layout:
    """Lay a bent strip flat.

    Parameters
    ----------
    strip : StripSpec
        Legs and bends.

    Returns
    -------
    Layout
        Lengths, lines to mark and what is doubtful.

    Raises
    ------
    SpecError
        If a leg is shorter than the bends at its ends take, so that they overlap or leave the
        strip; or if the strip's own outline is not as long as its legs and bends make it.
    """
    losses_mm = [_loss_mm(strip, index) for index in range(len(strip.bends))]
    flats_mm = tuple(_flats_mm(strip, losses_mm))
    developed_mm = sum(flats_mm) + sum(strip.allowances_mm)
    _check_outline(strip, developed_mm)
    bare = Layout(
        strip=strip,
        developed_mm=developed_mm,
        lines=tuple(_lines(strip, flats_mm, developed_mm)),
        flats_mm=flats_mm,
    )
    return replace(bare, findings=ranked(layout_findings(bare)))


def _loss_mm(strip: StripSpec, index: int) -> float:
    """Return what a leg, as it was measured, loses to the bend at its end."""
    bend, radius_mm = strip.bends[index], strip.radii_mm[index]
    if strip.legs_by is LegsBy.FLAT:
        return strip.allowances_mm[index] / 2
    face_mm = radius_mm + (strip.thickness_mm if strip.legs_by is LegsBy.OUTSIDE else 0.0)
    return face_mm if bend.is_fold else setback_mm(bend.angle_deg, face_mm)


def _flats_mm(strip: StripSpec, losses_mm: list[float]) -> Iterator[float]:
    before, after = (0.0, *losses_mm), (*losses_mm, 0.0)
    for index, leg_mm in enumerate(strip.legs_mm):
        lost_mm = before[index] + after[index]
        # A leg that is taken up to the last thousandth is meant to be nothing but its bends.
        if leg_mm - lost_mm < -1e-3:
            raise SpecError(
                f"leg {index + 1}",
                f"at least {lost_mm:.2f} mm, which its bends take",
                f"{leg_mm:g} mm",
                "Make the leg longer, or the inside radius smaller.",
            )
        yield max(0.0, leg_mm - lost_mm)


def _lines(
    strip: StripSpec, flats_mm: tuple[float, ...], developed_mm: float
) -> Iterator[BendLine]:
    starts_mm, at_mm = [], 0.0
    for flat_mm, allowance_mm in zip(flats_mm, strip.allowances_mm, strict=False):
        starts_mm.append(at_mm + flat_mm)
        at_mm += flat_mm + allowance_mm
    middles_mm = [
        start_mm + allowance_mm / 2
        for start_mm, allowance_mm in zip(starts_mm, strip.allowances_mm, strict=True)
    ]
    stops_mm = (0.0, *middles_mm, developed_mm)
    for index, bend in enumerate(strip.bends):
        yield _line(strip, bend, index, start_mm=starts_mm[index], stops_mm=stops_mm[index:])


def _line(
    strip: StripSpec, bend: Bend, index: int, *, start_mm: float, stops_mm: tuple[float, ...]
) -> BendLine:
    T, R, K = strip.thickness_mm, strip.radii_mm[index], strip.neutral
    before_mm, center_mm, after_mm, *_ = stops_mm
    allowance_mm = strip.allowances_mm[index]
    corner_mm = None if bend.is_fold else setback_mm(bend.angle_deg, R + T)
    return BendLine(
        number=index + 1,
        bend=bend,
        radius_mm=R,
        center_mm=center_mm,
        from_previous_mm=center_mm - before_mm,
        to_next_mm=after_mm - center_mm,
        start_mm=start_mm,
        end_mm=start_mm + allowance_mm,
        allowance_mm=allowance_mm,
        setback_mm=corner_mm,
        deduction_mm=2 * (R + T if corner_mm is None else corner_mm) - allowance_mm,
        heated_width_mm=heated_width_mm(bend.angle_deg, R, T, neutral=K),
        stretch=outer_stretch(R, T, neutral=K),
    )


def _check_outline(strip: StripSpec, developed_mm: float) -> None:
    if strip.outline is None:
        return
    left_mm, near_mm, right_mm, far_mm = strip.outline.bounds
    _check_span("length", (left_mm, right_mm), developed_mm)
    _check_span("width", (near_mm, far_mm), strip.width_mm)


def _check_span(way: str, span_mm: tuple[float, float], wanted_mm: float) -> None:
    if max(abs(span_mm[0]), abs(span_mm[1] - wanted_mm)) > 0.05:
        raise SpecError(
            "outline",
            f"drawn from 0 to the {way} of the flat strip, {wanted_mm:.2f} mm",
            f"{span_mm[0]:.2f} to {span_mm[1]:.2f} mm",
            "Draw the flat strip at this size, or change the legs.",
        )
