"""Arrangements: the molds of several jobs on forming shots, printer beds and stock sheets."""
