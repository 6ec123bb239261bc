"""What became of a sample, as lines of text: of each file that is odd, and of all together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from moldgen.outline.repair import GAP_MM

from .icons import Icon
from .meshes import Sample
from .run import Outcome
from .scripts import LEAST_MATCH, Sign

MOST_STRAY_MM = 0.03
"""How far an outline may stray from its drawing. [mm]."""
MOST_MENDED_MM = GAP_MM + 0.01
"""How wide what mending fills in may be: a gap, and how finely it is offset. [mm]."""


def icon_lines(icon: Icon) -> list[str]:
    """Return what is odd about a drawing."""
    lines = _odd(icon.name, "raise", icon.raised)
    if icon.stray_mm > MOST_STRAY_MM:
        lines.append(f"  {icon.name}: strays {icon.stray_mm:.3f} mm")
    if icon.mended_mm > MOST_MENDED_MM:
        lines.append(f"  {icon.name}: mended {icon.mended_mm:.3f} mm wide")
    return lines


def icon_counts(icons: Sequence[Icon]) -> str:
    """Return what became of drawings."""
    strays = [icon.stray_mm for icon in icons if np.isfinite(icon.stray_mm)]
    mended = [icon.mended_mm for icon in icons if np.isfinite(icon.mended_mm)]
    counts = _counts([icon.raised for icon in icons])
    return (
        f"{counts}, outlines stray {max(strays, default=0.0):.3f} mm at most, "
        f"mended {max(mended, default=0.0):.3f} mm wide at most"
    )


def mesh_lines(sample: Sample) -> list[str]:
    """Return what is odd about a mesh."""
    lines = [
        line for word, outcome in sample.ran.items() for line in _odd(sample.name, word, outcome)
    ]
    return [*lines, *([f"  {sample.name}: sound, but told open"] if sample.is_told_open else [])]


def mesh_counts(samples: Sequence[Sample]) -> str:
    """Return what became of meshes."""
    told_open = sum(one.is_told_open for one in samples)
    sound = sum(one.is_sound for one in samples)
    counts = (
        f"{command} {_counts([one.ran[command] for one in samples])}"
        for command in ("check", "measure", "adapt")
    )
    head = f"{len(samples)} meshes, {sound} sound, {told_open} of these told open"
    return "; ".join([head, *counts])


def sign_counts(signs: Sequence[Sign]) -> str:
    """Return what became of signs."""
    read = sum(one.reads for one in signs)
    stopped = sum(one.said.startswith("stop") for one in signs)
    refused = sum(one.said.startswith("refused") for one in signs)
    scripts = len({one.script for one in signs})
    wrong = len(signs) - read - stopped - refused
    return (
        f"{len(signs)} signs in {scripts} scripts: {read} read as their word, {stopped} stop, "
        f"{refused} refused, {wrong} read otherwise"
    )


def sign_lines(sign: Sign) -> list[str]:
    """Return what became of a sign: each has a line, for a script is told by its word."""
    rings = "{0[0]} pieces, {0[1]} holes".format
    if sign.said:
        end = sign.said.strip()[:240]
    elif sign.apart or sign.before != sign.after:
        end = f"{rings(sign.before)} become {rings(sign.after)}: {', '.join(sign.apart)}"
    elif sign.match < LEAST_MATCH:
        end = f"another library sets it otherwise, {sign.match:.0%} alike"
    else:
        end = f"{rings(sign.after)}, {sign.match:.0%} alike"
    return [f"  {sign.name}: {sign.script} {sign.word}: {end}"]


def _counts(outcomes: Sequence[Outcome]) -> str:
    made = sum(one.is_made for one in outcomes)
    refused = sum(one.status == 2 for one in outcomes)
    faults = sum(one.status == 3 for one in outcomes)
    false = sum(one.is_headline_false for one in outcomes)
    return (
        f"{made} of {len(outcomes)} made, {refused} refused, {faults} exit 3, "
        f"{false} false headline"
    )


def _odd(name: str, command: str, outcome: Outcome) -> list[str]:
    if not outcome.is_made:
        return [f"  {name}: {command}, exit {outcome.status}: {outcome.said.strip()[:240]}"]
    if outcome.is_headline_false:
        least = outcome.found["numbers"]["least_draft_deg"]
        return [f"  {name}: {command}, least draft {least:.2f}"]
    return []
