"""Strips bent on a strip heater."""
