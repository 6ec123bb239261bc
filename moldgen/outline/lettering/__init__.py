"""Outlines from text: fonts, shaping, writing directions."""
