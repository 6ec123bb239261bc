"""Swing: a strip around one of its bends, and what the bend hits while it is pressed."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.bend.heat.overbend import pressed_deg
from moldgen.bend.strip.clash import TOUCH_MM, boxes, clashing, overlaps_mm
from moldgen.bend.strip.path import Flat, LegPath, path_of
from moldgen.bend.strip.shape import StripShape

JIG_FACE_MM = 12.0
"""Inside of a bend that a jig needs along each leg; as far as the legs go. [mm]."""
LARGEST_BLOCK_DEG = 165.0
"""Around a sharper wedge than this nothing can be bent; it is folded in a press. [°]."""


@dataclass(frozen=True, eq=False)
class Swing:
    """A strip of which some bends are bent and one is about to be.

    A set of bends that are bent is a whole number: bit k stands for bend k + 1. Bends are counted
    from 0 here.
    """

    shape: StripShape
    _known: dict[int, tuple[Floats, NDArray[np.int64], LegPath]] = field(default_factory=dict)

    @property
    def flat(self) -> Flat:
        """What stays the same of the strip."""
        return self.shape.path.flat

    @property
    def n_bends(self) -> int:
        """How many bends there are."""
        return len(self.flat.allowances_mm)

    def angles_deg(self, masks: NDArray[np.int64]) -> Floats:
        """Return the angles of all bends for sets of bent ones, shape (m, n). [°]."""
        bits = (masks[:, None] >> np.arange(self.n_bends)) & 1
        angles: Floats = np.where(bits == 1, self.flat.angles_deg, 0.0)
        return angles

    def center_mm(self, bend: int) -> float:
        """Return the middle of a bend from the left end of the flat strip. [mm]."""
        flat = self.flat
        return float(flat.starts_mm[bend] + flat.flats_mm[bend] + flat.allowances_mm[bend] / 2)

    def runs_mm(self, mask: int, bend: int) -> tuple[float, float]:
        """Return how far the strip is straight on both sides of a bend line. [mm]."""
        flat, center = self.flat, self.center_mm(bend)
        left = max((k for k in range(bend) if mask >> k & 1), default=None)
        right = next((k for k in range(bend + 1, self.n_bends) if mask >> k & 1), None)
        begin = 0.0 if left is None else float(flat.starts_mm[left + 1])
        end = flat.length_mm if right is None else float(flat.starts_mm[right + 1])
        end -= 0.0 if right is None else float(flat.allowances_mm[right])
        return center - begin, end - center

    def sides_mm(self, mask: int, bend: int) -> tuple[Floats, Floats]:
        """Return both sides of a flat bend in pieces, its line at the origin, shape (q, 4, 2).

        The strip lies along x at the line, marks up. [mm]
        """
        quads, parts, path = self._whole(mask)
        middle = path.placed(
            np.array([2 * bend + 1]), np.array([self.center_mm(bend)]), np.zeros(1)
        )
        flat = turned((quads - middle).reshape(1, -1, 2), -path.headings_rad[[bend]])
        quads = flat.reshape(quads.shape)
        return quads[parts < 2 * bend + 1], quads[parts > 2 * bend + 1]

    def _whole(self, mask: int) -> tuple[Floats, NDArray[np.int64], LegPath]:
        """Return the pieces of the strip with a set bent, the part each belongs to, its path."""
        known = self._known.get(mask)
        if known is None:
            parts, along = self.shape.stations
            path = path_of(self.flat, self.angles_deg(np.array([mask]))[0])
            half = self.flat.thickness_mm / 2
            over = np.repeat([-half, half], len(along))
            bottom, top = np.split(path.placed(np.tile(parts, 2), np.tile(along, 2), over), 2)
            quads = np.stack([bottom[:-1], bottom[1:], top[1:], top[:-1]], axis=1)
            own = np.where(parts[:-1] == parts[1:], parts[:-1], parts[:-1] // 2 * 2 + 1)
            known = self._known[mask] = (quads, own, path)
        return known

    def hits(self, mask: int, bend: int) -> str:
        """Return what is hit while a bend is pressed to its angle; empty if nothing is."""
        left, right = self.sides_mm(mask, bend)
        steps = self.steps(right, bend)
        p, q = self._may_meet(left, right, bend, float(steps[-1]))
        if len(p):
            moving = self.swung(right[q], bend, steps)
            if _meet(left[p], moving):
                return "the strip itself"
        core = self._core(mask, bend)
        if core is None:
            return ""
        every = np.concatenate([left, self.swung(right, bend, steps[-1:])[0]])
        return "the jig" if clashing(every[None], core[None, None]).any() else ""

    def _may_meet(
        self, left: Floats, right: Floats, bend: int, pressed: float
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return pairs of pieces that are equally far from the line, and that the swing joins.

        The strip turns about a place that moves a little, which is what the slack is for.
        """
        sign = float(np.sign(self.flat.angles_deg[bend]))
        slack = float(self.flat.allowances_mm[bend]) + self.flat.thickness_mm
        r1, a1 = _polar(left * (1.0, sign), slack)
        r2, a2 = _polar(right * (1.0, sign), slack)
        near = r1[:, None, 0] < r2[None, :, 1] + slack
        near &= r2[None, :, 0] < r1[:, None, 1] + slack
        off = np.abs(_wrapped(a1[:, None, 0] - a2[None, :, 0] - pressed / 2))
        near &= off < a1[:, None, 1] + a2[None, :, 1] + pressed / 2
        pairs = np.nonzero(near)
        return pairs[0], pairs[1]

    def steps(self, right: Floats, bend: int) -> Floats:
        """Return angles so near each other that no end of the strip slips through a leg. [rad]."""
        pressed = np.radians(pressed_deg(self.shape.strip, bend + 1))
        reach = float(np.linalg.norm(right, axis=-1).max())
        n = int(np.ceil(pressed * reach / (1.5 * self.flat.thickness_mm)))
        return np.linspace(0.0, pressed, min(max(n, 8), 240) + 1)

    def swung(self, right: Floats, bend: int, steps: Floats) -> Floats:
        """Return the right side of a bend at angles of it, shape (s, q, 4, 2)."""
        flat, sign = self.flat, np.sign(self.flat.angles_deg[bend])
        half = float(flat.allowances_mm[bend]) / 2
        one = Flat(
            flats_mm=np.zeros(2),
            allowances_mm=flat.allowances_mm[bend : bend + 1],
            angles_deg=flat.angles_deg[bend : bend + 1],
            thickness_mm=flat.thickness_mm,
            neutral=flat.neutral,
        )
        path = path_of(one, np.degrees(steps)[:, None] * sign)
        rolled = turned(
            np.broadcast_to(right.reshape(1, -1, 2), (len(steps), right.size // 2, 2))
            - np.array([half, 0.0]),
            sign * steps,
        )
        moved = rolled + path.starts_mm[:, 1:2] - np.array([half, 0.0])
        swung: Floats = moved.reshape(len(steps), *right.shape)
        return swung

    def _core(self, mask: int, bend: int) -> Floats | None:
        """Return the least of a jig that must fit inside a bend; none in a closed fold."""
        flat = self.flat
        pressed = np.radians(pressed_deg(self.shape.strip, bend + 1))
        if pressed > np.radians(LARGEST_BLOCK_DEG):
            return None
        sign = float(np.sign(flat.angles_deg[bend]))
        half = float(flat.allowances_mm[bend]) / 2
        runs = [min(JIG_FACE_MM, max(run - half, 0.0)) for run in self.runs_mm(mask, bend)]
        over = sign * flat.thickness_mm / 2
        leg = np.array([[(half + runs[1], over), (half, over)]])
        end, corner = self.swung(leg, bend, np.array([pressed]))[0, 0]
        start = np.array([-half - runs[0], over])
        return np.array([start, (-half, over), corner, end])


def _meet(first: Floats, second: Floats) -> bool:
    """Return whether any piece overlaps its partner at any angle; (p, 4, 2) and (s, p, 4, 2)."""
    one, two = boxes(first), boxes(second)
    near = (one[None, :, 0] < two[:, :, 1] - TOUCH_MM).all(axis=-1)
    near &= (two[:, :, 0] < one[None, :, 1] - TOUCH_MM).all(axis=-1)
    place, pair = np.nonzero(near)
    return bool(len(pair) and (overlaps_mm(first[pair], second[place, pair]) > TOUCH_MM).any())


def _polar(quads: Floats, slack: float) -> tuple[Floats, Floats]:
    """Return least and greatest distance of pieces from the origin, and middle and half of the
    angle they take up there; everything, if they are within the slack of it.
    """  # noqa: D205
    a, b = quads, np.roll(quads, -1, axis=1)
    step = b - a
    along = np.clip(-(a * step).sum(axis=-1) / np.maximum((step**2).sum(axis=-1), 1e-12), 0.0, 1.0)
    least = np.linalg.norm(a + along[..., None] * step, axis=-1).min(axis=-1)
    most = np.linalg.norm(a, axis=-1).max(axis=-1)
    angle = np.arctan2(a[..., 1], a[..., 0])
    away = _wrapped(angle - angle[:, :1])
    low, high = away.min(axis=1), away.max(axis=1)
    half = (high - low) / 2 + slack / np.maximum(least, 1e-9)
    half = np.where(least > slack, half, np.pi)
    return np.column_stack([least, most]), np.column_stack([angle[:, 0] + (low + high) / 2, half])


def _wrapped(angles: Floats) -> Floats:
    wrapped: Floats = (angles + np.pi) % (2 * np.pi) - np.pi
    return wrapped


def turned(points: Floats, angles_rad: Floats) -> Floats:
    """Return points turned about the origin, one angle for each row of points."""
    c, s = np.cos(angles_rad)[:, None], np.sin(angles_rad)[:, None]
    x, z = points[..., 0], points[..., 1]
    return np.stack([c * x - s * z, s * x + c * z], axis=-1)
