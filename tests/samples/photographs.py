"""Made photographs of drawings, traced and held against the outline that was drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from time import process_time

import numpy as np
import shapely
from shapely import affinity
from support.photograph.camera import RULINGS, Photograph, Scene, photographed
from support.photograph.ink import FILLED, PENS, drawn

from moldgen.errors import MoldgenError
from moldgen.outline.trace import TraceSpec, outline_from_gray
from moldgen.pipeline.brought.traced import traced_findings
from moldgen.solid.reading.picture import gray_from_bytes
from samples.run import outcome_of

GOOD_IOU = 0.95
"""From where on a traced outline is the one that was drawn. [-]."""


@dataclass(frozen=True, kw_only=True)
class Trace:
    """What became of one photograph.

    Attributes
    ----------
    kind : str
        What was drawn and how it was photographed.
    iou : float
        Of what was traced with what was drawn; nan where it was refused. [-]
    cpu_s : float
        Time to read and trace it. [s]
    said : str
        The sentence of a refusal, or the cautions of what was traced.
    """

    kind: str
    iou: float
    cpu_s: float
    said: str

    @property
    def is_refused(self) -> bool:
        """Whether nothing was traced."""
        return math.isnan(self.iou)


def photograph_of(seed: int, number: int) -> tuple[str, bool, Photograph]:
    """Return the kind, whether its lines are to be filled, and one photograph of a sample."""
    rng = np.random.default_rng((seed, number))
    pen = PENS[number % len(PENS)]
    ink, scene = drawn(rng, pen=pen), scene_of(rng)
    kind = f"{pen} {ink.shape}, {scene.ruling}, table {scene.table}, shadow {scene.shadow}"
    return kind, pen not in FILLED, photographed(rng, ink, scene)


def scene_of(rng: np.random.Generator) -> Scene:
    """Return a random scene: half of them with a shadow, half of them with a table."""
    upright = bool(rng.random() < 0.5)
    return Scene(
        ruling=str(rng.choice(RULINGS)),
        table=str(rng.choice(["none", "none", "dark", "dark", "wood"])),
        shadow=str(rng.choice(["none", "none", "hard", "hard", "soft"])),
        tilt_deg=float(rng.uniform(0, 30)),
        falloff=float(rng.uniform(0, 0.55)),
        shade=float(rng.uniform(0.3, 0.7)),
        orientation=int(rng.choice([1, 3, 6, 8])),
        size_px=(1500, 2000) if upright else (2000, 1500),
    )


def traced(seed: int, number: int, folder: Path | None = None) -> Trace:
    """Trace one photograph of a sample, and make a mold of it in a folder, if one is given."""
    kind, fill, photo = photograph_of(seed, number)
    begun = process_time()
    try:
        gray = gray_from_bytes(photo.data, name="photo.jpg")
        found = outline_from_gray(gray, TraceSpec(fill=fill))
    except MoldgenError as error:
        return Trace(kind=kind, iou=math.nan, cpu_s=process_time() - begun, said=str(error))
    cpu_s = process_time() - begun
    scale = (gray.shape[1] / photo.size_px[0], gray.shape[0] / photo.size_px[1])
    truth = affinity.scale(photo.truth_px, *scale, origin=(0, 0))
    said = [finding.code for finding in traced_findings("photo.jpg", found)]
    if folder is not None:
        said.append(_mold_told(photo.data, folder, fill=fill))
    return Trace(kind=kind, iou=iou(found.region, truth), cpu_s=cpu_s, said=", ".join(said))


def _mold_told(data: bytes, folder: Path, *, fill: bool) -> str:
    path = folder / "photo.jpg"
    path.write_bytes(data)
    made = outcome_of("adapt", path, folder / "out", ["--fill"] if fill else [])
    return f"exit {made.status}" + ("" if made.is_made else f": {made.said.strip()[:200]}")


def iou(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """Return the area that two regions share over what they cover together. [-]."""
    shared = shapely.intersection(one, other).area
    return float(shared / (one.area + other.area - shared))
