"""Outlines from DXF drawings."""
