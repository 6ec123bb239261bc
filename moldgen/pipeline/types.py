"""What every recipe is given and hands on, for signatures."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str], None]
"""Hears the name of each stage as it begins."""

Rows = tuple[tuple[str, str], ...]
"""Words and values of a summary, row by row."""
