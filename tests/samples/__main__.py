"""Run the program on a random sample of real files and print what became of them.

``python -m tests.samples icons NAME ... [--count 60] [--seed 1] [--within PART] [--client npm]``
raises drawings of the packages named; ``meshes`` checks, measures and adapts meshes.
``python -m tests.samples photographs [--count 40] [--seed 1] [--molds]`` makes photographs of
drawings and traces them, and makes molds of them. Nothing here passes or fails, and nothing of it
is kept in the repository.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from samples.fetch import fetched, sampled
from samples.icons import Icon, icon_of
from samples.meshes import Sample, sample_of
from samples.photographs import GOOD_IOU, Trace, traced
from samples.run import Outcome

ENDINGS = {"icons": ".svg", "meshes": ".stl"}
PHOTOGRAPHS = "photographs"


def main() -> int:
    """Fetch, run and print."""
    words = _words()
    if words.kind == PHOTOGRAPHS:
        return _print_photographs(words)
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(words.folder or temporary)
        folder.mkdir(parents=True, exist_ok=True)
        archives = fetched(words.names, folder, client=words.client)
        share = -(-words.count // len(archives))
        for name, archive in zip(words.names, archives, strict=True):
            paths = sampled(
                archive, archive.parent, ending=ENDINGS[words.kind], count=share,
                seed=words.seed, within=words.within,
            )  # fmt: skip
            out = archive.parent / "out"
            if words.kind == "icons":
                _print_icons(name, [icon_of(path, out / path.stem) for path in paths])
            else:
                _print_meshes(name, [sample_of(path, out / path.stem) for path in paths])
    return 0


def _words() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.samples")
    parser.add_argument("kind", choices=[*sorted(ENDINGS), PHOTOGRAPHS])
    parser.add_argument("names", nargs="*", help="packages, as their client calls them")
    parser.add_argument("--count", type=int, default=60, help="files over all packages")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--within", default="", help="what the path of each file must hold")
    parser.add_argument("--client", choices=("npm", "pip"), default="npm")
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


def _print_icons(name: str, icons: Sequence[Icon]) -> None:
    strays = [icon.stray_mm for icon in icons if np.isfinite(icon.stray_mm)]
    raised = [icon.raised for icon in icons]
    print(f"{name}: {_counts(raised)}, outlines stray {max(strays, default=0.0):.3f} mm at most")
    for icon in icons:
        _print_odd(icon.name, "raise", icon.raised)
        if icon.stray_mm > 0.03:
            print(f"  {icon.name}: strays {icon.stray_mm:.3f} mm")
    sys.stdout.flush()


def _print_meshes(name: str, samples: Sequence[Sample]) -> None:
    told_open = sum(one.is_told_open for one in samples)
    sound = sum(one.is_sound for one in samples)
    print(f"{name}: {len(samples)} meshes, {sound} sound, {told_open} of these told open")
    for command in ("check", "measure", "adapt"):
        print(f"  {command}: {_counts([one.ran[command] for one in samples])}")
    for one in samples:
        for command, outcome in one.ran.items():
            _print_odd(one.name, command, outcome)
        if one.is_told_open:
            print(f"  {one.name}: sound, but told open")
    sys.stdout.flush()


def _counts(outcomes: Sequence[Outcome]) -> str:
    made = sum(one.is_made for one in outcomes)
    refused = sum(one.status == 2 for one in outcomes)
    faults = sum(one.status == 3 for one in outcomes)
    false = sum(one.is_headline_false for one in outcomes)
    return (
        f"{made} of {len(outcomes)} made, {refused} refused, {faults} exit 3, "
        f"{false} false headline"
    )


def _print_odd(name: str, command: str, outcome: Outcome) -> None:
    if not outcome.is_made:
        print(f"  {name}: {command}, exit {outcome.status}: {outcome.said.strip()[:240]}")
    elif outcome.is_headline_false:
        print(f"  {name}: {command}, least draft {outcome.found['numbers']['least_draft_deg']:.2f}")


if __name__ == "__main__":
    sys.exit(main())
