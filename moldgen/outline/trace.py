"""The outlines of a drawing in a photograph or scan: ink from paper, traced between the pixels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from moldgen.errors import OutlineError
from moldgen.outline.drawing import Drawing, DrawingPart
from moldgen.outline.surroundings import without_surroundings
from moldgen.quantity import Quantity, Spec
from moldgen.solid.chains import chains_of
from moldgen.solid.height.even import evened
from moldgen.solid.polygons import polygons_of, rings_of

Gray = NDArray[np.float64]

_BLOCKS = 24
"""Blocks along the longer side in which the brightness of the paper is read."""

_LEAST_CONTRAST = 0.12
"""Least step from ink to paper, as a share of the paper's brightness."""


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
    """

    region: MultiPolygon
    n_specks: int
    at_edge: bool
    around_share: float = 0.0


def outline_from_gray(gray: Gray, spec: TraceSpec) -> TracedOutline:
    """Trace the ink of a drawing.

    The paper's brightness is read block by block, so a shadow across the sheet does no harm; ink
    and paper are parted where that leaves either the most even; the line between them is found
    between the pixels.

    Parameters
    ----------
    gray : ndarray, shape (ny, nx)
        Brightness, 0 black to 1 white, first row at the bottom.

    Raises
    ------
    OutlineError
        If the picture is blank, or only specks are on it.

    References
    ----------
    .. [1] N. Otsu, "A threshold selection method from gray-level histograms," IEEE Transactions
       on Systems, Man, and Cybernetics 9, 1979.
    """
    even = _evened(1.0 - gray if spec.bright else gray)
    level = _parting(even)
    ink = level - evened(even, spread_cells=spec.soften_px)
    # A frame of paper closes what runs off the picture.
    framed = np.pad(ink, 1, constant_values=-1.0)
    # A value that is exactly on the line would close loops in a point.
    rings = _rings(np.where(framed == 0.0, -1e-9, framed))
    height, width = gray.shape
    region, around = without_surroundings(_region(rings), (width, height))
    kept = _without_specks(region, spec)
    if kept.is_empty:
        raise OutlineError(
            "The picture shows only specks, no drawing. Draw with a broader pen, or scan it larger."
        )
    x0, y0, x1, y1 = kept.bounds
    edge = x0 < 1 or y0 < 1 or x1 > width - 1 or y1 > height - 1
    left_out = _n_rings(region) - _n_rings(kept) if not spec.fill else 0
    spared = shapely.simplify(kept, spec.spare_px)
    whole = polygons_of(shapely.make_valid(spared))
    return TracedOutline(whole, max(0, left_out), edge, around / gray.size)


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
    for bright in (False, True):
        traced = outline_from_gray(gray, TraceSpec(fill=True, bright=bright))
        if not traced.at_edge:
            return traced
    raise OutlineError(
        "What the picture shows runs off its edge. Photograph the whole thing on an even ground."
    )


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


def _evened(gray: Gray) -> Gray:
    """Return brightness over that of the paper around it: 1 paper, less ink."""
    block = max(4, int(np.ceil(max(gray.shape) / _BLOCKS)))
    ny, nx = (int(np.ceil(n / block)) for n in gray.shape)
    pad = ((0, ny * block - gray.shape[0]), (0, nx * block - gray.shape[1]))
    tiles = np.pad(gray, pad, mode="edge").reshape(ny, block, nx, block)
    bright = np.percentile(tiles.transpose(0, 2, 1, 3).reshape(ny, nx, -1), 90, axis=2)
    # Blocks full of ink, or with too little paper to read it, take that of the paper beside them.
    paper = bright
    for _ in range(4):
        near = np.pad(paper, 1, mode="edge")
        shifted = [near[i : i + ny, j : j + nx] for i in range(3) for j in range(3)]
        brightest = np.max(shifted, axis=0)
        paper = np.where(bright < 0.9 * brightest, brightest, paper)
    rows = (np.arange(gray.shape[0]) + 0.5) / block - 0.5
    columns = (np.arange(gray.shape[1]) + 0.5) / block - 0.5
    return np.asarray(gray / np.maximum(_between(paper, rows, columns), 0.05))


def _between(grid: Gray, rows: Gray, columns: Gray) -> Gray:
    """Return values between those of a coarse grid, level beyond its border."""
    r = np.clip(rows, 0, grid.shape[0] - 1)
    c = np.clip(columns, 0, grid.shape[1] - 1)
    i = np.minimum(r.astype(np.int64), max(grid.shape[0] - 2, 0))
    j = np.minimum(c.astype(np.int64), max(grid.shape[1] - 2, 0))
    k, m = np.minimum(i + 1, grid.shape[0] - 1), np.minimum(j + 1, grid.shape[1] - 1)
    down, across = (r - i)[:, None], (c - j)[None]
    low = grid[i][:, j] * (1 - across) + grid[i][:, m] * across
    high = grid[k][:, j] * (1 - across) + grid[k][:, m] * across
    return np.asarray(low * (1 - down) + high * down)


def _parting(even: Gray) -> float:
    """Return the brightness between ink and paper.

    It lies half-way between the mean of either side of Otsu's threshold, where a line between
    pixels has no bias.
    """
    counts, edges = np.histogram(even, 256, (0.0, 1.5))
    middles = (edges[:-1] + edges[1:]) / 2
    dark = np.cumsum(counts)
    light = dark[-1] - dark
    mass = np.cumsum(counts * middles)
    mean_dark = mass / np.maximum(dark, 1)
    mean_light = (mass[-1] - mass) / np.maximum(light, 1)
    spread = dark.astype(float) * light * (mean_light - mean_dark) ** 2
    best = int(np.argmax(spread))
    ink, paper = float(mean_dark[best]), float(mean_light[best])
    share = dark[best] / dark[-1]
    if paper - ink < _LEAST_CONTRAST or not 1e-5 < share < 0.97:
        raise OutlineError(
            "The picture is blank, or its ink is hardly darker than its paper. Draw with a dark "
            "pen, or take the photograph in better light."
        )
    return (ink + paper) / 2


def _rings(ink: Gray) -> list[Gray]:
    """Return the closed lines along which a framed grid is 0, ink on the left, in pixels.

    Every square between four pixels is cut in two; a triangle is crossed by one piece of line,
    whose ends its neighbors share.
    """
    nx = ink.shape[1]
    row, column = np.nonzero(_mixed(ink > 0))
    a = row * nx + column
    b, c, d = a + 1, a + nx, a + nx + 1
    # Diagonals that turn from square to square do not lean any way.
    even = ((row + column) % 2 == 0)[:, None]
    first = np.where(even, np.stack([a, b, d], -1), np.stack([a, b, c], -1))
    second = np.where(even, np.stack([a, d, c], -1), np.stack([b, d, c], -1))
    faces = np.concatenate([first, second])
    dark = ink.ravel()[faces] > 0
    count = dark.sum(axis=1)
    crossed = (count == 1) | (count == 2)
    faces, dark, count = faces[crossed], dark[crossed], count[crossed]
    odd = np.argmax(dark == (count == 1)[:, None], axis=1)
    p, q, r = np.take_along_axis(faces, (odd[:, None] + np.arange(3)) % 3, axis=1).T
    pairs = np.sort(np.concatenate([np.stack([p, q], 1), np.stack([p, r], 1)]), axis=1)
    edges, number = np.unique(pairs, axis=0, return_inverse=True)
    low, high = edges.T
    value = ink.ravel()
    share = value[low] / (value[low] - value[high])
    place = np.column_stack(
        [low % nx + share * (high % nx - low % nx), low // nx + share * (high // nx - low // nx)]
    )
    pq, pr = number.ravel().reshape(2, -1)
    starts, ends = np.where(count == 1, pq, pr), np.where(count == 1, pr, pq)
    # Half a pixel in: a pixel's value stands at its middle; one out: the frame.
    follows = np.empty(len(starts), np.int64)
    follows[starts] = ends
    return [place[chain] - 0.5 for chain in chains_of(follows.tolist())]


def _mixed(dark: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the squares between four pixels that are neither all dark nor all light."""
    corners = [dark[:-1, :-1], dark[:-1, 1:], dark[1:, :-1], dark[1:, 1:]]
    some = corners[0] | corners[1] | corners[2] | corners[3]
    every = corners[0] & corners[1] & corners[2] & corners[3]
    return np.asarray(some & ~every)


def _region(rings: list[Gray]) -> MultiPolygon:
    """Return what the rings enclose, holes taken out."""
    if not rings:
        return MultiPolygon()
    lines = [shapely.linearrings(ring) for ring in rings if len(ring) >= 3]
    return polygons_of(shapely.build_area(shapely.GeometryCollection(lines)))


def _without_specks(region: MultiPolygon, spec: TraceSpec) -> MultiPolygon:
    parts = []
    for part in region.geoms:
        whole = Polygon(part.exterior)
        if whole.area < spec.least_px2:
            continue
        holes = [] if spec.fill else [h for h in part.interiors if _area(h) >= spec.least_px2]
        parts.append(Polygon(part.exterior, holes))
    return polygons_of(shapely.union_all(parts)) if parts else MultiPolygon()


def _area(ring: shapely.LinearRing) -> float:
    return float(Polygon(ring).area)


def _n_rings(region: MultiPolygon) -> int:
    return sum(1 + len(part.interiors) for part in region.geoms)
