"""Floor 3: whatever a mold or a brought part needs before it goes to the printer."""
