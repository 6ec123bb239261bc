"""Vacuum-forming molds that draw, vent, release and print.  All lengths are millimetres."""

__version__ = "0.1.0"
