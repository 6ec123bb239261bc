"""Trouble: what a part shows, its likely causes from the job's own numbers, what to change."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from shlex import quote

from moldgen.lesson.log import trouble_evidence as evidence
from moldgen.lesson.log.shot_note import Outcome
from moldgen.lesson.log.trouble_case import LikelyCause, TroubleCase
from moldgen.lesson.log.trouble_evidence import Evidence
from moldgen.table.sticking import RELEASE_AGENT, sticks
from moldgen.wording import clock_text

_USUAL = 0.1
"""Strength of the cause that is commonest where nothing speaks for any. [-]."""
_HOTTER_K = 10.0
"""So much more heat a filament must stand to be worth another print; what heat in molds is trusted
to. [K]."""
_THICKEST_mm = 12.0


def likely_causes(case: TroubleCase) -> tuple[LikelyCause, ...]:
    """Return what may have caused the troubles of a note, the likeliest of each first.

    Parameters
    ----------
    case : TroubleCase
        The note, and what is known of its mold.

    Returns
    -------
    tuple of LikelyCause
        Trouble by trouble as noted; a cause for which nothing speaks comes last, and one against
        which something speaks is left out, unless it is the commonest. Empty if nothing was wrong.
    """
    told: list[LikelyCause] = []
    for trouble in dict.fromkeys(case.note.seen):
        causes = [one(case, trouble) for one in _CAUSES.get(trouble, ())]
        likely = [one for one in causes if one.strength >= 0]
        # Python's sort keeps the order of equals: the commonest cause stands first in its list.
        told += sorted(likely, key=lambda one: -one.strength)
    return tuple(told)


def _too_hot(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.too_long(case)
    return LikelyCause(
        trouble=trouble, says="the sheet was too hot: it sags far, folds and tears",
        because=speaks.because, strength=speaks.strength,
        advice=_heat_advice(case, "Heat the next sheet less long, and watch its sag."),
        command=case.heat_command,
    )  # fmt: skip


def _too_cool(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.too_short(case)
    return LikelyCause(
        trouble=trouble, says="the sheet was too cool: it does not go into corners, and chills",
        because=speaks.because, strength=speaks.strength,
        advice=_heat_advice(case, "Heat the next sheet longer, until it sags evenly."),
        command=case.heat_command,
    )  # fmt: skip


def _heat_advice(case: TroubleCase, otherwise: str) -> str:
    """Return how long to heat the next sheet, as told if that is known."""
    told_s = case.told_heat_s
    if told_s is None:
        return otherwise
    return f"Heat the next sheet {clock_text(told_s)}, and watch the sag rather than the clock."


def _webs_of_shape(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.found(case, "formed-web", "draw-linear", "draw-depth", "stroke-below-height")
    return LikelyCause(
        trouble=trouble, says="the shape has more sheet between its walls than there is room for",
        because=speaks.because, strength=speaks.strength,
        advice="Lower it, round its corners or give it more draft; mending finds what is enough.",
        command=case.command("make", "--mend"),
    )  # fmt: skip


def _webs_of_neighbors(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = _at_least(evidence.found(case, "neighbors-web"), _USUAL)
    return LikelyCause(
        trouble=trouble, says="molds or walls stand too near to each other for their height",
        because=speaks.because, strength=speaks.strength,
        advice="Set them farther apart: a distance of twice the height is safe.",
        command=case.command("arrange", f"--gap {_gap_mm(case):.0f}"),
    )  # fmt: skip


def _gap_mm(case: TroubleCase) -> float:
    return max(20.0, 2 * (case.number("height_mm") or 0.0))


def _drawn_thin(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = _at_least(evidence.drawn_thin(case), _USUAL)
    gauge_mm = case.note.thickness_mm
    return LikelyCause(
        trouble=trouble, says="the sheet is drawn too far for its gauge",
        because=speaks.because, strength=speaks.strength,
        advice="Take the next thicker sheet, or make the walls lower and their corners rounder.",
        command=case.command("compare", f'--gauge "{gauge_mm:.4g}, {_thicker_mm(case):.4g}"'),
    )  # fmt: skip


def _thicker_mm(case: TroubleCase) -> float:
    """Return the next gauge in which the sheet is sold; half a millimeter more if none is known."""
    gauge_mm, plastic = case.note.thickness_mm, case.plastic
    sold = () if plastic is None else case.shop.gauges_for(plastic)
    thicker = [one.gauge_mm for one in sold if one.gauge_mm > 1.1 * gauge_mm]
    return min(_THICKEST_mm, *thicker, *([] if thicker else [gauge_mm + 0.5]))


def _thinner_than_computed(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.measured_thin(case)
    return LikelyCause(
        trouble=trouble, says="the sheet was hotter in the middle, and thinner, than is reckoned",
        because=speaks.because, strength=speaks.strength,
        advice="Look at the thickness map, and set the mold where the sheet is thinned least.",
        command=case.command("compare", "--forming fine"),
    )  # fmt: skip


def _sharp(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.found(case, "radius-small", "edge-convex", "radius-under-limit")
    return LikelyCause(
        trouble=trouble, says="an edge is so sharp that it cuts the hot sheet",
        because=speaks.because, strength=speaks.strength,
        advice="Round its edges; until then break them with fine abrasive paper.",
        command=case.command("make", "--mend"),
    )  # fmt: skip


def _air_left(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = _at_least(evidence.slow_air(case), _USUAL)
    return LikelyCause(
        trouble=trouble, says="air is left under the sheet: vents are closed, or holes let air in",
        because=speaks.because, strength=speaks.strength,
        advice="Hold the mold against the light, open every vent, and plug the table's free holes.",
        command=f"moldgen fixture plug --machine {quote(case.note.machine)}",
    )  # fmt: skip


def _moist(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.NONE
    return LikelyCause(
        trouble=trouble, says="the sheet was moist, or dust lay under it: small blisters or grains",
        because=speaks.because, strength=speaks.strength,
        advice="Wipe mold and sheet, and take a sheet that lay dry; heat it more slowly.",
        command=case.heat_command,
    )  # fmt: skip


def _layer_marks(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = _at_least(
        evidence.found(case, "print-layer-grooves", "print-terraces", "print-skin-weak"), _USUAL
    )
    return LikelyCause(
        trouble=trouble, says="layers or vents of the print show through the sheet",
        because=speaks.because, strength=speaks.strength,
        advice="Sand the faces that show, print finer layers, or take a thicker sheet.",
        command=case.command("compare", f'--gauge "{_thicker_mm(case):.4g}"'),
    )  # fmt: skip


def _low_draft(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = _at_least(evidence.low_draft(case), _USUAL)
    return LikelyCause(
        trouble=trouble, says="the walls lean too little for the part to come off",
        because=speaks.because, strength=speaks.strength,
        advice="Give the walls more draft; mending finds how much.",
        command=case.command("make", "--mend"),
    )  # fmt: skip


def _same_polymer(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.same_polymer(case)
    return LikelyCause(
        trouble=trouble, says="the hot sheet welds to the mold: both are of one plastic",
        because=speaks.because, strength=speaks.strength,
        advice=f"Put {RELEASE_AGENT} on the mold before each cycle, or print another filament.",
        command=case.command("make", f"--filament {quote(_other_filament(case))}"),
    )  # fmt: skip


def _other_filament(case: TroubleCase, *, hotter_K: float = 0.0) -> str:
    """Return the filament in stock that does not weld and stands as much heat, or so much more.

    The one that stands most heat if none does.
    """
    plastic, own = case.plastic, case.filament
    others = [
        one
        for one in case.shop.filaments.entries
        if one != own and not (plastic and sticks(plastic, one))
    ]
    least_degC = (own.softens_degC if own else 0.0) + hotter_K
    enough = [one for one in others if one.softens_degC >= least_degC]
    if enough:
        return min(enough, key=lambda one: one.softens_degC).name
    return max(others or case.shop.filaments.entries, key=lambda one: one.softens_degC).name


def _left_on(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.left_on(case)
    told_s = case.told_cool_s
    advice = "Take the next one off as soon as it is stiff, all round, while it is still warm."
    if told_s is not None:
        advice = f"Take the next one off after {clock_text(told_s)}, all round, while it is warm."
    return LikelyCause(
        trouble=trouble, says="the part stayed on so long that it shrank onto the mold",
        because=speaks.because, strength=speaks.strength,
        advice=advice,
        command=case.heat_command,
    )  # fmt: skip


def _taken_off(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.taken_off(case)
    return LikelyCause(
        trouble=trouble, says="the part was taken off while it was soft, and clung",
        because=speaks.because, strength=speaks.strength,
        advice="Let the next one cool as long as told, with the vacuum on; a fan helps.",
        command=case.heat_command,
    )  # fmt: skip


def _hard_release(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.hard_release(case)
    return LikelyCause(
        trouble=trouble, says="it holds harder than what it is lifted by",
        because=speaks.because, strength=speaks.strength,
        advice="Draw it off evenly with a screw over the upturned mold.",
        command="moldgen fixture ejector",
        basis="shrinkage and friction, computed",
    )  # fmt: skip


def _worn(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = _at_least(evidence.worn(case), _USUAL)
    pause_s = case.number("pause_s")
    pause = f"Let the mold rest {clock_text(pause_s)} after each part." if pause_s else (
        "Let the mold cool between parts, or form on two in turn."
    )  # fmt: skip
    return LikelyCause(
        trouble=trouble, says="the mold had no time to cool: heat of many parts gathers in it",
        because=speaks.because, strength=speaks.strength, advice=pause,
        command=f"{case.heat_command} --cycles {min(200, case.note.cycle + 10)}",
        basis="heat through sheet and print, computed",
    )  # fmt: skip


def _soft_filament(case: TroubleCase, trouble: Outcome) -> LikelyCause:
    speaks = evidence.edges_soften(case)
    other = quote(_other_filament(case, hotter_K=_HOTTER_K))
    return LikelyCause(
        trouble=trouble, says="the filament softens at the heat of this sheet",
        because=speaks.because, strength=speaks.strength,
        advice="Print it from a filament that stands more heat, or form thinner sheet.",
        command=case.command("make", f"--filament {other}"),
        basis="heat through sheet and print, computed",
    )  # fmt: skip


def _at_least(speaks: Evidence, strength: float) -> Evidence:
    """Return evidence of a cause that is common whatever the numbers say."""
    return Evidence(strength=max(speaks.strength, strength), because=speaks.because)


_Cause = Callable[[TroubleCase, Outcome], LikelyCause]
_CAUSES: Mapping[Outcome, tuple[_Cause, ...]] = {
    Outcome.WEB: (_webs_of_neighbors, _webs_of_shape, _too_hot),
    Outcome.HOLE: (_drawn_thin, _too_hot, _sharp),
    Outcome.THIN: (_drawn_thin, _thinner_than_computed, _too_hot),
    Outcome.LUMPS: (_air_left, _too_cool, _moist),
    Outcome.MARKS: (_layer_marks, _too_hot, _too_cool, _worn),
    Outcome.STUCK: (_low_draft, _same_polymer, _left_on, _taken_off, _hard_release),
    Outcome.SOFT_MOLD: (_worn, _soft_filament, _too_hot),
}
"""What may cause each trouble, the commonest first."""
