"""Floor 1: what the shop has, as small data files with a source per value."""
