"""3-D solids without trade knowledge."""
