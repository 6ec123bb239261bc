"""The usual cautions, each with what it is about: for reports, cards, directions and risk forms."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from enum import StrEnum


class Hazard(StrEnum):
    """What can hurt, as a risk assessment names it."""

    RULES = "local rules"
    """None of its own: what comes before everything else."""
    HEAT = "hot sheet, heater and mold"
    ELEMENT = "hot strip and element"
    FUMES = "fumes"
    PVC = "hydrogen chloride of PVC"
    EYES = "chips and splinters"
    KNIFE = "knife"
    SNIPS = "snips and sharp edges"
    DUST = "dust of the sheet"
    SANDER = "sander"
    DRILL = "drill"
    HAND_SAW = "hand saw"
    SAW = "saw"
    WOOD_DUST = "dust of wood"
    FRAME = "closing frame and vacuum"
    MAINS = "electricity"
    PRINTER = "3-D printer"


_Caution = tuple[tuple[Hazard, ...], str]

# Named standards: BS 4163 (workshops in schools), ISO 13732-1 (contact with hot surfaces),
# ANSI/ISEA Z87.1 and EN ISO 16321-1 (eye protection), EN 407 and EN 388 (gloves), EN 149 and
# 42 CFR 84 (dust masks FFP2 and N95). All other lines are common practice, no source.
_LOCAL_RULES = (
    "Local rules come first. The rules of your school, workshop and country overrule this page, "
    "which is neither legal nor medical advice. Where a standard is named, check the edition in "
    "force."
)
_FORMING: Sequence[_Caution] = (
    ((Hazard.RULES,), _LOCAL_RULES),
    ((Hazard.RULES,), "Supervise. Nobody forms alone for the first time, and students work under "
     "the eye of somebody who knows this table. BS 4163 covers design and technology workshops in "
     "schools."),
    ((Hazard.HEAT,), "Hot sheet and heater: a sheet ready to form burns at a touch, and so does "
     "the mold after a few cycles. Wear heat-resistant gloves (EN 407) and long sleeves, and keep "
     "hands away from heater and clamp edges. ISO 13732-1 deals with burns from hot surfaces."),
    ((Hazard.HEAT,), "Dent a hot sheet with a wooden stick, never with a finger."),
    ((Hazard.HEAT,), "Never leave a heater that is on. Switch it off, or swing it away, before you "
     "look for tools."),
    ((Hazard.FUMES,), "Fumes: run the extraction, or open a window with a fan that blows out, "
     "above all for ABS, polystyrene and acrylic. Do not overheat the sheet. If it smokes, stop: "
     "heater off, sheet out, air the room."),
    ((Hazard.PVC,), "PVC gives off hydrogen chloride when it is overheated: keep it off the heater "
     "unless your local rules allow it and its fumes are drawn off. Never heat a plastic you "
     "cannot name."),
    ((Hazard.EYES,), "Eyes: wear safety glasses (ANSI/ISEA Z87.1, or ISO 16321-1, which replaces "
     "EN 166) when you form, cut, snap, drill and sand. Brittle sheet, such as acrylic, throws "
     "chips."),
    ((Hazard.KNIFE,), "Knives: cut away from yourself and from the hand that holds, along a "
     "guarded straight-edge, with a sharp blade and several light passes. Wear a cut-resistant "
     "glove (EN 388) on the hand that holds. Close the blade before you put the knife down."),
    ((Hazard.SNIPS,), "Snips leave sharp corners and burrs: deburr every edge before a part is "
     "passed on. The cut-resistant glove helps here too."),
    ((Hazard.DUST,), "Dust of acrylic and polycarbonate: draw it off where it is made, or wear a "
     "dust mask (FFP2 or N95); wipe it up, never blow it about."),
    ((Hazard.DRILL, Hazard.SANDER), "Sanders and drills: no gloves at rotating machines, and no "
     "loose sleeves, cords or hair. Use the down-going side of a disc, keep the gap to its table "
     "below 3 mm, and clamp the part to drill it."),
    ((Hazard.FRAME,), "Vacuum: keep fingers out of the closing frame, and check the mold for "
     "cracks before each cycle."),
    ((Hazard.MAINS,), "Electricity: a guarded heater on a circuit with residual-current "
     "(ground-fault) protection; no bare heating wire within reach."),
)  # fmt: skip
_OF_WOOD: Sequence[_Caution] = (
    ((Hazard.SAW,), "Saws: tilt the table with the machine off and lock it; guards on, push sticks "
     "near the blade, no loose clothing, cords or hair, eyes and ears protected. Who saws has "
     "practiced it under supervision."),
    ((Hazard.WOOD_DUST,), "Dust of MDF and plywood harms the lungs: saw, sand and drill with "
     "extraction on and a dust mask (FFP2 or N95)."),
)  # fmt: skip
_BENDING: Sequence[_Caution] = (
    ((Hazard.RULES,), _LOCAL_RULES),
    ((Hazard.RULES,), "Supervise. Nobody bends alone for the first time, and students work under "
     "the eye of somebody who knows this strip heater."),
    ((Hazard.ELEMENT,), "Burns: element, bed and strip burn at a touch, and a strip looks the same "
     "hot as cold. Wear heat-resistant gloves (EN 407) and long sleeves, and hold the strip by its "
     "cold ends. ISO 13732-1 deals with burns from hot surfaces. Cool a burn under running water "
     "at once."),
    ((Hazard.FUMES,), "Film off, at least along every bend line, before heating: it melts onto the "
     "plastic and may burn on the element."),
    ((Hazard.FUMES,), "Fumes: run the extraction, or open a window with a fan that blows out. A "
     "strip that bubbles or smokes is far too hot: take it off, switch off, air the room."),
    ((Hazard.PVC,), "No PVC near open coils or glowing wires, and nothing you cannot name: "
     "overheated PVC gives off hydrogen chloride. Never put foam on a strip heater."),
    ((Hazard.EYES,), "Eyes: wear safety glasses (ANSI/ISEA Z87.1, or ISO 16321-1) when you saw, "
     "drill, scrape and bend; a strip that is too cold snaps without warning."),
    ((Hazard.MAINS,), "Never leave a heater that is on. No bare wire within reach, and a "
     "circuit with residual-current (ground-fault) protection."),
    ((Hazard.SAW, Hazard.DRILL), "Saw and drill: clamp the strip on waste wood, no gloves at "
     "rotating machines, no loose sleeves, cords or hair. Scrape every sawn edge smooth: a notch "
     "is where it cracks."),
    ((), "After bending keep alcohol, thinner and glass cleaner off acrylic: bends are under "
     "tension and craze."),
)  # fmt: skip
_PRINTING: Sequence[_Caution] = (
    ((Hazard.PRINTER,), "3-D printer: nozzle and bed burn at a touch, and the moving axes pinch. "
     "Keep hands out while it runs, air the room, let the bed cool before the print is taken off, "
     "and lift it with a blunt scraper, away from the hand that holds."),
)  # fmt: skip


def cautions(*, of_wood: bool = False) -> tuple[str, ...]:
    """Return the cautions for heating, forming, trimming and supervising, one per line.

    Parameters
    ----------
    of_wood : bool
        Whether a mold is sawn from boards as well: that comes after the local rules.
    """
    local_rules, *others = [text for _, text in _FORMING]
    of_boards = [text for _, text in _OF_WOOD] if of_wood else []
    return (local_rules, *of_boards, *others)


def strip_cautions() -> tuple[str, ...]:
    """Return the cautions for bending strips over a hot line, one per line."""
    return tuple(text for _, text in _BENDING)


def first_cautions(*, bending: bool = False) -> tuple[str, ...]:
    """Return what comes before every other caution: local rules, and supervision."""
    return _about(Hazard.RULES, _BENDING if bending else _FORMING)


def hazard_cautions(
    hazards: Collection[Hazard], *, bending: bool = False
) -> dict[Hazard, tuple[str, ...]]:
    """Return the cautions of what can hurt in one job, by hazard and in the order of the day.

    Parameters
    ----------
    hazards : collection of Hazard
        What the job really does.
    bending : bool
        Whether it is done at a strip heater; otherwise at a forming table.
    """
    kept = (*(_BENDING if bending else (*_FORMING, *_OF_WOOD)), *_PRINTING)
    return {one: _about(one, kept) for one in Hazard if one in hazards}


def _about(hazard: Hazard, kept: Sequence[_Caution]) -> tuple[str, ...]:
    return tuple(text for hazards, text in kept if hazard in hazards)


def card_cautions() -> tuple[str, ...]:
    """Return the cautions of a card at the table, the shortest there are, local rules first."""
    return (
        "Local rules come first; nobody works alone or unsupervised. Heat-resistant gloves, long "
        "sleeves, safety glasses. Extraction on; if it smokes: heater off, sheet out, air the "
        "room. Fingers out of the closing frame. Cut away from yourself; close the blade when you "
        "put the knife down.",
    )


def strip_card_cautions() -> tuple[str, ...]:
    """Return the cautions of a card at the strip heater, the shortest there are."""
    return (
        "Local rules come first; nobody works alone or unsupervised. Heat-resistant gloves, long "
        "sleeves, safety glasses. Extraction on; if it bubbles or smokes: off the element, switch "
        "off, air the room. Hold the strip by its cold ends. Never leave a heater that is on.",
    )
