"""Mesh files: STL, 3MF, GLB."""
