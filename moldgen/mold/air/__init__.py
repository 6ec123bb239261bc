"""The way of the air: pockets, bores, passages, evacuation time."""
