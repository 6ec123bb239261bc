"""Outlines from SVG drawings."""
