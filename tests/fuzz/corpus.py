"""Sound files of every kind that is read, made by the program itself or by a few lines."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from functools import cache, partial
from types import MappingProxyType
from typing import TYPE_CHECKING

from conftest import ROOT
from support.hostile import (
    block,
    box_triangles,
    circle,
    clips_of_clips,
    components_of_components,
    dxf,
    glb_of_nodes,
    insert,
    stl,
    svg,
    threemf,
    uses_of_uses,
)
from support.solids_for_export import tide_sign

if TYPE_CHECKING:
    from moldgen.solid.mesh import Body

_PAINTED = (
    '<defs><clipPath id="c"><circle cx="40" cy="40" r="30"/></clipPath>'
    '<symbol id="s" viewBox="0 0 10 10"><path d="M0 0h10v10z"/></symbol></defs>'
    "<style>.a{fill:none;stroke:#000;stroke-width:3px} g > .b, #z{fill:red}</style>"
    '<g transform="translate(5,5) rotate(30) scale(1.5 -1.5)" clip-path="url(#c)">'
    '<path class="b" d="M 10,10 C 20,0 30,0 40,10 S 60,20 50,40 Q 30,60 20,40 T 5 20 '
    'A 9 5 30 1 0 10 10 Z"/><polygon points="0,0 9,0 9,9"/></g>'
    '<use href="#s" x="50" y="50" width="20" height="20"/><line class="a" x1="1" y1="1" x2="90" '
    'y2="90"/><ellipse id="z" cx="70" cy="20" rx="12" ry="8" style="fill-rule:evenodd"/>'
    '<rect x="10%" y="60%" width="2cm" height="1in" rx="3"/>'
)
_STOCK = (
    '[printer.ours]\nbased_on = "medium"\nbed_width_mm = 200\nbed_depth_mm = 190\n'
    '[machine.bench]\nbased_on = "workshop-600x600"\nhole_pitch_mm = 20\n'
    '[plastic."HIPS-X"]\nbased_on = "HIPS"\naliases = ["hx"]\n'
)


@cache
def sound_files(kind: str) -> tuple[bytes, ...]:
    """Return sound files of a kind, at least one."""
    return tuple(_MAKERS[kind]())


def _svg() -> list[bytes]:
    shapes = [path.read_bytes() for path in sorted((ROOT / "shapes").glob("*.svg"))[::9]]
    texts = (svg(_PAINTED), uses_of_uses("", deep=8), clips_of_clips(deep=6))
    return shapes + [text.encode() for text in texts]


def _dxf() -> list[bytes]:
    import ezdxf

    document = ezdxf.new(units=4)
    space = document.modelspace()
    document.blocks.new("part").add_circle((0, 0), 4)
    space.add_lwpolyline([(0, 0, 0, 0, 0.5), (60, 0), (60, 40), (0, 40)], close=True)
    space.add_blockref("part", (20, 20), dxfattribs={"row_count": 2, "row_spacing": 12})
    space.add_ellipse((40, 20), (9, 0), 0.4)
    space.add_spline([(5, 30), (15, 38), (25, 30), (15, 26), (5, 30)])
    for start, end in (((70, 0), (90, 0)), ((90, 0), (80, 20)), ((80, 20), (70, 0))):
        space.add_line(start, end, dxfattribs={"layer": "cut"})
    written = io.StringIO()
    document.write(written)
    rows = insert("part", x=20, array="71\n2\n45\n12\n")
    short = dxf(circle(9, x=-20) + rows, block("part", circle(4)))
    return [written.getvalue().encode(), short.encode()]


def _picture(form: str) -> list[bytes]:
    from PIL import Image, ImageDraw

    written = []
    for mode, ink in (("L", (0,)), ("RGB", (200, 0, 0)), ("RGBA", (9, 9, 9, 255))):
        image = Image.new(mode, (64, 48), "white")
        ImageDraw.Draw(image).ellipse((10, 6, 54, 42), fill=ink if len(ink) > 1 else 0)
        stream = io.BytesIO()
        (image.convert("RGB") if form in ("JPEG", "BMP") else image).save(stream, form)
        written.append(stream.getvalue())
    return written


def _stl() -> list[bytes]:
    facets = "".join(
        "facet normal 0 0 1\nouter loop\n"
        + "".join(f"vertex {x:g} {y:g} {z:g}\n" for x, y, z in corners)
        + "endloop\nendfacet\n"
        for corners in box_triangles(60, 40, 10)
    )
    return [stl(box_triangles(60, 40, 10)), f"solid a\n{facets}endsolid a\n".encode()]


def _threemf() -> list[bytes]:
    from moldgen.export.mesh.threemf import threemf_bytes

    return [threemf(components_of_components(deep=5)), threemf_bytes([_sign()], title="A")]


def _glb() -> list[bytes]:
    from moldgen.export.mesh.glb import glb_bytes

    nodes = [{"children": [1, 2]}, {"mesh": 0}, {"mesh": 0, "translation": [1, 0, 0]}]
    return [glb_bytes([_sign()]), glb_of_nodes(nodes, [0])]


def _sign() -> Body:
    from moldgen.solid.mesh import Body

    return Body(name="sign", mesh=tide_sign())


def _by_trimesh(ending: str) -> list[bytes]:
    import trimesh

    written = trimesh.creation.box((60, 40, 10)).export(file_type=ending)
    return [written if isinstance(written, bytes) else written.encode()]


def _job() -> list[bytes]:
    return [path.read_bytes() for path in sorted((ROOT / "examples").glob("*.toml"))]


def _font() -> list[bytes]:
    names = ("Lexend-Bold.ttf", "Bungee-Regular.ttf")
    return [(ROOT / "moldgen" / "typeface" / name).read_bytes() for name in names]


def _forming_run() -> list[bytes]:
    from moldgen.physics.membrane.form import form_sheet
    from moldgen.physics.membrane.run import FormingSpec
    from moldgen.physics.membrane.run_file import write_run
    from moldgen.physics.membrane.sheet_mesh import build_sheet_mesh
    from moldgen.physics.membrane.touch import MoldFaces

    sheet = build_sheet_mesh([(-30, -25), (30, -25), (30, 25), (-30, 25)], size_mm=6)
    mold = MoldFaces(corners_mm=box_triangles(20, 20, 5))
    return [write_run(form_sheet(sheet, mold, spec=FormingSpec(most_steps=64)))]


_MAKERS: Mapping[str, Callable[[], list[bytes]]] = MappingProxyType(
    {
        "svg": _svg, "dxf": _dxf, "png": partial(_picture, "PNG"),
        "jpg": partial(_picture, "JPEG"), "tif": partial(_picture, "TIFF"),
        "bmp": partial(_picture, "BMP"), "webp": partial(_picture, "WEBP"), "stl": _stl,
        "obj": partial(_by_trimesh, "obj"), "ply": partial(_by_trimesh, "ply"),
        "3mf": _threemf, "glb": _glb, "job": _job, "stock": lambda: [_STOCK.encode()],
        "ttf": _font, "npz": _forming_run,
    }
)  # fmt: skip
KINDS = tuple(_MAKERS)
"""Every kind of file that is read: by its ending, or what a TOML file holds."""
