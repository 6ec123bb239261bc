"""Floor 3: one file per question asked of a mold."""
