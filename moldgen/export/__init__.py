"""Files that open in the programs people have."""
