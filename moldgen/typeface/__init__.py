"""Floor 1: the fonts that come along, as their makers published them, each with its license."""
