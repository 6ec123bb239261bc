"""All comparisons, in the order of the work."""

from __future__ import annotations

from truth import formed, heat, table
from truth.comparison import Comparison


def all_comparisons(*, slow: bool) -> list[Comparison]:
    """Return every comparison, the slow ones only if asked for."""
    every = [*formed.comparisons(), *heat.comparisons(), *table.comparisons()]
    return [one for one in every if slow or not one.slow]
