"""Faults of one line, planted one at a time, and whether the tests see them."""
