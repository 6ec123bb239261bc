"""Print the program's numbers beside the world's: ``python -m tests.truth [--all]``.

Exits with 1 if one is farther off than it may be.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from truth.comparison import Comparison
from truth.rows import all_comparisons

HEAD = ("quantity", "program", "known", "error", "may be", "source")


def main() -> int:
    """Print the table; return 1 if a row is off."""
    comparisons = all_comparisons(slow="--all" in sys.argv[1:])
    n_off = 0
    widths = [max(len(_name(one)) for one in comparisons), 9, 14, 6, 6, 0]
    print(_line(HEAD, widths))
    for one in comparisons:
        error = one.off(one.value)
        n_off += abs(error) > one.within
        cells = (
            _name(one), f"{one.value:.4g}", one.known_text, f"{error:+.1%}", f"{one.within:.1%}",
            one.source,
        )  # fmt: skip
        print(_line(cells, widths), flush=True)
    print(f"\n{n_off or 'none'} of {len(comparisons)} farther off than it may be")
    return int(n_off > 0)


def _name(one: Comparison) -> str:
    return f"{one.quantity} [{one.unit}]" if one.unit else one.quantity


def _line(cells: tuple[str, ...], widths: list[int]) -> str:
    return "  ".join(cell.ljust(wide) for cell, wide in zip(cells, widths, strict=True)).rstrip()


if __name__ == "__main__":
    raise SystemExit(main())
