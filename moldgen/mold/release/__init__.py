"""How the part comes off: release force, what holds the mold, layer steps."""
