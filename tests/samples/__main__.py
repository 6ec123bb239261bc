"""Run the program on a random sample of real files and print what became of them.

``python -m tests.samples icons NAME ... [--count 60] [--seed 1] [--within PART] [--client npm]``
raises drawings of the packages named; ``meshes`` checks, measures and adapts meshes; ``scripts``
sets signs in fonts. Nothing here passes or fails, and nothing of it is kept in the repository.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).parents[1]))

from samples.fetch import fetched, sampled
from samples.icons import Icon, icon_of
from samples.meshes import Sample, sample_of
from samples.scripts import Sign, sign_in
from samples.tables import icon_lines, mesh_lines, sign_lines

ENDINGS = {
    "icons": (".svg",),
    "meshes": (".stl", ".obj", ".3mf", ".glb"),
    "scripts": (".ttf", ".otf", ".woff"),
}
"""Files that are sampled of each kind."""

T = TypeVar("T", Icon, Sample, Sign)


def main() -> int:
    """Fetch, run and print, package by package, and all together."""
    words = _words()
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
        _print(names, packages, lambda path: icon_of(path, _out(path)), icon_lines)
    elif kind == "meshes":
        _print(names, packages, lambda path: sample_of(path, _out(path)), mesh_lines)
    else:
        _print(names, packages, lambda path: sign_in(path, seed=seed), sign_lines)


def _print(
    names: Sequence[str],
    packages: Sequence[Sequence[Path]],
    one: Callable[[Path], T | None],
    lines: Callable[[str, Sequence[T]], list[str]],
) -> None:
    """Print the table of each package as soon as it is done, then that of all."""
    every: list[T] = []
    for name, paths in zip(names, packages, strict=True):
        found = [result for path in paths if (result := one(path)) is not None]
        every += found
        print(*lines(name, found), sep="\n", flush=True)
    print(lines(f"{len(names)} packages", every)[0])


def _out(path: Path) -> Path:
    return path.parent / "out" / path.stem


def _words() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.samples")
    parser.add_argument("kind", choices=sorted(ENDINGS))
    parser.add_argument("names", nargs="+", help="packages, as their client calls them")
    parser.add_argument("--count", type=int, default=60, help="files over all packages")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--within", default="", help="what the path of each file must hold")
    parser.add_argument("--client", choices=("npm", "pip", "apt"), default="npm")
    parser.add_argument("--folder", default="", help="where packages are kept for the next run")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
