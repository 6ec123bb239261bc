"""Bodies out of a 3MF package of our own, to be written into another at other places."""

from __future__ import annotations

import re
from dataclasses import replace
from math import cos, radians, sin
from pathlib import Path
from zipfile import BadZipFile, ZipFile

from moldgen.errors import FileError
from moldgen.export.mesh.threemf import MESH_FOOT, MESH_HEAD, MODEL_PART, WrittenBody

_PLACE = re.compile(r'<item objectid="\d+" transform="([^"]*)"/>')


def packaged_bodies(path: Path) -> tuple[WrittenBody, ...]:
    """Return the bodies of a package that `threemf_bytes` made; they have no names.

    Their meshes are taken as they are written, which is ten times quicker than reading them.

    Raises
    ------
    FileError
        If the package is broken, or another program's.
    """
    try:
        with ZipFile(path) as archive:
            model = archive.read(MODEL_PART).decode()
    except (OSError, BadZipFile, EOFError, KeyError, ValueError) as error:
        raise FileError(f"{path} is no whole 3MF package any more. Make it again.") from error
    # Names cannot hold the head of a mesh: what is no letter there is escaped.
    meshes = [part.partition(MESH_FOOT) for part in model.split(MESH_HEAD)[1:]]
    places = [tuple(words.split()) for words in _PLACE.findall(meshes[-1][2] if meshes else "")]
    if not meshes or len(meshes) != len(places) or {len(place) for place in places} != {12}:
        raise FileError(f"{path} is no 3MF package of moldgen any more. Make it again.")
    return tuple(
        WrittenBody(name="", mesh=f"{MESH_HEAD}{mesh}{MESH_FOOT}", place=place)
        for (mesh, _, _), place in zip(meshes, places, strict=True)
    )


def placed_body(
    body: WrittenBody, *, name: str, x_mm: float, y_mm: float, turn_deg: float
) -> WrittenBody:
    """Return a body turned about the origin of its mesh, moved from there, on the bed as before.

    Parameters
    ----------
    body : WrittenBody
        In the words of a model.
    name : str
        What it is called there.
    x_mm, y_mm : float
        Where the origin of its mesh comes to stand. [mm]
    turn_deg : float
        Counterclockwise, seen from above. [°]
    """
    turn = radians(turn_deg)
    c, s = (_number(round(f(turn), 12)) for f in (cos, sin))
    back = _number(-float(s))
    turned = (c, s, "0", back, c, "0", "0", "0", "1")
    return replace(body, name=name, place=(*turned, _number(x_mm), _number(y_mm), body.place[-1]))


def _number(value: float) -> str:
    return repr(round(value, 9) + 0.0).removesuffix(".0")
