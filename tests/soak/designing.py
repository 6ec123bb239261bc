"""What a confined process does with a job: build it and have its solids judged by others."""

from __future__ import annotations

import io
import time
import traceback
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from moldgen.errors import MoldgenError
from moldgen.sandbox.messages import Message


def design(words: Mapping[str, Any], blocks: Sequence[bytes], tell: object) -> Message:
    """Build a job and answer what came of it: made, refused, unsound or a fault."""
    start_s = time.process_time()
    n_bodies = 0
    try:
        told = []
        for data in _solids(words["job"]):
            n_bodies += 1
            told += unsound(data)
        outcome, sentence = ("unsound", "; ".join(told)) if told else ("made", "")
    except MoldgenError as problem:
        outcome, sentence = "refused", f"{type(problem).__name__}: {problem}"
    except MemoryError:
        outcome, sentence = "fat", "MemoryError"
    except Exception:
        outcome, sentence = "fault", traceback.format_exc()
    return Message(
        {
            "outcome": outcome,
            "sentence": sentence,
            "processor_s": time.process_time() - start_s,
            "n_bodies": n_bodies,
        }
    )


def _solids(words: Mapping[str, Any]) -> list[bytes]:
    """Return the bodies of a job as STL, as their files would be."""
    from moldgen.export.mesh.stl import stl_bytes
    from moldgen.job.read import mold_from_words
    from moldgen.pipeline.mold.design import design_mold
    from moldgen.stock import load_shop

    job = mold_from_words(words)
    mold = design_mold(job, folder=Path.cwd(), shop=load_shop(user_file=None)).mold
    return [stl_bytes([body.mesh], title="body") for body in mold.bodies]


def unsound(data: bytes) -> list[str]:
    """Return what two other programs find wrong with an STL: nothing, if it is one solid."""
    import numpy as np
    import trimesh
    from manifold3d import Error, Manifold, Mesh

    found = []
    mesh: Any = trimesh.load(io.BytesIO(data), file_type="stl", force="mesh")
    if not mesh.is_watertight:
        found.append("trimesh: not closed")
    if not mesh.is_winding_consistent:
        found.append("trimesh: faces turned")
    if not mesh.volume > 0:
        found.append(f"trimesh: volume {mesh.volume:g} mm3")
    points = np.asarray(mesh.vertices, dtype=np.float32)
    solid = Manifold(Mesh(points, np.asarray(mesh.faces, dtype=np.uint32)))
    if solid.status() != Error.NoError:
        found.append(f"manifold3d: {solid.status().name}")
    elif not solid.volume() > 0:
        found.append(f"manifold3d: volume {solid.volume():g} mm3")
    return found
