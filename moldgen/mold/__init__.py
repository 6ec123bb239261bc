"""Floor 3: molds in the words of the workshop: features, building, vents, checks."""
