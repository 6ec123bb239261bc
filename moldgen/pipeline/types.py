"""What every recipe is given and hands on, for signatures."""

from __future__ import annotations

Rows = tuple[tuple[str, str], ...]
"""Words and values of a summary, row by row."""
