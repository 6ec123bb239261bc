"""A sheet on a table, seen by a telephone: perspective, light, shadow, grain, JPEG."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
import shapely
from PIL import Image, ImageDraw, ImageFilter

from .ink import PAPER_MM, PX_MM, Ink
from .raster import Shares, blurred, smooth_noise

RULINGS = ("white", "lined", "squared")
TABLES = ("none", "dark", "wood")
SHADOWS = ("none", "hard", "soft")
_TABLE_TONES = {"dark": (0.045, 0.035, 0.03), "wood": (0.35, 0.2, 0.1)}
_BORDER_MM = 120.0
"""Table drawn around the paper. [mm]."""


@dataclass(frozen=True, kw_only=True)
class Scene:
    """How a drawing is photographed.

    Attributes
    ----------
    ruling, table, shadow : str
        One of `RULINGS`, `TABLES`, `SHADOWS`.
    tilt_deg : float
        Of the camera. [°]
    falloff : float
        Share of the light that is lost across the picture. [-]
    shade : float
        Share of the light that is left in the shadow. [-]
    orientation : int
        How the camera says it was held (Exif), 1 upright.
    size_px : tuple of two ints
        Width and height of the upright picture.
    """

    ruling: str = "white"
    table: str = "none"
    shadow: str = "none"
    tilt_deg: float = 0.0
    falloff: float = 0.0
    shade: float = 0.5
    orientation: int = 1
    size_px: tuple[int, int] = (2000, 1500)


@dataclass(frozen=True, kw_only=True, eq=False)
class Photograph:
    """A made photograph.

    Attributes
    ----------
    data : bytes
        A JPEG file.
    truth_px : shapely geometry
        The true outline in the upright picture, y up. [px]
    size_px : tuple of two ints
        Width and height of the upright picture.
    """

    data: bytes
    truth_px: shapely.Geometry
    size_px: tuple[int, int]


def photographed(rng: np.random.Generator, ink: Ink, scene: Scene) -> Photograph:
    """Take a photograph of a drawing."""
    seen = _homography(rng, ink, scene)
    light = _light(rng, scene)
    encoded = _exposed(rng, _reflected(rng, ink, scene, seen) * light[..., None])
    width, height = scene.size_px

    def to_photo(xy: np.ndarray) -> np.ndarray:
        x, y = _mapped(seen, xy).T
        return np.column_stack([x, height - y])

    fine = shapely.segmentize(ink.truth_mm, 2.0)
    truth = shapely.make_valid(shapely.transform(fine, to_photo))
    data = _jpeg(rng, encoded, scene.orientation)
    return Photograph(data=data, truth_px=truth, size_px=(width, height))


def _mapped(homography: np.ndarray, xy: np.ndarray) -> np.ndarray:
    with_one = np.column_stack([xy, np.ones(len(xy))]) @ homography.T
    return np.asarray(with_one[:, :2] / with_one[:, 2:])


def _homography(rng: np.random.Generator, ink: Ink, scene: Scene) -> np.ndarray:
    """Return what takes millimeters of the sheet to pixels of the upright picture."""
    width, height = scene.size_px
    turn, away = np.radians(rng.uniform(-12, 12)), np.radians(scene.tilt_deg)
    if width > height:
        turn += np.pi / 2
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    lean = spin @ spin_of(rng.uniform(0, 2 * np.pi))
    back = np.linalg.inv(lean) @ spin
    middle = np.eye(3)
    middle[:2, 2] = -np.array(PAPER_MM) / 2
    first, last = np.eye(3), np.eye(3)
    first[:2, :2], last[:2, :2] = back, lean
    tilt = np.array([[1, 0, 0], [0, np.cos(away), 0], [0, np.sin(away) / 600, 1]])
    raw = last @ tilt @ first @ middle
    frame, share = _framed(rng, ink, scene)
    corners = _mapped(raw, frame)
    low, high = corners.min(axis=0), corners.max(axis=0)
    scale = share * min(width / (high[0] - low[0]), height / (high[1] - low[1]))
    slack = np.array([width, height]) - scale * (high - low)
    fit = np.diag([scale, scale, 1.0])
    fit[:2, 2] = slack * rng.uniform(0.4, 0.6, 2) - scale * low
    return fit @ raw


def spin_of(angle: float) -> np.ndarray:
    """Return a turn of the plane."""
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def _framed(rng: np.random.Generator, ink: Ink, scene: Scene) -> tuple[np.ndarray, float]:
    """Return the corners of what fills the picture, and how much of it: the drawing or the sheet.

    Where no table is to be seen, the picture ends on the sheet.
    """
    if scene.table == "none":
        box = shapely.buffer(shapely.box(*ink.truth_mm.bounds), rng.uniform(8, 14))
        return shapely.get_coordinates(box.envelope), 0.98
    x, y = PAPER_MM
    return np.array([(0, 0), (x, 0), (x, y), (0, y)]), float(rng.uniform(0.85, 0.97))


def _reflected(rng: np.random.Generator, ink: Ink, scene: Scene, seen: np.ndarray) -> np.ndarray:
    """Return what the scene reflects, linear, shape (height, width, 3)."""
    pad = round(_BORDER_MM * PX_MM)
    ruling = _ruling(rng, scene.ruling)
    on_table = [np.pad(layer, pad) for layer in (ink.cover, ruling, np.ones_like(ink.cover))]
    layers = Image.merge(
        "RGB", [Image.fromarray((255 * layer).astype(np.uint8)) for layer in on_table]
    )
    to_canvas = np.array([[PX_MM, 0, pad], [0, PX_MM, pad], [0, 0, 1]]) @ np.linalg.inv(seen)
    # A pixel's middle is half a pixel in; the library reckons with that by itself.
    coefficients = (to_canvas / to_canvas[2, 2]).ravel()[:8]
    warped = layers.transform(
        scene.size_px, Image.Transform.PERSPECTIVE, coefficients, Image.Resampling.BILINEAR
    )
    cover, rule, sheet = (np.asarray(one, np.float32) / 255 for one in warped.split())
    paper = np.float32(rng.uniform(0.8, 0.92))
    tooth = 1 + 0.01 * smooth_noise(rng, scene.size_px, 3.0)
    out = np.empty((*cover.shape, 3), np.float32)
    table = _table(rng, scene)
    for k, (ink_tone, rule_tone) in enumerate(zip(ink.tone, (0.55, 0.7, 0.85), strict=True)):
        on_paper = paper * tooth * (1 - rule * (1 - rule_tone)) * (1 - cover * (1 - ink_tone))
        out[..., k] = sheet * on_paper + (1 - sheet) * table[..., k]
    return out


def _ruling(rng: np.random.Generator, ruling: str) -> Shares:
    width, height = (round(side * PX_MM) for side in PAPER_MM)
    lines = np.zeros((height, width), np.float32)
    if ruling == "white":
        return lines
    thick = max(1, round(0.25 * PX_MM))
    step = (8.0 if ruling == "lined" else 5.0) * PX_MM
    for k in np.arange(rng.uniform(0, step), height - thick, step):
        lines[round(k) : round(k) + thick] = 1
    if ruling == "squared":
        for k in np.arange(rng.uniform(0, step), width - thick, step):
            lines[:, round(k) : round(k) + thick] = 1
    return lines


def _table(rng: np.random.Generator, scene: Scene) -> np.ndarray:
    tone = np.array(_TABLE_TONES.get(scene.table, (0.1, 0.1, 0.1)), np.float32)
    width, height = scene.size_px
    # Grain of wood is long one way.
    grain = np.asarray(
        Image.fromarray(smooth_noise(rng, (width // 20, height), 4.0)).resize((width, height))
    )
    wide = 1 + 0.12 * grain + 0.05 * smooth_noise(rng, (width, height), 200.0)
    return np.asarray(np.clip(wide, 0.3, 2.0)[..., None] * tone)


def _light(rng: np.random.Generator, scene: Scene) -> Shares:
    """Return the light at each pixel, 1 at most."""
    width, height = scene.size_px
    y, x = np.mgrid[0:height:16, 0:width:16].astype(np.float32)
    away = rng.uniform(0, 2 * np.pi)
    along = (x / width - 0.5) * np.cos(away) + (y / height - 0.5) * np.sin(away)
    along = (along - along.min()) / np.ptp(along)
    smooth = Image.fromarray((1 - scene.falloff * along).astype(np.float32))
    even = np.asarray(smooth.resize(scene.size_px, Image.Resampling.BICUBIC))
    if scene.shadow == "none":
        return even
    spread = 1.5 if scene.shadow == "hard" else rng.uniform(25, 70) * width / 2000
    return np.asarray(even * (1 - (1 - scene.shade) * blurred(_shadow(rng, scene), spread)))


def _shadow(rng: np.random.Generator, scene: Scene) -> Shares:
    """Return where a hand, a telephone or a head is before the light: from one side inward."""
    width, height = scene.size_px
    image = Image.new("L", scene.size_px, 0)
    draw = ImageDraw.Draw(image)
    length = np.hypot(width, height)
    at = np.array([width, height]) * rng.uniform(0.3, 0.7, 2)
    away = rng.uniform(0, 2 * np.pi)
    toward = np.array([np.cos(away), np.sin(away)])
    across = np.array([-toward[1], toward[0]]) * length
    half = across if rng.random() < 0.5 else across * rng.uniform(0.12, 0.25)
    corners = [at - half, at + half, at + half + toward * length, at - half + toward * length]
    draw.polygon([(float(x), float(y)) for x, y in corners], fill=255)
    if half is not across:
        x, y = at
        r = float(np.hypot(*half))
        draw.ellipse((x - r, y - r, x + r, y + r), fill=255)
    return np.asarray(image, np.float32) / 255


def _exposed(rng: np.random.Generator, linear: np.ndarray) -> np.ndarray:
    """Return what a camera makes of light: blur, noise and the curve of sRGB, as bytes."""
    bright = np.quantile(linear[::8, ::8, 1], 0.99)
    exposed = linear * (rng.uniform(0.72, 0.95) / bright)
    spread = np.sqrt(rng.uniform(0.5, 1.5) * 1e-4 * exposed + 4e-6)
    exposed = exposed + spread * rng.standard_normal(exposed.shape, dtype=np.float32)
    exposed = np.clip(exposed, 0, 1)
    low = exposed <= 0.0031308
    encoded = np.where(low, 12.92 * exposed, 1.055 * exposed ** (1 / 2.4) - 0.055)
    image = Image.fromarray((255 * encoded + 0.5).astype(np.uint8))
    return np.asarray(image.filter(ImageFilter.GaussianBlur(rng.uniform(0.5, 1.6))))


_TURNS = {1: 0, 3: 2, 6: 1, 8: 3}
"""Quarter turns to the left of the upright picture that each note of the camera undoes."""


def _jpeg(rng: np.random.Generator, encoded: np.ndarray, orientation: int) -> bytes:
    stream = io.BytesIO()
    note = Image.Exif()
    note[0x0112] = orientation
    turned = np.ascontiguousarray(np.rot90(encoded, _TURNS[orientation]))
    Image.fromarray(turned).save(stream, "JPEG", quality=int(rng.integers(75, 93)), exif=note)
    return stream.getvalue()
