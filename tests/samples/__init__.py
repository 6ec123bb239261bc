"""Real drawings, meshes and fonts, a sample of named packages: ``python -m tests.samples``."""
