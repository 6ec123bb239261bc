"""How well the letters of a face form: each as a sign of its own, by moldgen itself.

``python -m tests.support.lettering FONT`` prints a row of ``moldgen/typeface/face.csv``.
"""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path
from string import ascii_lowercase, ascii_uppercase, digits

from moldgen.errors import OutlineError
from moldgen.finding import Finding, Severity
from moldgen.job import SignCommand
from moldgen.job.command.mold_jobs import sign_job
from moldgen.job.feature_names import with_names
from moldgen.mold.build import RawMold, build_raw_mold
from moldgen.mold.checks import Case, check_all
from moldgen.mold.checks.widths import widths_across
from moldgen.pipeline.mold.checking import unforetold
from moldgen.pipeline.mold.features import resolve_features
from moldgen.pipeline.setting import setting_of
from moldgen.solid.mesh import Body
from moldgen.stock import load_shop

MEASURED_AT_MM = 30.0
"""Letter height at which strokes and gaps are measured: the usual one of a sign. [mm]."""

CAPITALS = ascii_uppercase + digits
SMALL = ascii_lowercase

_NOTCH = "gap-filled-by-radius"
_BESIDE_NOTCH_MM = 6.0
_LOST = ("stroke-below-height", "stroke-lost-to-radius")


@cache
def _shop():
    return load_shop(user_file=None)


def _resolved(letter: str, font: str, height_mm: float):
    shop = _shop()
    job = with_names(
        sign_job(SignCommand(words=(letter,), font=font, letter_height_mm=height_mm, relief_mm=4.0))
    )
    setting = setting_of(job, shop)
    features = resolve_features(job, folder=Path(), setting=setting)
    return job, features, setting


def widths_mm(letter: str, font: str) -> tuple[float, float]:
    """Return least stroke and least gap of a letter of 30 mm, its corners rounded. [mm]."""
    (plaque,) = _resolved(letter, font, MEASURED_AT_MM)[1].bodies
    (raised,) = plaque.children
    both = (
        widths_across(raised.region, reach_mm=MEASURED_AT_MM, inward=inward).widths_mm
        for inward in (True, False)
    )
    stroke, gap = (float(widths.min(initial=MEASURED_AT_MM)) for widths in both)
    return stroke, gap


def finest_mm(letters: str, font: str) -> tuple[float, float]:
    """Return least stroke and least gap of all letters, at 30 mm. [mm]."""
    strokes, gaps = zip(*(widths_mm(letter, font) for letter in letters), strict=True)
    return min(strokes), min(gaps)


def walls(letter: str, font: str, height_mm: float) -> RawMold:
    """Return a letter of a usual sign as its walls stand."""
    return build_raw_mold(_resolved(letter, font, height_mm)[1].bodies)


def findings(letter: str, font: str, height_mm: float) -> tuple[Finding, ...]:
    """Return what the checks say of the walls of a letter of a usual sign."""
    job, features, setting = _resolved(letter, font, height_mm)
    raw = build_raw_mold(features.bodies)
    bodies = [Body(body.name, mesh) for body, mesh in zip(job.body, raw.meshes, strict=True)]
    case = Case(
        bodies=tuple(bodies), sheet=setting.sheet, machine=setting.machine,
        printer=setting.printer, plan=raw.plans, side=job.side.value,
    )  # fmt: skip
    checked = unforetold(check_all(case).findings, raw.plans, frozenset(features.edges_open))
    return (*features.findings, *raw.findings, *checked)


def complaints(told: tuple[Finding, ...]) -> list[Finding]:
    """Return what stops a letter or makes it doubtful.

    The bottom of a sharp notch (M, W) does not count: it is filled to a corner that the sheet
    goes into, and just beside that it is narrow at every size.
    """
    notches = [finding.where_mm for finding in told if finding.code == _NOTCH]
    return [
        finding
        for finding in told
        if finding.severity is not Severity.NOTE
        and finding.code != _NOTCH
        and not (finding.code == "gap-narrow" and _beside(finding, notches))
    ]


def _beside(finding: Finding, notches) -> bool:
    x, y, _ = finding.where_mm
    return any((x - place[0]) ** 2 + (y - place[1]) ** 2 < _BESIDE_NOTCH_MM**2 for place in notches)


def forms(letter: str, font: str, height_mm: float) -> bool:
    """Tell whether a letter forms without a doubt."""
    try:
        return not complaints(findings(letter, font, height_mm))
    except OutlineError:
        return False


SMALLEST_MM = 20
"""Smaller letters are not looked for. [mm]."""


def smallest_mm(letters: str, font: str) -> int:
    """Return the smallest whole letter height from which each of the letters forms. [mm]."""
    height_mm = SMALLEST_MM
    while True:
        began = height_mm
        for letter in letters:
            while not forms(letter, font, height_mm):
                height_mm += 1
        if height_mm == began:
            return height_mm


def measured(font: str) -> dict[str, str]:
    """Return the measured cells of a face."""
    stroke, gap = finest_mm(CAPITALS, font)
    lost = [
        letter
        for letter in CAPITALS + SMALL
        if any(
            finding.code in _LOST or finding.severity is Severity.STOP
            for finding in findings(letter, font, MEASURED_AT_MM)
        )
    ]
    return {
        "stroke": f"{stroke:.1f}",
        "gap": f"{gap:.1f}",
        "lost": "".join(lost),
        "capitals_from": str(smallest_mm(CAPITALS, font)),
        "small_from": str(smallest_mm(SMALL, font)),
    }


if __name__ == "__main__":
    for name in sys.argv[1:]:
        print(name, *measured(name).values(), sep=",", flush=True)  # noqa: T201
