"""Conduction, radiation, convection and contact."""
