"""Molds in the words of the workshop: features, rules, building, checks."""
