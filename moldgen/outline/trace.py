"""The outlines of a drawing in a photograph or scan: ink from paper, traced between the pixels."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from moldgen.errors import OutlineError
from moldgen.outline.drawing import Drawing, DrawingPart
from moldgen.outline.photo.contour import contour
from moldgen.outline.photo.grain import extent_px, n_rings, without_grain
from moldgen.outline.photo.lines import enclosed, open_share
from moldgen.outline.photo.paper import cleared, over_paper
from moldgen.outline.photo.parting import parting
from moldgen.outline.photo.raster import Mask, border_of
from moldgen.quantity import Quantity, Spec
from moldgen.solid.height.even import evened
from moldgen.solid.polygons import polygons_of, rings_of

Gray = NDArray[np.float64]

_ALONG_EDGE = 0.15
"""Share of the picture's border from which on what touches it is no drawing that runs off."""

_LEAST_LEFT = 0.15
"""Share of the picture's shorter side that a drawing measures at least, if the rest is left out."""


@dataclass(frozen=True, kw_only=True, slots=True)
class TraceSpec(Spec):
    """How a drawing is traced."""

    soften_px: Annotated[
        float,
        Quantity("", "pixels over which grain and steps are smoothed", at_least=0, at_most=20),
    ] = 1.0
    least_px2: Annotated[
        float, Quantity("", "specks and holes of fewer pixels are left out", at_least=0)
    ] = 40.0
    spare_px: Annotated[
        float, Quantity("", "pixels an outline may move to have fewer corners", at_least=0)
    ] = 0.15
    fill: bool = False
    bright: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class TracedOutline:
    """What a drawing's ink encloses.

    Attributes
    ----------
    region : MultiPolygon
        Pixels are the unit, the lower left corner of the picture is the origin. [px]
    n_specks : int
        Specks and holes that were left out.
    at_edge : bool
        Whether ink runs off the picture.
    around_share : float
        Share of the picture that lies around the paper and was left out. [-]
    open_share : float
        Share of the ink in lines that enclose nothing, where lines are filled. [-]
    is_grainy : bool
        Whether the ink is broken, as of a crayon, and was taken for the area that it covers.
    """

    region: MultiPolygon
    n_specks: int
    at_edge: bool
    around_share: float = 0.0
    open_share: float = 0.0
    is_grainy: bool = False


def outline_from_gray(gray: Gray, spec: TraceSpec) -> TracedOutline:
    """Trace the ink of a drawing.

    Brightness is told over that of the paper behind the ink, so a shadow across the sheet does no
    harm; what is dark and touches the border is left out if a drawing remains. The line between
    ink and paper is found between the pixels. Grain of a crayon is closed; with ``fill``, gaps of
    pencil lines are.

    Parameters
    ----------
    gray : ndarray, shape (ny, nx)
        Brightness, 0 black to 1 white, first row at the bottom.

    Raises
    ------
    OutlineError
        If the picture is blank, only specks are on it, or lines to be filled enclose nothing.
    """
    share, around = over_paper(1.0 - gray if spec.bright else gray)
    if around.any():
        try:
            traced = _traced(cleared(share, around), spec)
        except OutlineError:
            if border_of(around).mean() > _ALONG_EDGE:
                raise
        else:
            if _is_drawing(traced.region, around):
                return replace(traced, around_share=float(around.mean()))
    return _traced(share, spec)


def _is_drawing(region: MultiPolygon, around: Mask) -> bool:
    """Tell whether what remains is large enough, or what is left out too long for a drawing."""
    large = extent_px(region) >= _LEAST_LEFT * min(around.shape)
    return bool(large or border_of(around).mean() > _ALONG_EDGE)


def _traced(share: Gray, spec: TraceSpec) -> TracedOutline:
    """Trace the ink of a picture whose paper is 1."""
    smooth = evened(share, spread_cells=spec.soften_px)
    # Noise is no ink, and half of the smoothing leaves thin lines as broad as they are.
    ink = parting(evened(share, spread_cells=spec.soften_px / 2)) - smooth
    height, width = share.shape
    traced = contour(ink)
    inside = _inside(traced, share.shape)
    drawn = _without_specks(inside, spec.least_px2)
    even = without_grain(ink, inside)
    covered = _without_specks(even, spec.least_px2)
    kept = enclosed(covered) if spec.fill else covered
    x0, y0, x1, y1 = kept.bounds
    edge = x0 < 1 or y0 < 1 or x1 > width - 1 or y1 > height - 1
    left_out = 0 if spec.fill else n_rings(traced) - n_rings(drawn)
    whole = polygons_of(shapely.make_valid(shapely.simplify(kept, spec.spare_px)))
    loose = open_share(covered, kept) if spec.fill else 0.0
    return TracedOutline(
        whole, max(0, left_out), edge, open_share=loose, is_grainy=even is not inside
    )


