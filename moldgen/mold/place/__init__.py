"""Places of a mold in words: which stroke of which letter, which wall of which compartment."""
