"""Formulas and kernels on numbers and arrays; no geometry types."""
