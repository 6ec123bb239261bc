"""Path: where the middle of a strip runs in the side view, for any angles of its bends.

The side view has x to the right and z up. A strip that is flat lies along x with its marks on
top; a positive angle turns it up. A bend keeps the length of its neutral line, whatever its
angle: bent less, it is rounder, and bent further, it is sharper.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moldgen.arrays import Floats
from moldgen.bend.strip.choices import Turn
from moldgen.bend.strip.layout import Layout
from moldgen.bend.strip.part import StripSpec


@dataclass(frozen=True, eq=False)
class Flat:
    """What stays the same of a strip while it is bent.

    Attributes
    ----------
    flats_mm : ndarray, shape (n + 1,)
        Length of each straight part. [mm]
    allowances_mm : ndarray, shape (n,)
        Length of the neutral line in each bend. [mm]
    angles_deg : ndarray, shape (n,)
        Angle asked of each bend, positive up. [°]
    thickness_mm, neutral : float
        Thickness [mm], and place of the neutral line from the inside face over it.
    """

    flats_mm: Floats
    allowances_mm: Floats
    angles_deg: Floats
    thickness_mm: float
    neutral: float

    @property
    def starts_mm(self) -> Floats:
        """Where each straight part begins on the flat strip, shape (n + 1,). [mm]."""
        both = self.flats_mm[:-1] + self.allowances_mm
        return np.concatenate([[0.0], np.cumsum(both)])

    @property
    def length_mm(self) -> float:
        """Length of the flat strip. [mm]."""
        return float(self.flats_mm.sum() + self.allowances_mm.sum())


def flat_of(strip: StripSpec, layout: Layout) -> Flat:
    """Return what stays the same of a strip while it is bent."""
    signs = np.array([1.0 if bend.turn is Turn.UP else -1.0 for bend in strip.bends])
    return Flat(
        flats_mm=np.maximum(np.asarray(layout.flats_mm, dtype=np.float64), 0.0),
        allowances_mm=np.asarray(strip.allowances_mm, dtype=np.float64),
        angles_deg=signs * np.array([bend.angle_deg for bend in strip.bends]),
        thickness_mm=strip.thickness_mm,
        neutral=strip.neutral,
    )


@dataclass(frozen=True, eq=False)
class LegPath:
    """Where the straight parts of a strip lie, for one or many sets of angles.

    Attributes
    ----------
    starts_mm : ndarray, shape (..., n + 1, 2)
        Where the middle of each straight part begins. [mm]
    headings_rad : ndarray, shape (..., n + 1)
        Its direction, counter-clockwise from x. [rad]
    radii_mm : ndarray, shape (..., n)
        Radius of the middle of each bend; infinite where it is not bent. [mm]
    angles_rad : ndarray, shape (..., n)
        Angle of each bend, positive up. [rad]
    """

    flat: Flat
    starts_mm: Floats
    headings_rad: Floats
    radii_mm: Floats
    angles_rad: Floats

    @property
    def ends_mm(self) -> Floats:
        """Where each straight part ends, shape (..., n + 1, 2). [mm]."""
        ends: Floats = self.starts_mm + self.flat.flats_mm[:, None] * _unit(self.headings_rad)
        return ends

    def placed(self, place: ArrayLike, along_mm: ArrayLike, over_mm: ArrayLike) -> Floats:
        """Return where points of the flat strip come to lie.

        Parameters
        ----------
        place : array_like of int, shape (m,)
            Part each point belongs to: 2 k for straight part k, 2 k + 1 for bend k.
        along_mm : array_like, shape (m,)
            From the left end of the flat strip. [mm]
        over_mm : array_like, shape (m,)
            Above the middle of its thickness. [mm]

        Returns
        -------
        ndarray, shape (..., m, 2)
            x and z. [mm]
        """
        place, along, over = np.asarray(place), np.asarray(along_mm), np.asarray(over_mm)
        leg = place // 2
        begins = self.flat.starts_mm[leg]
        run = along - begins
        heading = self.headings_rad[..., leg]
        straight = self.starts_mm[..., leg, :] + run[:, None] * _unit(heading)
        straight = straight + over[:, None] * _left(heading)
        if not len(self.flat.allowances_mm):
            only: Floats = straight
            return only
        bend = np.minimum(leg, len(self.flat.allowances_mm) - 1)
        rest = run - self.flat.flats_mm[leg]
        bent = self._in_bend(bend, rest, over)
        placed: Floats = np.where((place % 2 == 1)[:, None], bent, straight)
        return placed

    def _in_bend(self, bend: NDArray[np.int64], rest: Floats, over: Floats) -> Floats:
        share = np.clip(rest / np.maximum(self.flat.allowances_mm[bend], 1e-300), 0.0, 1.0)
        angle = self.angles_rad[..., bend]
        sign = np.sign(angle)
        heading = self.headings_rad[..., bend]
        radius = np.where(sign == 0, 0.0, self.radii_mm[..., bend])
        turned = heading + angle * share
        from_center = (radius - sign * over)[..., None] * -sign[..., None] * _left(turned)
        center = self.ends_mm[..., bend, :] + (sign * radius)[..., None] * _left(heading)
        curved = center + from_center
        straight = self.ends_mm[..., bend, :] + rest[:, None] * _unit(heading)
        straight = straight + over[:, None] * _left(heading)
        placed: Floats = np.where((sign == 0)[..., None], straight, curved)
        return placed


def path_of(flat: Flat, angles_deg: ArrayLike) -> LegPath:
    """Return the path of a strip whose first part lies along x from the origin.

    Parameters
    ----------
    angles_deg : array_like, shape (..., n)
        Angle of each bend, positive up. [°]
    """
    angles = np.radians(np.asarray(angles_deg, dtype=np.float64))
    radii = _radii(flat, np.abs(angles))
    zero = np.zeros((*angles.shape[:-1], 1))
    headings = np.concatenate([zero, np.cumsum(angles, axis=-1)], axis=-1)
    half = angles / 2
    chords = np.where(
        angles == 0.0,
        flat.allowances_mm,
        2.0 * np.where(angles == 0.0, 0.0, radii) * np.abs(np.sin(half)),
    )
    steps = flat.flats_mm[:-1, None] * _unit(headings[..., :-1]) + chords[..., None] * _unit(
        headings[..., :-1] + half
    )
    origin = np.zeros((*angles.shape[:-1], 1, 2))
    starts = np.concatenate([origin, np.cumsum(steps, axis=-2)], axis=-2)
    return LegPath(flat, starts, headings, radii, angles)


def turned_path(path: LegPath, turn_rad: float, shift_mm: ArrayLike) -> LegPath:
    """Return a path turned about the origin, then moved."""
    c, s = np.cos(turn_rad), np.sin(turn_rad)
    starts = path.starts_mm @ np.array([[c, s], [-s, c]]) + np.asarray(shift_mm)
    return LegPath(path.flat, starts, path.headings_rad + turn_rad, path.radii_mm, path.angles_rad)


def _radii(flat: Flat, angles: Floats) -> Floats:
    """Return the middle radii at which each bend keeps its neutral length, folds never crossed."""
    with np.errstate(divide="ignore"):
        neutral = np.where(angles > 0, flat.allowances_mm / angles, np.inf)
    inside = np.maximum(neutral - flat.neutral * flat.thickness_mm, 0.0)
    radii: Floats = inside + flat.thickness_mm / 2
    return radii


def _unit(heading: Floats) -> Floats:
    return np.stack([np.cos(heading), np.sin(heading)], axis=-1)


def _left(heading: Floats) -> Floats:
    return np.stack([-np.sin(heading), np.cos(heading)], axis=-1)
