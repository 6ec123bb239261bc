"""Real drawings and meshes, a random sample of named packages: ``python -m tests.samples``."""
