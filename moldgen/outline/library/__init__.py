"""Outlines from the library of shapes."""
