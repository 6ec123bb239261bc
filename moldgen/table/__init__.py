"""Floor 3: the work at the forming table: heating the sheet, cooling it, pull after pull."""
