"""The usual cautions for forming, for the report and the manual."""

from __future__ import annotations

# Named standards: BS 4163 (workshops in schools), ISO 13732-1 (contact with hot surfaces),
# ANSI/ISEA Z87.1 and EN ISO 16321-1 (eye protection), EN 407 and EN 388 (gloves), EN 149 and
# 42 CFR 84 (dust masks FFP2 and N95). All other lines are common practice, no source.
_CAUTIONS = (
    "Local rules come first. The rules of your school, workshop and country overrule this page, "
    "which is neither legal nor medical advice. Where a standard is named, check the edition in "
    "force.",
    "Supervise. Nobody forms alone for the first time, and students work under the eye of "
    "somebody who knows this table. BS 4163 covers design and technology workshops in schools.",
    "Hot sheet and heater: a sheet ready to form burns at a touch, and so does the mold after a "
    "few cycles. Wear heat-resistant gloves (EN 407) and long sleeves, and keep hands away from "
    "heater and clamp edges. ISO 13732-1 deals with burns from hot surfaces.",
    "Dent a hot sheet with a wooden stick, never with a finger.",
    "Never leave a heater that is on. Switch it off, or swing it away, before you look for tools.",
    "Fumes: run the extraction, or open a window with a fan that blows out, above all for ABS, "
    "polystyrene and acrylic. Do not overheat the sheet. If it smokes, stop: heater off, sheet "
    "out, air the room.",
    "PVC gives off hydrogen chloride when it is overheated: keep it off the heater unless your "
    "local rules allow it and its fumes are drawn off. Never heat a plastic you cannot name.",
    "Eyes: wear safety glasses (ANSI/ISEA Z87.1, or ISO 16321-1, which replaces EN 166) when "
    "you form, cut, snap, drill and sand. Brittle sheet, such as acrylic, throws chips.",
    "Knives: cut away from yourself and from the hand that holds, along a guarded straight-edge, "
    "with a sharp blade and several light passes. Wear a cut-resistant glove (EN 388) on the hand "
    "that holds. Close the blade before you put the knife down.",
    "Snips leave sharp corners and burrs: deburr every edge before a part is passed on. "
    "The cut-resistant glove helps here too.",
    "Dust of acrylic and polycarbonate: draw it off where it is made, or wear a dust mask (FFP2 "
    "or N95); wipe it up, never blow it about.",
    "Sanders and drills: no gloves at rotating machines, and no loose sleeves, cords or hair. "
    "Use the down-going side of a disc, keep the gap to its table below 3 mm, and clamp the part "
    "to drill it.",
    "Vacuum: keep fingers out of the closing frame, and check the mold for cracks before each "
    "cycle.",
    "Electricity: a guarded heater on a circuit with residual-current (ground-fault) protection; "
    "no bare heating wire within reach.",
)


_OF_WOOD = (
    "Saws: tilt the table with the machine off and lock it; guards on, push sticks near the blade, "
    "no loose clothing, cords or hair, eyes and ears protected. Who saws has practiced it under "
    "supervision.",
    "Dust of MDF and plywood harms the lungs: saw, sand and drill with extraction on and a dust "
    "mask (FFP2 or N95).",
)


def cautions(*, of_wood: bool = False) -> tuple[str, ...]:
    """Return the cautions for heating, forming, trimming and supervising, one per line.

    Parameters
    ----------
    of_wood : bool
        Whether a mold is sawn from boards as well: that comes after the local rules.
    """
    local_rules, *others = _CAUTIONS
    return (local_rules, *_OF_WOOD, *others) if of_wood else _CAUTIONS


def card_cautions() -> tuple[str, ...]:
    """Return the cautions of a card at the table, the shortest there are, local rules first."""
    return (
        "Local rules come first; nobody works alone or unsupervised. Heat-resistant gloves, long "
        "sleeves, safety glasses. Extraction on; if it smokes: heater off, sheet out, air the "
        "room. Fingers out of the closing frame. Cut away from yourself; close the blade when you "
        "put the knife down.",
    )
