"""Print how long everything takes; nothing here passes or fails.

Run it from the repository: ``python -m tests.benchmarks``. It takes some minutes.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from statistics import median
from time import process_time

from shapely import MultiPolygon

from moldgen.export.mesh.stl import stl_bytes
from moldgen.export.mesh.threemf import threemf_bytes
from moldgen.export.picture.draft_map import draft_map_png
from moldgen.export.picture.section import section_png
from moldgen.export.picture.views import lit_views_png
from moldgen.mold.checks import Case, check_all
from moldgen.mold.vents.by_ball import place_vents
from moldgen.mold.vents.vent import VentSpec
from moldgen.solid.height.relief import Relief, cell_for, relief_of
from moldgen.solid.mesh import Mesh
from moldgen.stock import Sheet, load_shop

from . import first_use, forming
from .clock import Ran, median_s, one_core, run_command
from .other_ways import by_level_set, by_loft, by_minkowski, deviation_mm
from .subjects import (
    WORD,
    bodies_of,
    letter_t,
    raised,
    rounded_block,
    scanned_hull,
    word_region,
)

Row = tuple[str, str]
EXAMPLE = Path(__file__).parents[2] / "examples" / "tide-sign.toml"


def main() -> None:
    """Print every table."""
    for title, rows in (
        (f"Solid of {WORD}, 12 mm, 5°, rim 1, root 1.5: processor time on one core", solid_rows),
        (f"Stages of {WORD}, one after another", stage_rows),
        ("Whole commands, each a process of its own", command_rows),
        ("A scan of 300 x 200 mm at 0.25 mm, 1.9 million triangles, adapted", scan_rows),
        ("The same solid in other ways: 12 mm, 5°, rim 1", other_way_rows),
        (forming.TITLE, forming.forming_rows),
        (first_use.TITLE, first_use.first_use_rows),
    ):
        print(f"\n{title}")
        for label, figures in rows():
            print(f"  {label:<44}{figures}", flush=True)


def solid_rows(*, n_words: int = 100) -> Iterator[Row]:
    """Yield the time of the word, and of many words against one."""
    with one_core():
        one, many = word_region(), word_region(n_words)
        once_s = median_s(partial(raised, one), times=7, clock=process_time)
        yield "ten letters", f"{once_s:8.3f} s   (aim 0.25)"
        many_s = median_s(partial(raised, many), times=1, warm=False, clock=process_time)
        yield f"{n_words} times the letters", f"{many_s:8.3f} s"
        yield "ratio", f"{many_s / once_s:8.1f}     (aim {1.3 * n_words:g})"


def stage_rows() -> Iterator[Row]:
    """Yield the time of outline, vents, checks, pictures and meshes of the word."""
    raw = raised(word_region())
    bodies, shop = bodies_of(raw), load_shop(user_file=None)
    sheet = Sheet(plastic=shop.plastic("HIPS"), gauge_mm=1.5)
    machine, printer = shop.machine("workshop-600x600"), shop.printer("bed-350")
    case = partial(
        Case, bodies=bodies, sheet=sheet, machine=machine, printer=printer, plan=raw.plans
    )
    leans = check_all(case()).draft.leans_deg
    stages: dict[str, Callable[[], object]] = {
        "outline from text": word_region,
        "vents": lambda: place_vents(_relief(bodies[0].mesh), raw.plans, VentSpec(diameter_mm=1)),
        "all checks": lambda: check_all(case()),
        "picture from two sides": lambda: lit_views_png(bodies),
        "picture of the section": lambda: section_png(bodies, sheet_mm=1.5),
        "picture of the draft": lambda: draft_map_png(bodies, leans, limit_deg=5),
        "STL": lambda: stl_bytes([body.mesh for body in bodies], title=WORD),
        "3MF": lambda: threemf_bytes(bodies, title=WORD),
    }
    for name, work in stages.items():
        yield name, f"{median_s(work, times=3):8.3f} s"


def _relief(mesh: Mesh) -> Relief:
    cell = max(0.25, cell_for(mesh, margin_mm=16, n_cells=250_000))
    return relief_of(mesh, cell_mm=cell, margin_mm=16)


def command_rows() -> Iterator[Row]:
    """Yield wall time and peak memory of whole commands, caches warm."""
    files = ["--formats", "stl", "--formats", "3mf", "--formats", "png"]
    word = ["sign", WORD, "--as", "word", "--quiet", *files]
    with tempfile.TemporaryDirectory() as folder:
        yield "moldgen --help", _figures(["--help"], aim="0.4 s")
        yield "sign, STL, 3MF, pictures", _figures([*word, "--out", folder], aim="2.5 s, 500 MB")
        make = ["make", str(EXAMPLE), "--quiet", "--out", folder]
        yield "tide-sign.toml, every file", _figures(make)


def scan_rows() -> Iterator[Row]:
    """Yield wall time, processor time and peak memory of the command on a scan."""
    with tempfile.TemporaryDirectory() as folder:
        scan = Path(folder) / "hull.stl"
        scan.write_bytes(stl_bytes([scanned_hull()], title="hull"))
        words = ["adapt", str(scan), "--cell", "0.25", "--quiet", "--out", f"{folder}/out"]
        aim = "6 s, 1500 MB"
        yield "STL alone", _figures([*words, "--formats", "stl"], aim=aim)
        yield "every file", _figures(words, times=1)


def _figures(words: list[str], *, aim: str = "", times: int = 3) -> str:
    run_command(words)
    runs: list[Ran] = [run_command(words) for _ in range(times)]
    peaks = [run.peak_MB for run in runs if run.peak_MB is not None]
    used = [run.processor_s for run in runs if run.processor_s is not None]
    told = f"{median(run.wall_s for run in runs):8.3f} s"
    told += f"  {median(used):6.3f} s on processors {max(peaks):5.0f} MB" if peaks else ""
    return told + f"   (aim {aim})" * bool(aim)


def other_way_rows() -> Iterator[Row]:
    """Yield time, triangles and deviation of three ways to a block and to a letter."""
    ways: dict[str, Callable[[MultiPolygon], Mesh]] = {
        "loft": by_loft, "level set, 0.5 mm": by_level_set, "Minkowski sum": by_minkowski,
    }  # fmt: skip
    for shape, region in (("block", rounded_block()), ("T", letter_t())):
        loft_s = median_s(partial(by_loft, region))
        for way, make in ways.items():
            once = partial(median_s, partial(make, region), times=1, warm=False)
            taken_s = loft_s if way == "loft" else once()
            mesh = make(region)
            yield (
                f"{shape}: {way}",
                f"{taken_s:8.3f} s {taken_s / loft_s:6.0f} x {len(mesh.triangles):7d} triangles "
                f"{1000 * deviation_mm(mesh, region):5.0f} µm off",
            )


if __name__ == "__main__":
    main()
