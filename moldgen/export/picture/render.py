"""Pictures of solids as a person would see them on the bench: light, shade and ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians, sin
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import SpecError
from moldgen.execution import checkpoint
from moldgen.export.picture import shading
from moldgen.export.picture.srgb import light_by_byte, screen_of_light
from moldgen.quantity import Quantity, Spec
from moldgen.solid.mesh import Mesh, Points, joined
from moldgen.solid.zbuffer import in_bands, zbuffer

Picture = NDArray[np.uint8]
Color = tuple[int, int, int]

SAND: Color = (219, 201, 166)
MIST: Color = (236, 240, 243)
_SUPERSAMPLE = 2
# Where the lamp stands as the viewer sees it: to the left, above, and in front.
_LAMP = (-0.50, 0.62, 0.60)
_SHADOW_PX = 900
_LOWEST_GROUND_DEG = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class View(Spec):
    """Where a picture is taken from."""

    azimuth_deg: Annotated[
        float, Quantity("°", "turn of the viewer round the mold, 0 is in front (minus y)")
    ]
    elevation_deg: Annotated[
        float, Quantity("°", "height of the viewer, 90 is from above", at_least=-90, at_most=90)
    ]

    @property
    def axes(self) -> Points:
        """Unit vectors to the right, up, and toward the viewer, as rows."""
        a, e = radians(self.azimuth_deg), radians(self.elevation_deg)
        right = (cos(a), sin(a), 0.0)
        up = (-sin(a) * sin(e), cos(a) * sin(e), cos(e))
        toward = (sin(a) * cos(e), -cos(a) * cos(e), sin(e))
        return np.array([right, up, toward])


@dataclass(frozen=True, slots=True, kw_only=True)
class ViewFrame:
    """How a view lies in a picture: what is in its middle, and the scale.

    Attributes
    ----------
    right_mm, up_mm : float
        Place of the picture's middle along the view's axes. [mm]
    px_per_mm : float
        Scale; in a parallel view it is the same everywhere. [1/mm]
    """

    right_mm: float
    up_mm: float
    px_per_mm: float


def frame_of(
    mesh: Mesh, *, view: View, size_px: tuple[int, int], margin: float = 0.08
) -> ViewFrame:
    """Return the frame in which a mesh fills a picture.

    Parameters
    ----------
    mesh : Mesh
        What should be seen whole. [mm]
    view : View
        Where it is seen from.
    size_px : tuple of int
        Width and height of the picture.
    margin : float, default 0.08
        Free share of the picture on every side.
    """
    across = mesh.points_mm @ view.axes[:2].T
    low, high = across.min(axis=0), across.max(axis=0)
    middle = (low + high) / 2
    span = np.maximum(high - low, 1e-9)
    scale = ((1 - 2 * margin) * np.array(size_px) / span).min()
    return ViewFrame(right_mm=float(middle[0]), up_mm=float(middle[1]), px_per_mm=float(scale))


def look(
    mesh: Mesh, *, view: View, frame: ViewFrame, size_px: tuple[int, int]
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Return the depth of what is seen in every pixel, and which triangle it is.

    Returns
    -------
    depths_mm : ndarray, shape (height, width)
        Place along the axis toward the viewer; ``-inf`` where there is nothing. [mm]
    triangles : ndarray, shape (height, width)
        Index of the triangle; -1 where there is nothing.
    """
    corners = _in_picture(mesh, view, frame, size_px)
    heights, triangles = zbuffer(corners, size_px[1], size_px[0])
    return heights / frame.px_per_mm, triangles


