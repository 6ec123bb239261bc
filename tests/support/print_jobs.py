"""Prints of every kind that moldgen makes: molds, letters, fixtures and jigs, as they stand."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from conftest import ROOT
from manifold3d import Manifold
from support.molds import SHOP

import moldgen as mg
from moldgen.export.mesh.stl import stl_bytes
from moldgen.fixture.fixture import Bench
from moldgen.fixture.kinds import kind_named
from moldgen.job.spec import Job, JobForming
from moldgen.mold.choices import FormingLook, VentKind
from moldgen.pipeline.strip.work import build_work
from moldgen.solid.mesh import Body, Mesh, joined
from moldgen.solid.sound import mesh_from_solid

EXAMPLES = ROOT / "examples"
BENCH = Bench(machine=SHOP.machine("classroom-450x300"), printer=SHOP.printer("bed-220"), shop=SHOP)


def _mold(job: Any) -> Iterable[Body]:
    """Return what is printed of a mold, with everything cut into it."""
    assert isinstance(job, Job)
    # As they were sliced: drilled vents, letters and walls of the sizes that were usual then.
    still = replace(
        job,
        forming=JobForming(look=FormingLook.OFF),
        vents=replace(job.vents, kind=VentKind.DRILLED),
    )
    return mg.design(still, folder=EXAMPLES, quality="final").cut.bodies


def _example(name: str) -> Iterable[Body]:
    return _mold(mg.load_job(EXAMPLES / f"{name}.toml"))


def _hull() -> Iterable[Body]:
    """Return the upper half of an egg made formable."""
    egg = Manifold.sphere(1.0, 96).scale((70, 30, 24)).trim_by_plane((0, 0, 1), 0)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "hull.stl"
        path.write_bytes(stl_bytes([mesh_from_solid(egg)], title="hull"))
        return mg.adapt(path, forming="off").bodies


def _fixture(name: str, **words: Any) -> Iterable[Body]:
    """Return the first plate of a fixture."""
    kind = kind_named(name)
    plate: Iterable[Body] = kind.builder()(kind.spec(**words), BENCH).plates[0]
    return plate


def _jig(name: str, example: str) -> Iterable[Body]:
    job: Any = mg.load_job(EXAMPLES / f"{example}.toml")
    jig = build_work(job, folder=EXAMPLES, shop=SHOP).jigs.named(name)
    assert jig is not None
    return jig.bodies


_JOBS: dict[str, Callable[[], Iterable[Body]]] = {
    "tide sign": lambda: _example("tide-sign"),
    "long sign": lambda: _mold(mg.sign("HIGH TIDE", printer="bed-250", letter_height=30, relief=4)),
    "bait tray": lambda: _example("bait-tray"),
    "screw tray": lambda: _example("screw-tray"),
    "large tray": lambda: _mold(mg.tray(180, 140, 30, flange_mm=5, corner_mm=6)),
    "deep box": lambda: _mold(mg.tray(90, 70, 60, side="male")),
    "boat letters": lambda: _example("boat-name-letters"),
    "locker plate": lambda: _example("locker-plate"),
    "small tag": lambda: _mold(mg.drawing(shape="luggage-tag", width=60, height=4)),
    "key tags": lambda: _example("key-tags"),
    "boat hull": _hull,
    "life ring badge": lambda: _example("life-ring-badge"),
    "oar plate": lambda: _example("oar-plate"),
    "slipway arrow": lambda: _example("slipway-arrow"),
    "plugs": lambda: _fixture("plug"),
    "standoffs": lambda: _fixture("standoff"),
    "ejector bridge": lambda: _fixture("ejector"),
    "drill guide": lambda: _fixture("drill-guide", places="20,10,1; -20,10,1"),
    "letter rail": lambda: _fixture("rail"),
    "reducing frame": lambda: _fixture("frame"),
    "lifting handle": lambda: _fixture("handle"),
    "scribing block": lambda: _fixture("scribe"),
    "scribing roller": lambda: _fixture("roller"),
    "bend block": lambda: _jig("block-1", "logbook-stand"),
    "press": lambda: _jig("press-1", "leaflet-holder"),
}


@cache
def printed(job: str) -> Mesh:
    """Return all that is printed at once of a job."""
    return joined([body.mesh for body in _JOBS[job]()])
