"""Heating a strip: heated width, dwell per side, overbend, test strips."""
