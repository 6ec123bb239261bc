"""Vacuum-forming molds that draw, vent, release and print.  All lengths are millimeters."""

from moldgen.version import __version__ as __version__
