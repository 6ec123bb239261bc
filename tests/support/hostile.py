"""Small files that would take endless time or memory if they were believed."""

import io
import json
import struct
import zipfile
from contextlib import contextmanager
from threading import Timer

import numpy as np

from moldgen.errors import CancelError
from moldgen.execution import Cancel, run_with

PAGE_SIZE = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
SQUARE = '<rect width="9" height="9"/>'
CORE = 'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"'
_CORNERS = ((0, 0, 0), (20, 0, 0), (0, 20, 0), (0, 0, 20))
_FACES = ((0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3))
TETRAHEDRON = (
    "<mesh><vertices>"
    + "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in _CORNERS)
    + "</vertices><triangles>"
    + "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in _FACES)
    + "</triangles></mesh>"
)


@contextmanager
def ended_after(seconds):
    """Stop what goes on for longer, so that a fault is a failure and not a wait."""
    cancel = Cancel()
    timer = Timer(seconds, cancel.request)
    timer.start()
    try:
        with run_with(cancel=cancel):
            yield
    except CancelError:
        raise AssertionError(f"went on for more than {seconds} s") from None
    finally:
        timer.cancel()


def svg(inside, page=PAGE_SIZE):
    """Return a drawing."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{inside}</svg>'


def uses_of_uses(leaf, *, deep=40):
    """Return a drawing of a kilobyte or two that uses a leaf 2^40 times."""
    groups = f'<g id="g0">{leaf}</g>' + "".join(
        f'<g id="g{k}">' + f'<use href="#g{k - 1}"/>' * 2 + "</g>" for k in range(1, deep)
    )
    return svg(f'<defs>{groups}</defs><use href="#g{deep - 1}"/>{SQUARE}')


def clips_of_clips(*, deep=40):
    """Return a drawing whose clip is clipped twice by a clip that is clipped twice."""
    clips = f'<clipPath id="c0">{SQUARE}</clipPath>' + "".join(
        f'<clipPath id="c{k}">'
        + f'<rect width="9" height="9" clip-path="url(#c{k - 1})"/>' * 2
        + "</clipPath>"
        for k in range(1, deep)
    )
    used = f'<rect width="9" height="9" clip-path="url(#c{deep - 1})"/>'
    return svg(f"<defs>{clips}</defs>{used}")


def scribble(n_corners, *, wide=100.0, seed=1):
    """Return corners at random, whose sides cross as often as can be, shape (n, 2)."""
    return np.random.default_rng(seed).uniform(0, wide, (n_corners, 2))


def points_of(corners):
    """Return corners as an SVG writes them."""
    return " ".join(f"{x:.4f},{y:.4f}" for x, y in corners)


def threemf(model):
    """Return a 3MF with a model of this text."""
    kind = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
    space = "http://schemas.openxmlformats.org/package/2006/relationships"
    link = f'<Relationship Id="r" Target="/3D/m.model" Type="{kind}"/>'
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("_rels/.rels", f'<Relationships xmlns="{space}">{link}</Relationships>')
        archive.writestr("3D/m.model", model)
    return stream.getvalue()


def model_of(objects, items):
    """Return the text of a 3MF model."""
    return (
        f'<model unit="millimeter" {CORE}><resources>{objects}</resources>'
        f"<build>{items}</build></model>"
    )


def solid_object(number="0"):
    """Return an object of a 3MF that is a tetrahedron."""
    return f'<object id="{number}" type="model">{TETRAHEDRON}</object>'


def components_of_components(*, deep=25):
    """Return a model of a kilobyte or two that places its tetrahedron 2^24 times."""
    doubled = "".join(
        f'<object id="{k}" type="model"><components>'
        + f'<component objectid="{k - 1}"/>' * 2
        + "</components></object>"
        for k in range(1, deep)
    )
    return model_of(solid_object() + doubled, f'<item objectid="{deep - 1}"/>')


def glb(scene, numbers=b""):
    """Return a GLB with this description."""
    text = json.dumps(scene).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<II", len(text), 0x4E4F534A) + text
    if numbers:
        chunks += struct.pack("<II", len(numbers), 0x004E4942) + numbers
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def glb_of_nodes(nodes, roots, *, count=3, view=True):
    """Return a GLB of one triangle and these nodes."""
    numbers = np.array([(0, 0, 0), (0.02, 0, 0), (0, 0.02, 0)], "<f4").tobytes()
    accessor = {"componentType": 5126, "count": count, "type": "VEC3"}
    scene = {
        "asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": roots}], "nodes": nodes,
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}],
        "buffers": [{"byteLength": len(numbers)}],
        "bufferViews": [{"buffer": 0, "byteLength": len(numbers)}],
        "accessors": [accessor | ({"bufferView": 0} if view else {})],
    }  # fmt: skip
    return glb(scene, numbers)


def dxf(entities, blocks=""):
    """Return a DXF in millimeters."""
    held = f"0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n" if blocks else ""
    return (
        f"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n{held}"
        f"0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )


def block(name, entities):
    """Return a block of a DXF."""
    head = f"0\nBLOCK\n8\n0\n2\n{name}\n70\n0\n10\n0\n20\n0\n30\n0\n"
    return f"{head}{entities}0\nENDBLK\n8\n0\n"


def insert(name, *, x=0, array=""):
    """Return a use of a block in a DXF."""
    return f"0\nINSERT\n8\n0\n2\n{name}\n10\n{x}\n20\n0\n30\n0\n{array}"


def circle(radius, *, x=0):
    """Return a circle of a DXF."""
    return f"0\nCIRCLE\n8\n0\n10\n{x}\n20\n0\n30\n0\n40\n{radius}\n"


def stl(triangles):
    """Return a binary STL of triangles, shape (m, 3, 3)."""
    corners = np.asarray(triangles, dtype="<f4")
    record = [("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]
    records = np.zeros(len(corners), dtype=record)
    records["corners"] = corners
    return b"\0" * 80 + struct.pack("<I", len(corners)) + records.tobytes()


def box_triangles(width, depth, height):
    """Return the twelve triangles of a box, shape (12, 3, 3)."""
    corners = np.array(
        [(x, y, z) for z in (0, height) for y in (0, depth) for x in (0, width)], dtype=float
    )
    faces = [
        (0, 2, 1), (1, 2, 3), (4, 5, 6), (5, 7, 6), (0, 1, 4), (1, 5, 4),
        (2, 6, 3), (3, 6, 7), (0, 4, 2), (2, 4, 6), (1, 3, 5), (3, 7, 5),
    ]  # fmt: skip
    return corners[np.array(faces)]