def render(
    meshes: Mesh | Sequence[Mesh],
    *,
    view: View,
    size_px: tuple[int, int] = (800, 600),
    colors: Color | NDArray[np.uint8] = SAND,
    background: Color = MIST,
    frame: ViewFrame | None = None,
    even_light: bool = False,
) -> Picture:
    """Return a picture of solids standing on a bench, lit from the upper left.

    Fillets look round and edges sharp; hollows are darker, shadows fall on the solid and on
    the bench, and creases and outlines carry a thin line, so that draft, radii and vents show.

    Parameters
    ----------
    meshes : Mesh or sequence of Mesh
        Closed solids. [mm]
    view : View
        Where the picture is taken from; there is no perspective.
    size_px : tuple of int, default (800, 600)
        Width and height.
    colors : tuple of int, or ndarray of shape (m, 3), uint8
        One color for all, or one for each triangle of all meshes in their order.
    background : tuple of int
        Color of the bench where nothing shades it.
    frame : ViewFrame, optional
        Place and scale; left out, the solids fill the picture.
    even_light : bool, default False
        Show the colors as they are, without lamp and shadows, for a map with a legend.

    Returns
    -------
    ndarray, shape (height, width, 3), uint8
        The same arguments give the same picture.

    Raises
    ------
    SpecError
        If the size is not between 16 and 8000 pixels, or colors do not fit the triangles.
    """
    checkpoint()
    mesh = joined(meshes)
    _check(size_px, mesh)
    paint = _linear(_per_triangle(colors, len(mesh.triangles)))
    frame = frame or frame_of(mesh, view=view, size_px=size_px)
    fine_px = (size_px[0] * _SUPERSAMPLE, size_px[1] * _SUPERSAMPLE)
    fine = ViewFrame(
        right_mm=frame.right_mm, up_mm=frame.up_mm, px_per_mm=frame.px_per_mm * _SUPERSAMPLE
    )
    corners = _in_picture(mesh, view, fine, fine_px)
    depths, seen = zbuffer(corners, fine_px[1], fine_px[0])
    checkpoint()
    _lay_ground(depths, seen, mesh, view, fine)
    # A mold seen from below is lit as if it had been turned over on the bench.
    over = 1.0 if view.elevation_deg >= 0 else -1.0
    lamp = _unit(np.array(_LAMP) * (1.0, over, 1.0))
    shadow, to_shadow = np.zeros((1, 1)), np.zeros((3, 4))
    if not even_light:
        shadow, to_shadow = _shadow_map(mesh, view, fine, fine_px, lamp)
    checkpoint()
    scene = shading.Scene(
        corners=corners,
        normals=mesh.corner_normals,
        axes=_flipped(view.axes),
        faces=_faces(mesh, _flipped(view.axes)),
        colors=paint,
        depths=depths,
        seen=seen,
        near=shading.near_solid(seen),
        survey=np.empty([side // shading.SURVEY_STEP + 2 for side in depths.shape]),
        shadow=shadow,
        to_shadow=to_shadow,
        # Rows count downward, so every direction is turned over with them.
        lamp=lamp * (1.0, -1.0, 1.0),
        sky=_flipped(view.axes)[:, 2] * over,
        background=_linear(np.array([background], dtype=np.uint8))[0],
        screen=_screen_curve(),
        even=even_light,
    )
    checkpoint()
    picture = np.zeros((size_px[1], size_px[0], 3), np.uint8)
    in_bands(
        lambda first, end: shading.survey_sky(scene, scene.survey, first, end), len(scene.survey)
    )
    in_bands(lambda first, end: shading.paint(scene, picture, first, end), size_px[1])
    return picture


def _check(size_px: tuple[int, int], mesh: Mesh) -> None:
    if not all(16 <= side <= 8000 for side in size_px):
        raise SpecError("size_px", "16 to 8000 each way", f"{size_px[0]} x {size_px[1]}")
    if not len(mesh.triangles):
        raise SpecError("meshes", "solids with triangles", "none")


def _per_triangle(colors: Color | NDArray[np.uint8], n_triangles: int) -> NDArray[np.uint8]:
    paint = np.asarray(colors, dtype=np.uint8)
    if paint.shape == (3,):
        return np.broadcast_to(paint, (n_triangles, 3))
    if paint.shape != (n_triangles, 3):
        rule = f"one, or three numbers for each of {n_triangles} triangles"
        raise SpecError("colors", rule, f"shape {paint.shape}")
    return paint


def _in_picture(mesh: Mesh, view: View, frame: ViewFrame, size_px: tuple[int, int]) -> Points:
    """Corners as column, row and height in pixels, shape (m, 3, 3)."""
    matrix, offset = _to_picture(view, frame, size_px)
    placed: Points = (mesh.points_mm @ matrix.T + offset)[mesh.triangles]
    return placed


def _to_picture(view: View, frame: ViewFrame, size_px: tuple[int, int]) -> tuple[Points, Points]:
    scale = frame.px_per_mm
    offset = (
        size_px[0] / 2 - frame.right_mm * scale,
        size_px[1] / 2 + frame.up_mm * scale,
        0.0,
    )
    return _flipped(view.axes) * scale, np.array(offset)


def _flipped(axes: Points) -> Points:
    """Axes of a view with the second pointing down, as rows of a picture do."""
    flipped: Points = axes * np.array([[1.0], [-1.0], [1.0]])
    return flipped


def _faces(mesh: Mesh, axes: Points) -> Points:
    """Return unit normals of triangles along the axes of a picture, toward the viewer."""
    along = np.einsum("ti,di->td", mesh.area_vectors_mm2, axes)
    turned = np.where(along[:, 2] < 0, -1.0, 1.0)
    faces: Points = along * (turned / np.maximum(mesh.areas_mm2, 1e-300))[:, None]
    return faces


def _lay_ground(
    depths: NDArray[np.float64], seen: NDArray[np.int32], mesh: Mesh, view: View, frame: ViewFrame
) -> None:
    """Give the empty pixels the depth of the bench, or of nothing if it is seen edge-on."""
    bare = seen < 0
    if view.elevation_deg < _LOWEST_GROUND_DEG:
        depths[bare] = -1e9
        return
    up, toward = view.axes[1, 2], view.axes[2, 2]
    middle = (np.arange(len(depths)) + 0.5 - len(depths) / 2) / frame.px_per_mm
    up_mm = frame.up_mm - middle
    ground_mm = (mesh.points_mm[:, 2].min() - up * up_mm) / toward
    np.copyto(depths, ground_mm[:, None] * frame.px_per_mm, where=bare)


def _shadow_map(
    mesh: Mesh, view: View, frame: ViewFrame, size_px: tuple[int, int], lamp: Points
) -> tuple[NDArray[np.float64], Points]:
    """Heights as the lamp sees them, and the affine map from picture to lamp, shape (3, 4)."""
    toward = lamp @ view.axes
    right = _unit(np.cross(view.axes[1], toward))
    axes = np.array([right, np.cross(toward, right), toward])
    placed = mesh.points_mm @ axes.T
    low, high = placed[:, :2].min(axis=0), placed[:, :2].max(axis=0)
    scale = min(_SHADOW_PX / (high - low).max(), frame.px_per_mm / 2)
    n_columns, n_rows = (np.ceil((high - low) * scale).astype(int) + 12).tolist()
    offset = np.array([6 - low[0] * scale, 6 - low[1] * scale, 0.0])
    stretch = np.array([scale, scale, frame.px_per_mm])
    heights, _ = zbuffer(placed * stretch + offset, n_rows, n_columns, mesh.triangles)
    matrix, moved = _to_picture(view, frame, size_px)
    back: Points = axes * stretch[:, None] @ np.linalg.inv(matrix)
    return heights, np.column_stack([back, offset - back @ moved])


def _unit(vector: Points) -> Points:
    unit: Points = vector / np.linalg.norm(vector)
    return unit


def _linear(colors: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Light of screen colors."""
    linear: NDArray[np.float64] = light_by_byte()[colors]
    return linear


@lru_cache(maxsize=1)
def _screen_curve() -> NDArray[np.uint8]:
    """Screen values of 4096 steps of light, the inverse of `_linear`."""
    return np.round(screen_of_light(np.arange(4096) / 4095.0) * 255.0).astype(np.uint8)
