"""Prism: plates and upright prisms for the printer: raised, lettered, split to the bed, measured.

Everything is built as it is printed: flat on z = 0, walls upright, so that nothing needs support.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule, Manifold
from shapely.affinity import translate

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.outline.text import Align, TextSpec, outline_from_text
from moldgen.printing.bed_fit import check_beds, usable_bed_mm
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.sound import mesh_from_solid, sound
from moldgen.stock import Printer

LABEL_MM = 0.6
"""How deep letters are sunk. [mm]."""
LETTERS_MM = (8.0, 6.0, 5.0, 4.0, 3.0)
"""Heights of letters that are tried, tallest first; smaller strokes do not print. [mm]."""
LEAST_CLEAR_MM = 1.2
"""Left between a letter and an edge. [mm]."""
STEEPEST_DEG = 45.0
"""Walls that lean out further than this from upright need support; common practice. [°]."""
APART_MM = 8.0
"""Between bodies that are printed together. [mm]."""
TIDY_MM = 1e-4
"""Corners nearer to a straight line than this are left out. [mm]."""


def raised(region: shapely.Geometry, low_mm: float, high_mm: float) -> Manifold:
    """Return a region raised from one height to another."""
    rings = [
        np.asarray(ring.coords)[:-1]
        for part in shapely.get_parts(region)
        if part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors)
    ]
    section = CrossSection(rings, FillRule.EvenOdd).simplify(TIDY_MM)
    return section.extrude(high_mm - low_mm).translate((0.0, 0.0, low_mm))


def body(name: str, solid: Manifold, *, doing: str) -> Body:
    """Return a solid as a body, tidied."""
    return Body(name, mesh_from_solid(sound(solid.simplify(1e-5), doing=doing)))


def label_in(
    room: shapely.Geometry, choices: Sequence[str], *, tallest_mm: float = LETTERS_MM[0]
) -> shapely.Geometry | None:
    """Return the first text that fits a region, as tall as fits; None if none does.

    Parameters
    ----------
    room : Polygon or MultiPolygon
        Where letters may be; they keep off its edge. [mm]
    choices : sequence of str
        Texts, the most welcome first; the last ones may be short.
    tallest_mm : float
        Height of the tallest letters that are tried. [mm]
    """
    clear = shapely.buffer(room, -LEAST_CLEAR_MM)
    if clear.is_empty:
        return None
    shapely.prepare(clear)
    for text in choices:
        for height in LETTERS_MM:
            if height <= tallest_mm:
                spec = TextSpec(text=text, height_mm=height, align=Align.CENTER, chord_mm=0.03)
                placed = _placed(outline_from_text(spec).region, clear)
                if placed is not None:
                    return placed
    return None


def _placed(words: shapely.Geometry, clear: shapely.Geometry) -> shapely.Geometry | None:
    x0, y0, x1, y1 = words.bounds
    left, low, right, high = clear.bounds
    if x1 - x0 > right - left or y1 - y0 > high - low:
        return None
    width, height = x1 - x0, y1 - y0
    xs = np.linspace(left, right - width, 13)
    ys = np.linspace(low, high - height, 9)
    boxes = [shapely.box(x, y, x + width, y + height) for y in ys for x in xs]
    fits = shapely.contains(clear, boxes)
    if not fits.any():
        return None
    middles = shapely.centroid(np.array(boxes)[fits])
    best = int(np.argmin(shapely.distance(middles, _heart(clear)).round(6)))
    spot = np.array(boxes)[fits][best].bounds
    return translate(words, spot[0] - x0, spot[1] - y0)


def _heart(region: shapely.Geometry) -> shapely.Point:
    """Return the middle of a region, or of its roomiest place if the middle is outside."""
    if region.contains(region.centroid):
        return region.centroid
    largest = max(shapely.get_parts(region), key=lambda part: part.area)
    return shapely.Point(shapely.maximum_inscribed_circle(largest).coords[0])


def laid_out(bodies: Sequence[Body]) -> tuple[Body, ...]:
    """Return bodies side by side along x, none over another."""
    placed, at = [], None
    for one in bodies:
        low, high = one.mesh.bounds_mm
        shift = 0.0 if at is None else at - low[0]
        moved = Mesh(one.mesh.points_mm + np.array([shift, 0.0, 0.0]), one.mesh.triangles.copy())
        placed.append(Body(one.name, moved))
        at = high[0] + shift + APART_MM
    return tuple(placed)


def writable(name: str) -> list[str]:
    """Return a name if the font has all its letters, else nothing."""
    try:
        outline_from_text(TextSpec(text=name, height_mm=5.0))
    except SpecError:
        return []
    return [name]


def longest_mm(printer: Printer) -> float:
    """Return how long a piece may be that lies straight. [mm]."""
    return max(usable_bed_mm(printer)[:2])


def steepest_overhang_deg(mesh: Mesh) -> float:
    """Return how far the worst wall leans out from upright, the bed left out. [°].

    0 is an upright wall, 90 a ceiling. The ceilings of letters sunk into the bed's side are left
    out as well: a stroke is bridged.
    """
    areas = np.maximum(mesh.areas_mm2, 1e-12)
    down = -mesh.area_vectors_mm2[:, 2] / areas
    low = mesh.points_mm[:, 2].min()
    heights = mesh.corners_mm[:, :, 2] - low
    on_bed = heights.max(axis=1) < 1e-6
    on_bed |= np.abs(heights - LABEL_MM).max(axis=1) < 1e-6
    # Slivers of hardly any area have no direction worth the name.
    lean = np.where(on_bed | (mesh.areas_mm2 < 1e-4), 0.0, down)
    return float(np.degrees(np.arcsin(np.clip(lean.max(initial=0.0), 0.0, 1.0))))


def check_printable(bodies: Iterable[Body], printer: Printer) -> tuple[Finding, ...]:
    """Return what there is to say of bodies on the printer: how they fit, which need support."""
    findings: list[Finding] = []
    for one in bodies:
        findings += check_beds([one], printer)
        findings += check_overhang(one, code="jig-overhang", slack_deg=0.01)
    return tuple(findings)


def check_overhang(one: Body, *, code: str, slack_deg: float) -> tuple[Finding, ...]:
    """Return a caution if a wall of a body leans out too far, by more than the slack. [°]."""
    lean = steepest_overhang_deg(one.mesh)
    if lean <= STEEPEST_DEG + slack_deg:
        return ()
    return (
        Finding(
            code=code,
            severity=Severity.CAUTION,
            says="leans out too far to print without support",
            measured=lean,
            limit=STEEPEST_DEG,
            unit="°",
            subject=one.name,
            basis="common practice, no source",
            advice="Print it with support.",
        ),
    )
