"""Meshes and pictures read from files."""
