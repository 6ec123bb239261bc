"""Floor 2: formulas and kernels on numbers and arrays; no geometry types."""
