"""Floor 4: files that open in the programs people have."""
