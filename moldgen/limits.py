"""How much of what strangers bring is read, one number for each meaning.

A reader has no number of its own: it asks `moldgen.execution.limits_now` for the limits that hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.quantity import Meaning, Quantity, Spec


def _most(unit: str, about: str) -> Quantity:
    return Quantity(unit, about, at_least=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits(Spec):
    """How much is read before it is refused with one sentence; a server sets them lower.

    Attributes
    ----------
    job_bytes, stock_bytes, drawing_bytes, mesh_bytes, picture_bytes, font_bytes : float
        Largest file of each kind. [bytes]
    unpacked_bytes : float
        Most that one 3MF or forming run unpacks to. [bytes]
    unpacked_share : float
        Most that a part of a 3MF unpacks to, over its packed size.
    package_parts : float
        Most models of a 3MF that refer to each other.
    scene_bytes : float
        Largest description of what stands where in a GLB. [bytes]
    key_characters, number_characters, text_characters : float
        Longest key, number and text of a job or stock file.
    letters : float
        Most characters of one text that is raised or sunk.
    features, feature_depth : float
        Most features of a job, and most of them on one another.
    corners : float
        Most corners that a job gives as points.
    shapes, visits, entities, nesting : float
        Most shapes of an SVG, most elements of a drawing or model met on the way to them, most
        entities of a DXF, and most groups, uses, blocks or components within one another.
    points, chords, crossings : float
        Most corners of a drawing's outlines, most chords of one curve, and most places where an
        outline crosses itself.
    number : float
        Largest number in a drawing, in its own unit.
    placements, triangles, face_corners : float
        Most placed bodies, most triangles of all of them, and most corners of one face.
    farthest_mm : float
        Farthest that a corner of a mesh lies from the origin. [mm]
    pixels, kept_pixels : float
        Most pixels of a picture, and to how many it is reduced when it is read.
    roster_bytes, roster_unpacked_bytes, roster_rows : float
        Largest roster of a class, most that a workbook unpacks to [bytes], and most rows of it.
    log_bytes, log_rows : float
        Largest file of notes of the table [bytes], and most notes of it.
    mold_mm : float
        Longest side of a mold seen from above. [mm]
    cells : float
        Most cells of a raster of heights.
    work_s : float
        Longest work foreseen that is begun. [s]
    own_folder : bool
        Whether a job may name only files that lie beside it, and sentences leave folders out.
    """

    job_bytes: Annotated[float, _most("bytes", "largest job file")] = 5_000_000
    stock_bytes: Annotated[float, _most("bytes", "largest stock file")] = 1_000_000
    # Larger drawings are maps.
    drawing_bytes: Annotated[float, _most("bytes", "largest drawing")] = 40_000_000
    mesh_bytes: Annotated[float, _most("bytes", "largest mesh")] = 1_500_000_000
    picture_bytes: Annotated[float, _most("bytes", "largest picture")] = 500_000_000
    font_bytes: Annotated[float, _most("bytes", "largest font")] = 200_000_000
    # Five million triangles take 360 MB of XML.
    unpacked_bytes: Annotated[float, _most("bytes", "most that a 3MF unpacks to")] = 400_000_000
    unpacked_share: Annotated[float, _most("", "most that a 3MF grows by")] = 200
    package_parts: Annotated[float, _most("", "most models of a 3MF")] = 500
    scene_bytes: Annotated[float, _most("bytes", "largest description of a GLB")] = 10_000_000
    key_characters: Annotated[float, _most("", "longest key")] = 2500
    number_characters: Annotated[float, _most("", "longest written number")] = 60
    text_characters: Annotated[float, _most("", "longest text")] = 2000
    letters: Annotated[float, _most("", "most letters of a text")] = 1000
    features: Annotated[float, _most("", "most features of a job")] = 2000
    feature_depth: Annotated[float, _most("", "most features on one another")] = 40
    corners: Annotated[float, _most("", "most corners given as points")] = 20_000
    # More shapes than any outline has; uses of uses can multiply without end.
    shapes: Annotated[float, _most("", "most shapes of an SVG")] = 10_000
    visits: Annotated[float, _most("", "most elements met in an SVG")] = 100_000
    entities: Annotated[float, _most("", "most entities of a DXF")] = 100_000
    # More within one another is a loop or a trap.
    nesting: Annotated[float, _most("", "most groups within one another")] = 100
    points: Annotated[float, _most("", "most corners of outlines")] = 5_000_000
    # Enough for a circle of 13 km at 0.01 mm.
    chords: Annotated[float, _most("", "most chords of a quarter turn or one curve")] = 20_000
    crossings: Annotated[float, _most("", "most crossings of an outline")] = 20_000
    # A kilometer in nanometers.
    number: Annotated[float, _most("", "largest number of a drawing")] = 1e12
    placements: Annotated[float, _most("", "most placed bodies")] = 2000
    triangles: Annotated[float, _most("", "most triangles of a body")] = 5_000_000
    face_corners: Annotated[float, _most("", "most corners of a face")] = 2000
    # Ten kilometers, so that half a meter in micrometers passes.
    farthest_mm: Annotated[float, _most("mm", "farthest corner of a mesh")] = 1e7
    pixels: Annotated[float, _most("", "most pixels of a picture")] = 60_000_000
    # 3 MP are 0.1 mm over 200 mm, finer than any sheet shows.
    kept_pixels: Annotated[float, _most("", "pixels a picture is reduced to")] = 3_000_000
    # Thirty names with ten columns take a few kilobytes; a school has a few thousand.
    roster_bytes: Annotated[float, _most("bytes", "largest roster")] = 2_000_000
    roster_unpacked_bytes: Annotated[float, _most("bytes", "most a roster unpacks to")] = 20_000_000
    roster_rows: Annotated[float, _most("", "most rows of a roster")] = 5000
    # A note takes some 300 bytes; a school makes a few thousand a year.
    log_bytes: Annotated[float, _most("bytes", "largest file of notes")] = 20_000_000
    log_rows: Annotated[float, _most("", "most notes of a file")] = 50_000
    mold_mm: Annotated[float, _most("mm", "longest side of a mold")] = 3000
    cells: Annotated[float, _most("", "most cells of a raster")] = 12_000_000
    work_s: Annotated[float, _most("s", "longest work begun")] = 3600
    own_folder: Annotated[bool, Meaning("whether only files beside the job are read")] = False


OWN_MACHINE = Limits()
"""What a person at a computer of their own may bring."""

PAGE = Limits(
    job_bytes=200_000,
    stock_bytes=200_000,
    drawing_bytes=1_000_000,
    mesh_bytes=20_000_000,
    picture_bytes=5_000_000,
    font_bytes=20_000_000,
    unpacked_bytes=60_000_000,
    unpacked_share=50,
    package_parts=8,
    scene_bytes=500_000,
    letters=100,
    features=20,
    feature_depth=8,
    corners=2000,
    shapes=5000,
    visits=20_000,
    entities=20_000,
    points=200_000,
    crossings=2000,
    placements=200,
    triangles=500_000,
    pixels=25_000_000,
    roster_bytes=200_000,
    roster_unpacked_bytes=4_000_000,
    roster_rows=400,
    log_bytes=4_000_000,
    log_rows=10_000,
    mold_mm=700,
    work_s=60,
    own_folder=True,
)
"""What a page lets people bring who are not known to it."""


def spoken_size(n_bytes: float) -> str:
    """Return a size as a person says it: ``1.5 GB``."""
    for unit, size in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if n_bytes >= size:
            return f"{n_bytes / size:.3g} {unit}"
    return f"{n_bytes:g} bytes"
