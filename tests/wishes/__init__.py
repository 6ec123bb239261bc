"""Everyday wishes of a boat shed: what people ask for, and what they are then told."""
