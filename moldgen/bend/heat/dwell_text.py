"""Dwell in words: what a person does at the strip heater, a sentence a step."""

from __future__ import annotations

from moldgen.bend.strip.choices import Turn
from moldgen.bend.strip.part import Bend

LIFTED_s = 15.0
"""How long a strip that cannot be turned over is lifted off between; common practice, no source."""


def dwell_steps(
    bend: Bend,
    *,
    side_s: float,
    band_s: tuple[float, float],
    n_sides: int,
    hold_s: float,
    sides: int,
) -> tuple[str, ...]:
    """Return the steps from the cold strip to the stiff bend.

    The face that becomes the outside of the bend stretches, so it is to the element last.

    Parameters
    ----------
    bend : Bend
        The bend to heat for.
    side_s : float
        How long each side lies over the element. [s]
    band_s : pair of float
        Between what that lies, uncertain as it is. [s]
    n_sides : int
        How often a side is heated.
    hold_s : float
        How long the bend is held in its jig. [s]
    sides : int
        Faces that the heater heats at once, 1 or 2.
    """
    first, then = faces_down(bend, n_sides)
    way = "between the elements" if sides == 2 else f"over the element, {first} down"
    steps = [
        "Take the film off, scrape the sawn edges smooth, and mark the line with a washable pen.",
        f"Lay the line {way}, and heat {clock_band(side_s, band_s)}.",
    ]
    faces = (then, first)
    for number in range(n_sides - 1):
        steps.append(f"Turn it over, {faces[number % 2]} down, and heat {clock(side_s)}.")
    steps += [
        "Lift one leg lightly: if the line does not give by itself, heat 15 s more. "
        "Never force it, a strip that is too cold snaps.",
        f"Bend it in the jig and hold it {clock(hold_s)}, until it is stiff, or it springs back.",
    ]
    return tuple(steps)


def faces_down(bend: Bend, n_sides: int) -> tuple[str, str]:
    """Return the face that lies over the element first, and the other: the outside comes last."""
    outside = "the face without the marks" if bend.turn is Turn.UP else "the marks"
    inside = "the marks" if bend.turn is Turn.UP else "the face without the marks"
    return (outside, inside) if n_sides % 2 else (inside, outside)


def one_face_steps(
    bend: Bend,
    *,
    total_s: float,
    band_s: tuple[float, float],
    step_s: float,
    hold_s: float,
    marks_up: bool,
) -> tuple[str, ...]:
    """Return the steps of a bend whose line can lie over the element one way up only.

    Parameters
    ----------
    bend : Bend
        The bend to heat for.
    total_s : float
        All time over the element. [s]
    band_s : pair of float
        Between what that lies, uncertain as it is. [s]
    step_s : float
        Longest time without a pause. [s]
    hold_s : float
        How long the bend is held in its jig. [s]
    marks_up : bool
        Whether the marks look up while it is heated.
    """
    usual = dwell_steps(bend, side_s=total_s, band_s=band_s, n_sides=1, hold_s=hold_s, sides=1)
    down = "the face without the marks" if marks_up else "the marks"
    return (
        usual[0],
        f"Lay the line over the element, {down} down; a leg that is bent already keeps it from "
        "being turned over.",
        f"Heat it {clock_band(total_s, band_s)} in all: lift it off for {LIFTED_s:g} s after each "
        f"{clock(step_s)}, so that the heat goes through and the face stays cooler.",
        *usual[-2:],
    )


def clock(seconds: float) -> str:
    """Return a time as it is read off a clock, to 5 s: ``2 min 5 s``."""
    whole = max(5, 5 * round(seconds / 5))
    minutes, rest = divmod(whole, 60)
    parts = [f"{minutes} min"] * bool(minutes) + [f"{rest} s"] * bool(rest)
    return " ".join(parts)


def clock_band(seconds: float, band_s: tuple[float, float]) -> str:
    """Return a time with what it may be: ``about 2 min (1 min 25 s to 2 min 50 s)``."""
    low_s, high_s = band_s
    return f"about {clock(seconds)} ({clock(low_s)} to {clock(high_s)})"
