"""The job of a ready-made strip: plain legs and angles, by what it holds."""

from __future__ import annotations

from moldgen.bend.preset.choices import StripKind
from moldgen.bend.preset.held import HeldThing, held_thing
from moldgen.bend.preset.preset import LEANING, PresetSizes, PresetStrip, preset_strip
from moldgen.bend.strip.choices import LegsBy, Turn
from moldgen.errors import SpecError
from moldgen.job.command.bend import BendCommand, bends_from
from moldgen.job.strip_spec import JobBend, JobHole, JobLoad, JobStand, JobStrip

_USELESS = ("marks_mm", "length_mm", "gap_mm")


def preset_parts(command: BendCommand, kind: StripKind) -> tuple[str, JobStrip, JobStand | None]:
    """Return what a ready-made strip is called, it and how it stands.

    What the command says of legs, angles and sizes is taken in place of what is computed.

    Raises
    ------
    SpecError
        If what it holds is not known, nothing holds it, or words do not go together.
    """
    _check(command, kind)
    mass_kg = None if command.mass_g is None else command.mass_g / 1000
    held = held_thing(command.holds, kind, mass_kg=mass_kg)
    sizes = PresetSizes(
        thickness_mm=command.thickness_mm, width_mm=command.width_mm, lean_deg=command.lean_deg
    )
    preset = preset_strip(kind, held, sizes)
    strip = JobStrip(
        plastic=command.plastic,
        thickness_mm=preset.thickness_mm,
        width_mm=preset.width_mm,
        legs_mm=command.legs_mm or preset.frame.legs_mm,
        legs_by=command.legs_by,
        bend=_bends(command, preset),
        hole=tuple(
            JobHole(along_mm=along, across_mm=across, diameter_mm=diameter)
            for along, across, diameter in preset.holes_mm
        ),
    )
    return _title(kind, held), strip, _stand(command, preset, held)


def _check(command: BendCommand, kind: StripKind) -> None:
    for word in _USELESS:
        if getattr(command, word):
            hint = "Change legs and angles, or leave make out."
            raise SpecError(word, "left out with make", f"{getattr(command, word)}", hint)
    if command.legs_by is not LegsBy.OUTSIDE and not command.legs_mm:
        raise SpecError("legs_by", "left out without legs", repr(str(command.legs_by)))
    if command.lean_deg is not None and kind not in LEANING:
        rule, got = f"used with {', '.join(LEANING)}", f"{command.lean_deg:g}° with {kind}"
        raise SpecError("lean_deg", rule, got, "Leave it out.")


def _bends(command: BendCommand, preset: PresetStrip) -> tuple[JobBend, ...]:
    if command.angles:
        return bends_from(command)
    return tuple(
        JobBend(
            angle_deg=abs(angle),
            turn=Turn.UP if angle > 0 else Turn.DOWN,
            radius_mm=command.radius_mm,
        )
        for angle in preset.frame.angles_deg
    )


def _stand(command: BendCommand, preset: PresetStrip, held: HeldThing) -> JobStand | None:
    if preset.leans_on is None:
        return JobStand() if command.stand else None
    load = JobLoad(
        name=held.name,
        leg=preset.leans_on,
        mass_g=round(1000 * held.mass_kg, 1),
        height_mm=held.tall_mm,
        thickness_mm=held.thick_mm,
    )
    read = preset.leans_on if preset.is_read else None
    return JobStand(stands_on=preset.stands_on, read=read, load=(load,))


def _title(kind: StripKind, held: HeldThing) -> str:
    words = kind.replace("-", " ")
    name = f"{words[0].upper()}{words[1:]} for {held.name}"
    carries = f", {1000 * held.mass_kg:g} g" if kind is StripKind.WALL_HOOK else ""
    return f"{name}{carries}"[:60]
