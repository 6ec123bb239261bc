"""Floor 2: 3-D solids without trade knowledge."""
