"""The version, read by the package, the command line and what is written into files."""

__version__ = "0.2.0"
