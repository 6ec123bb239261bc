"""Work at the forming table: heating the sheet, cooling it, shot after shot."""
