"""Run the program on a random sample of real files and print what became of them.

``python -m tests.samples icons NAME ... [--count 60] [--seed 1] [--within PART] [--client npm]``
raises drawings of the packages named; ``meshes`` checks, measures and adapts meshes; ``scripts``
sets signs in fonts. ``python -m tests.samples photographs [--count 40] [--seed 1] [--molds]`` makes
photographs of drawings and traces them, and makes molds of them. Nothing here passes or fails, and
nothing of it is kept in the repository.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from samples.fetch import fetched, sampled
from samples.icons import icon_of
from samples.meshes import sample_of
from samples.photographs import GOOD_IOU, Trace, traced
from samples.scripts import sign_in
from samples.tables import (
    icon_counts,
    icon_lines,
    mesh_counts,
    mesh_lines,
    sign_counts,
    sign_lines,
)

ENDINGS = {
    "icons": (".svg",),
    "meshes": (".stl", ".obj", ".ply", ".3mf", ".glb"),
    "scripts": (".ttf", ".otf", ".woff"),
}
"""Files that are sampled of each kind."""
PHOTOGRAPHS = "photographs"


def main() -> int:
    """Fetch, run and print, package by package, and all together."""
    words = _words()
    if words.kind == PHOTOGRAPHS:
        return _print_photographs(words)
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(words.folder or temporary)
        folder.mkdir(parents=True, exist_ok=True)
        archives = fetched(words.names, folder, client=words.client)
        share = -(-words.count // len(archives))
        packages = [
            sampled(
                archive, archive.parent, endings=ENDINGS[words.kind], count=share,
                seed=words.seed, within=words.within,
            )
            for archive in archives
        ]  # fmt: skip
        _run(words.kind, words.names, packages, words.seed)
    return 0


def _run(kind: str, names: Sequence[str], packages: Sequence[Sequence[Path]], seed: int) -> None:
    if kind == "icons":
        table = Table(lambda path: icon_of(path, _out(path)), icon_lines, icon_counts)
    elif kind == "meshes":
        table = Table(lambda path: sample_of(path, _out(path)), mesh_lines, mesh_counts)
    else:
        table = Table(lambda path: sign_in(path, seed=seed), sign_lines, sign_counts)
    every = [
        one for name, paths in zip(names, packages, strict=True) for one in table.of(name, paths)
    ]
    print(f"{len(names)} packages: {table.counts(every)}")


class Table(NamedTuple):
    """How a file of some kind is tried, and what is printed of one and of many."""

    tried: Callable[[Path], Any]
    lines: Callable[[Any], list[str]]
    counts: Callable[[Sequence[Any]], str]

    def of(self, name: str, paths: Sequence[Path]) -> list[Any]:
        """Try the files of a package; print each as soon as it is done, then the counts."""
        found = []
        for path in paths:
            result = self.tried(path)
            if result is not None:
                found.append(result)
                for line in self.lines(result):
                    print(line, flush=True)
        print(f"{name}: {self.counts(found)}", flush=True)
        return found


def _out(path: Path) -> Path:
    return path.parent / "out" / path.stem


def _words() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.samples")
    parser.add_argument("kind", choices=[*sorted(ENDINGS), PHOTOGRAPHS])
    parser.add_argument("names", nargs="*", help="packages, as their client calls them")
    parser.add_argument("--count", type=int, default=60, help="files over all packages")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--within", default="", help="what the path of each file must hold")
    parser.add_argument("--client", choices=("npm", "pip", "apt"), default="npm")
    parser.add_argument("--folder", default="", help="where packages are kept for the next run")
    parser.add_argument("--molds", action="store_true", help="make molds of photographs too")
    words = parser.parse_args()
    if not words.names and words.kind != PHOTOGRAPHS:
        parser.error("name at least one package")
    return words


def _print_photographs(words: argparse.Namespace) -> int:
    traces = []
    with tempfile.TemporaryDirectory() as temporary:
        for number in range(words.count):
            trace = traced(words.seed, number, Path(temporary) if words.molds else None)
            traces.append(trace)
            print(
                f"{trace.kind:72} {trace.iou:6.3f} {trace.cpu_s:5.2f} s  {trace.said}", flush=True
            )
    print(_photographs_told(traces))
    return 0


def _photographs_told(traces: Sequence[Trace]) -> str:
    good = sum(one.iou > GOOD_IOU for one in traces)
    refused = sum(one.is_refused for one in traces)
    warned = sum(one.iou <= GOOD_IOU and bool(one.said) for one in traces)
    silent = len(traces) - good - refused - warned
    return (
        f"{good} of {len(traces)} with IoU over {GOOD_IOU:g}, {refused} refused, "
        f"{warned} wrong and told so, {silent} wrong in silence; "
        f"median {np.median([one.cpu_s for one in traces]):.2f} s of processor"
    )


if __name__ == "__main__":
    sys.exit(main())
