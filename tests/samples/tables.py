"""What became of a sample, as lines of text: counts first, then each file that is odd."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .icons import Icon
from .meshes import Sample
from .run import Outcome
from .scripts import LEAST_MATCH, Sign

MOST_STRAY_MM = 0.03
"""How far an outline may stray from its drawing. [mm]."""


def icon_lines(name: str, icons: Sequence[Icon]) -> list[str]:
    """Return the lines about drawings."""
    strays = [icon.stray_mm for icon in icons if np.isfinite(icon.stray_mm)]
    counts = _counts([icon.raised for icon in icons])
    lines = [f"{name}: {counts}, outlines stray {max(strays, default=0.0):.3f} mm at most"]
    for icon in icons:
        lines += _odd(icon.name, "raise", icon.raised)
        if icon.stray_mm > MOST_STRAY_MM:
            lines.append(f"  {icon.name}: strays {icon.stray_mm:.3f} mm")
    return lines


def mesh_lines(name: str, samples: Sequence[Sample]) -> list[str]:
    """Return the lines about meshes."""
    told_open = sum(one.is_told_open for one in samples)
    sound = sum(one.is_sound for one in samples)
    counts = (
        f"{command} {_counts([one.ran[command] for one in samples])}"
        for command in ("check", "measure", "adapt")
    )
    head = f"{name}: {len(samples)} meshes, {sound} sound, {told_open} of these told open"
    lines = ["; ".join([head, *counts])]
    for one in samples:
        for command, outcome in one.ran.items():
            lines += _odd(one.name, command, outcome)
        if one.is_told_open:
            lines.append(f"  {one.name}: sound, but told open")
    return lines


def sign_lines(name: str, signs: Sequence[Sign]) -> list[str]:
    """Return the lines about signs: each has one, for a script is told by its word."""
    read = sum(one.reads for one in signs)
    stopped = sum(one.said.startswith("stop") for one in signs)
    refused = sum(one.said.startswith("refused") for one in signs)
    scripts = len({one.script for one in signs})
    wrong = len(signs) - read - stopped - refused
    head = (
        f"{name}: {len(signs)} signs in {scripts} scripts: {read} read as their word, {stopped} "
        f"stop, {refused} refused, {wrong} read otherwise"
    )
    return [head, *map(_sign_line, signs)]


def _sign_line(sign: Sign) -> str:
    rings = "{0[0]} pieces, {0[1]} holes".format
    if sign.said:
        end = sign.said.strip()[:240]
    elif sign.apart or sign.before != sign.after:
        end = f"{rings(sign.before)} become {rings(sign.after)}: {', '.join(sign.apart)}"
    elif sign.match < LEAST_MATCH:
        end = f"another library sets it otherwise, {sign.match:.0%} alike"
    else:
        end = f"{rings(sign.after)}, {sign.match:.0%} alike"
    return f"  {sign.name}: {sign.script} {sign.word}: {end}"


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