def _inside(region: MultiPolygon, shape: tuple[int, int]) -> MultiPolygon:
    """Return ink without what touches the border, if something as large as a drawing remains."""
    frame = shapely.box(1, 1, shape[1] - 1, shape[0] - 1)
    rest = MultiPolygon([part for part in region.geoms if frame.contains(part)])
    return rest if extent_px(rest) >= _LEAST_LEFT * min(shape) else region


def silhouette_from_gray(gray: Gray) -> TracedOutline:
    """Trace a thing photographed from above, dark on a light ground or light on a dark one.

    What is within its outline belongs to it.

    Parameters
    ----------
    gray : ndarray, shape (ny, nx)
        Brightness, 0 black to 1 white, first row at the bottom.

    Raises
    ------
    OutlineError
        If the picture is blank, shows only specks, or the thing runs off it either way.
    """
    whole: list[TracedOutline] = []
    for bright in (False, True):
        with suppress(OutlineError):
            traced = outline_from_gray(gray, TraceSpec(fill=True, bright=bright))
            whole += [] if traced.at_edge else [traced]
        # What is left out as lying around a sheet of paper is the ground of a lighter thing.
        if whole and not whole[0].around_share:
            break
    if not whole:
        raise OutlineError(
            "What the picture shows runs off its edge, or hardly stands out from its ground. "
            "Photograph the whole thing on an even ground."
        )
    return min(whole, key=lambda one: one.around_share)


def drawing_of_traced(region: MultiPolygon, *, width_mm: float) -> Drawing:
    """Return traced outlines at a given width, just as they are read back from `svg_of_traced`."""
    page, (_, height) = _on_page(region, width_mm)
    upright = shapely.transform(page, lambda xy: xy * (1, -1) + (0, round(height, 3)))
    drawn = polygons_of(shapely.make_valid(upright))
    part = DrawingPart(id="drawing", label="", group="", region=drawn)
    note = f"the drawing was scaled to {width_mm:g} mm"
    return Drawing(region=drawn, parts=(part,), findings=(), unit_note=note)


def svg_of_traced(region: MultiPolygon, *, width_mm: float) -> bytes:
    """Return traced outlines as an SVG drawing of a given width, to be changed and raised again."""
    page, (width, height) = _on_page(region, width_mm)

    def path(ring: shapely.LinearRing) -> str:
        corners = (f"{x:.3f},{y:.3f}" for x, y in np.asarray(ring.coords)[:-1])
        return "M" + " L".join(corners) + " Z"

    lines = " ".join(path(ring) for ring in rings_of(page))
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" '
        f'width="{width:.3f}mm" height="{height:.3f}mm" '
        f'viewBox="0 0 {width:.3f} {height:.3f}">\n'
        f'  <path id="drawing" fill="#12283f" fill-rule="evenodd" d="{lines}"/>\n</svg>\n'
    ).encode()


def _on_page(region: MultiPolygon, width_mm: float) -> tuple[MultiPolygon, tuple[float, float]]:
    """Return outlines on a page of a given width, y down in steps of 0.001 mm, and its size."""
    x0, y0, x1, y1 = region.bounds
    factor = width_mm / (x1 - x0)
    height = (y1 - y0) * factor

    def put(xy: Gray) -> Gray:
        x, y = ((xy - (x0, y0)) * factor).T
        return np.column_stack([x, height - y]).round(3)

    return shapely.transform(region, put), (width_mm, height)


def _without_specks(region: MultiPolygon, least_px2: float) -> MultiPolygon:
    """Return a region without small pieces and holes.

    Raises
    ------
    OutlineError
        If nothing is left.
    """
    parts = [
        Polygon(part.exterior, [hole for hole in part.interiors if _area(hole) >= least_px2])
        for part in region.geoms
        if _area(part.exterior) >= least_px2
    ]
    if not parts:
        raise OutlineError(
            "The picture shows only specks, no drawing. Draw with a broader pen, or scan it larger."
        )
    return polygons_of(shapely.union_all(parts))


def _area(ring: shapely.LinearRing) -> float:
    return float(Polygon(ring).area)
