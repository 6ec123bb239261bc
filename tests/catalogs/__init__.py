"""Sentences of the source against the catalogs: `python -m tests.catalogs` adds what is missing."""
