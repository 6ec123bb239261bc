"""The job that the words of a bend command stand for."""

from __future__ import annotations

from moldgen.bend.preset.choices import StripKind
from moldgen.errors import SpecError
from moldgen.job.command.bend import BendCommand, bends_from
from moldgen.job.spec import JobOutput, check_line
from moldgen.job.strip_spec import JobBend, JobJigs, JobStand, JobStrip, StripJob
from moldgen.quantity import marks

USUAL_WIDTH_MM = 60.0
USUAL_THICKNESS_MM = 3.0


def strip_job(command: BendCommand) -> StripJob:
    """Return the job of a bent strip.

    Raises
    ------
    SpecError
        If legs, marks and angles do not go together.
    """
    check_line("title", command.title)
    if command.make is not None:
        from moldgen.job.command.preset import preset_parts  # only now: it needs the geometry

        title, strip, stand = preset_parts(command, command.make)
    else:
        title, strip, stand = _parts(command)
    return StripJob(
        title=command.title or title,
        date=command.date,
        strip_heater=command.strip_heater,
        printer=command.printer,
        filament=command.filament,
        stock=command.stock,
        strip=strip,
        jigs=JobJigs(make=command.jigs, facing_mm=command.facing_mm),
        stand=stand,
        output=JobOutput(formats=command.formats, paper=command.paper, units=command.units),
    )


def _parts(command: BendCommand) -> tuple[str, JobStrip, JobStand | None]:
    """Return what a strip of typed legs and angles is called, it and how it stands."""
    for word in ("holds", "mass_g", "lean_deg"):
        if getattr(command, word):
            kinds = f"There are {', '.join(StripKind)}."
            raise SpecError(word, "used with make", "no make", kinds)
    if not command.angles:
        about = marks(BendCommand)["angles"].about
        raise SpecError("angles", "given", "nothing", f"It is: {about}.")
    bends = bends_from(command)
    if command.gap_mm is not None and not any(bend.angle_deg == 180 for bend in bends):
        raise SpecError("gap", "used with a closed fold, 180", "no such angle", "Leave it out.")
    strip = JobStrip(
        plastic=command.plastic,
        thickness_mm=command.thickness_mm or USUAL_THICKNESS_MM,
        width_mm=command.width_mm or USUAL_WIDTH_MM,
        legs_mm=command.legs_mm,
        legs_by=command.legs_by,
        marks_mm=command.marks_mm,
        length_mm=command.length_mm,
        bend=bends,
    )
    return _title(command, bends), strip, JobStand() if command.stand else None


def _title(command: BendCommand, bends: tuple[JobBend, ...]) -> str:
    sizes = command.legs_mm or command.marks_mm
    lengths = ", ".join(f"{size:g}" for size in sizes)
    angles = ", ".join(f"{bend.angle_deg:g}" for bend in bends)
    what = "Strip" if command.legs_mm else "Strip marked at"
    return f"{what} {lengths} bent {angles}"[:60]
