"""How long the work takes: medians and ratios, printed by ``python -m tests.benchmarks``."""
