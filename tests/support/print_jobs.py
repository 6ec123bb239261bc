"""Prints of every kind that moldgen makes: molds, letters, fixtures and jigs, as they stand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from manifold3d import Manifold
from support.molds import SHOP

import moldgen as mg
from moldgen.export.mesh.stl import stl_bytes
from moldgen.fixture.fixture import Bench
from moldgen.fixture.kinds import kind_named
from moldgen.job.spec import JobForming
from moldgen.mold.choices import FormingLook
from moldgen.pipeline.strip.work import build_work
from moldgen.solid.mesh import Mesh
from moldgen.solid.sound import mesh_from_solid

EXAMPLES = Path(__file__).parents[2] / "examples"


def mold(job) -> list[Mesh]:
    """Return what is printed of a mold, with everything cut into it."""
    job = replace(job, forming=JobForming(look=FormingLook.OFF))
    cut = mg.design(job, folder=EXAMPLES, quality="final").cut
    return [body.mesh for body in cut.bodies]


def example(name: str) -> list[Mesh]:
    return mold(mg.load_job(EXAMPLES / f"{name}.toml"))


def fixture(name: str, *, printer: str = "bed-220", **words) -> list[Mesh]:
    """Return what is printed of a fixture's first plate."""
    kind = kind_named(name)
    bench = Bench(
        machine=SHOP.machine("classroom-450x300"), printer=SHOP.printer(printer), shop=SHOP
    )
    built = kind.builder()(kind.spec(**words), bench)
    return [body.mesh for body in built.plates[0]]


def jig(name: str, example_name: str) -> list[Mesh]:
    """Return what is printed of one jig of a strip."""
    work = build_work(mg.load_job(EXAMPLES / f"{example_name}.toml"), folder=EXAMPLES, shop=SHOP)
    return [body.mesh for one in work.jigs.printed if one.name == name for body in one.bodies]


def hull() -> list[Mesh]:
    """Return half an egg made formable."""
    egg = Manifold.sphere(1.0, 96).scale((70, 30, 24))
    half = egg.trim_by_plane((0, 0, 1), 0)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "hull.stl"
        path.write_bytes(stl_bytes([mesh_from_solid(half)], title="hull"))
        return [body.mesh for body in mg.adapt(path, forming="off").bodies]

JOBS = {
    "tide-sign": lambda: example("tide-sign"),
    "long-sign": lambda: mold(mg.sign("HIGH TIDE", printer="bed-250")),
    "bait-tray": lambda: example("bait-tray"),
    "boat-letters": lambda: example("boat-name-letters"),
    "deep-box": lambda: mold(mg.tray(90, 70, 60, side="male")),
    "one-tag": lambda: mold(mg.drawing(shape="luggage-tag", width=60, height=4)),
    "locker": lambda: example("locker-plate"),
    "hull": hull,
    "badge": lambda: example("life-ring-badge"),
    "keytags": lambda: example("key-tags"),
    "oar": lambda: example("oar-plate"),
    "arrow": lambda: example("slipway-arrow"),
    "screw-tray": lambda: example("screw-tray"),
    "large-tray": lambda: mold(mg.tray(180, 140, 30)),
    "plugs": lambda: fixture("plug"),
    "ejector": lambda: fixture("ejector"),
    "drill-guide": lambda: fixture("drill-guide", places="20,10,1; -20,10,1"),
    "rail": lambda: fixture("rail"),
    "frame": lambda: fixture("frame"),
    "handle": lambda: fixture("handle"),
    "scribe": lambda: fixture("scribe"),
    "block-1": lambda: jig("block-1", "logbook-stand"),
    "press": lambda: jig("press-1", "leaflet-holder"),
}
