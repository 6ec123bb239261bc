"""What a confined process does with a file of each kind: the reading that the program does."""

from __future__ import annotations

import time
import traceback
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

from moldgen.errors import MoldgenError
from moldgen.sandbox.messages import Message


def read(words: Mapping[str, Any], blocks: Sequence[bytes], tell: object) -> Message:
    """Read one file and answer what came of it: made, refused or a fault, and the time it took."""
    start_s = time.process_time()
    try:
        READERS[words["kind"]](blocks[0])
        outcome, sentence = "made", ""
    except MoldgenError as problem:
        outcome, sentence = "refused", str(problem)
    except MemoryError:
        outcome, sentence = "fat", "MemoryError"
    except Exception:
        outcome, sentence = "fault", traceback.format_exc()
    return Message(
        {
            "outcome": outcome,
            "sentence": sentence,
            "processor_s": time.process_time() - start_s,
        }
    )


def _svg(data: bytes) -> None:
    from moldgen.api.readers import outline_from_svg

    outline_from_svg(data)


def _dxf(data: bytes) -> None:
    from moldgen.api.readers import outline_from_dxf

    outline_from_dxf(data, unit=None)


def _picture(data: bytes) -> None:
    from moldgen.api.readers import outline_from_picture

    outline_from_picture(data)


def _mesh(ending: str, data: bytes) -> None:
    from moldgen.api.readers import mesh_from_bytes

    mesh_from_bytes(data, name=f"part.{ending}")


def _job(data: bytes) -> None:
    from moldgen.job.load import load_job

    load_job(_kept("job.toml", data))


def _stock(data: bytes) -> None:
    from moldgen.stock import load_shop

    load_shop([_kept("stock.toml", data)], user_file=None)


def _font(data: bytes) -> None:
    from moldgen.outline.lettering.text import TextSpec, outline_from_text

    outline_from_text(TextSpec(text="Ahoy 8", height_mm=20, font=str(_kept("own.ttf", data))))


def _forming_run(data: bytes) -> None:
    from moldgen.physics.membrane.run_file import load_run

    load_run(data)


def _kept(name: str, data: bytes) -> Path:
    """Write a file into the process's own folder, for readers that want a path."""
    path = Path.cwd() / name
    path.write_bytes(data)
    return path


READERS: Mapping[str, Callable[[bytes], None]] = MappingProxyType(
    {
        "svg": _svg, "dxf": _dxf,
        **{ending: _picture for ending in ("png", "jpg", "tif", "bmp", "webp")},
        **{ending: partial(_mesh, ending) for ending in ("stl", "obj", "ply", "3mf", "glb")},
        "job": _job, "stock": _stock, "ttf": _font, "npz": _forming_run,
    }
)  # fmt: skip
"""The reading of each kind."""
